"""Seats, pilots, bolt patterns, shafts and the choice of the drive axis on adapters of known dimensions. Lengths mm."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import cadquery as cq
import pytest

from fitcheck.measurement.options import MeasureOptions
from parametric_models.adapters import (
    Foot,
    Holes,
    LBracket,
    Plate,
    Standoffs,
    TwoPiece,
    UBracket,
    l_bracket,
    plate,
    standoffs,
    two_piece,
    u_bracket,
)
from parametric_models.adapters.features import cylinder
from parametric_models.machines import (
    Keyseat,
    MachineBody,
    ShaftEnd,
    ShaftFlat,
    actuator,
    actuator_parts,
    machine,
    motor,
    motor_parts,
)

V = cq.Vector
NM = 1e-6


def near(value):
    return pytest.approx(value, abs=NM)


def through(seat):
    return replace(seat, opening_length=None)


def check_motor_end(end, station=0.0, role="unknown"):
    assert (end.role, end.seat) == (role, near(station))
    assert (end.pilot.diameter, end.pilot.depth) == (near(38.1), near(2.5))
    bolts = end.bolts[0]
    assert (bolts.layout, bolts.count, bolts.size, bolts.hole) == ("square", 4, near((47.14,)), near(4.5))
    # The corners of a square lie on a circle of side times root 2.
    assert bolts.bolt_circle == near(47.14 * sqrt(2.0))
    assert sorted(abs(value) for hole in bolts.holes for value in hole) == near([23.57] * 8)


def check_actuator_end(end, station=60.0, role="unknown"):
    assert (end.role, end.seat) == (role, near(station))
    assert (end.pilot.diameter, end.pilot.depth) == (near(34.0), near(3.5))
    bolts = end.bolts[0]
    assert (bolts.layout, bolts.count, bolts.size, bolts.hole) == ("circle", 6, near((46.0,)), near(3.3))


class TestHousings:
    def test_plain(self, measured, bench):
        found = measured(bench.housing())
        check_motor_end(found.ends[0])
        check_actuator_end(found.ends[1])
        assert (found.coaxiality.offset, found.coaxiality.tilt) == (near(0.0), near(0.0))
        assert found.warnings == ()
        assert found.complete
        bores = {(c.kind, round(c.diameter, 6), round(c.stop - c.start, 6)) for c in found.cylinders}
        assert bores == {
            ("bore", 38.1, 2.5), ("bore", 30.0, 3.0), ("bore", 36.0, 47.0), ("bore", 26.0, 4.0), ("bore", 34.0, 3.5),
            ("bore", 4.5, 10.0), ("bore", 3.3, 8.0),
        }  # fmt: skip
        assert all(c.turn == near(360.0) for c in found.cylinders)

    def test_an_actuator_end_beside_the_axis(self, measured, bench):
        found = measured(bench.housing(actuator_offset=(0.3, 0.4)))
        # hypot(0.3, 0.4) = 0.5; the opening of radius 13 comes to 12.5.
        assert found.coaxiality.offset == near(0.5)
        assert found.free_radius.least == near(12.5)
        check_actuator_end(found.ends[1])

    @pytest.mark.parametrize("tilt", [0.01, 0.3, 1.0])
    def test_an_actuator_end_that_leans(self, measured, bench, tilt):
        found = measured(bench.housing(actuator_tilt=tilt, actuator_offset=(0.06, 0.08)))
        assert found.coaxiality.offset == pytest.approx(0.1, abs=1e-3)
        assert found.coaxiality.tilt == pytest.approx(tilt, abs=1e-5)

    def test_two_pieces(self, measured, bench):
        parts = two_piece(TwoPiece(whole=bench.parameters, joint=35.0, spigot_diameter=44.0, spigot_length=4.0))
        found = measured(bench.assembly(parts))
        check_motor_end(found.ends[0])
        check_actuator_end(found.ends[1])
        assert {body.role for body in found.bodies} == {"adapter"}
        # The recess is 0.3 deeper than the spigot is long: a gap at radius 22, behind the chamber's wall of 18.
        assert found.free_radius.least == near(13.0)

    @pytest.mark.parametrize("lightening", [42.0, 15.0])
    def test_lightening_holes_wider_than_the_bore_are_no_drive_axis(self, measured, bench, lightening):
        holes = Holes(layout="square", size=(90.0,), diameter=lightening)
        found = measured(bench.housing(size=140.0, lightening=(holes,)))
        assert found.drive_axis.origin == near((0.0, 0.0, 0.0))
        check_motor_end(found.ends[0])
        check_actuator_end(found.ends[1])

    def test_a_bearing_seat_beside_the_drive_axis_is_a_decoy(self, measured, bench):
        bearing = cq.Solid.makeCylinder(21.0, 12.0, V(55, 0, 60), V(0, 0, -1))
        passage = cq.Solid.makeCylinder(15.0, 80.0, V(55, 0, -1))
        found = measured(bench.without(bearing, passage, size=170.0))
        assert found.drive_axis.origin == near((0.0, 0.0, 0.0))
        check_motor_end(found.ends[0])
        check_actuator_end(found.ends[1])

    def test_a_bearing_seat_within_the_chamber_is_no_end(self, measured, bench):
        found = measured(bench.without(cylinder(44.0, 20.0, 28.0)))
        assert len(found.ends) == 2
        check_motor_end(found.ends[0])
        check_actuator_end(found.ends[1])


class TestPlatesAndBrackets:
    def test_a_plate_with_one_seat(self, measured, bench):
        found = measured(plate(Plate(width=80.0, height=80.0, thickness=12.0, motor=through(bench.motor))))
        (end,) = found.ends
        check_motor_end(end)
        assert found.coaxiality is None
        assert found.free_radius.least == near(15.0)

    def test_a_plate_with_two_seats(self, measured, bench):
        part = Plate(
            width=80.0, height=80.0, thickness=12.0, motor=through(bench.motor), actuator=through(bench.actuator)
        )
        found = measured(plate(part))
        check_motor_end(found.ends[0])
        check_actuator_end(found.ends[1], 12.0)

    def test_a_plain_through_bore_has_no_pilot_and_says_so(self, measured, bench):
        seat = replace(through(bench.motor), pilot_diameter=None, pilot_depth=0.0)
        found = measured(plate(Plate(width=80.0, height=80.0, thickness=12.0, motor=seat)))
        end = found.ends[0]
        assert end.pilot is None
        assert (end.opening.diameter, end.opening.length) == (near(30.0), near(12.0))
        (warning,) = found.warnings
        assert "no pilot bore with a floor; a plain bore of 30.000 mm opens there" in warning
        assert found.to_dict()["ends"][0]["pilot"] is None

    def test_a_register_boss_on_the_adapter(self, measured, bench):
        bare = replace(through(bench.actuator), pilot_diameter=None, pilot_depth=0.0, opening_diameter=30.0)
        blank = plate(Plate(width=80.0, height=80.0, thickness=12.0, motor=through(bench.motor), actuator=bare))
        boss = cylinder(40.0, 12.0, 15.0).cut(cylinder(30.0, 11.0, 16.0))
        found = measured(blank.fuse(boss).clean().Solids()[0])
        check_motor_end(found.ends[0])
        end = found.ends[1]
        assert (end.seat, end.pilot) == (near(12.0), None)
        assert (end.register.diameter, end.register.height) == (near(40.0), near(3.0))

    def test_an_l_bracket(self, measured, bench):
        foot = Foot(axis_height=45.0, thickness=10.0, hole_diameter=6.6, hole_spacing=60.0, hole_stations=(25.0, 50.0))
        part = LBracket(width=80.0, top=40.0, thickness=10.0, foot_length=60.0, motor=through(bench.motor), foot=foot)
        found = measured(l_bracket(part))
        (end,) = found.ends
        check_motor_end(end)
        # The foot's upper side is 45 - 10 below the axis, farther than the opening's 15.
        assert found.free_radius.profile[-1] == near((60.0, 35.0))

    def test_a_u_bracket(self, measured, bench):
        part = UBracket(
            width=80.0, top=40.0, length=60.0, motor_plate=10.0, actuator_plate=10.0, motor=through(bench.motor),
            actuator=through(bench.actuator), foot=Foot(axis_height=45.0, thickness=10.0),
        )  # fmt: skip
        found = measured(u_bracket(part))
        check_motor_end(found.ends[0])
        check_actuator_end(found.ends[1])

    def test_standoffs(self, measured, bench):
        posts = Holes(layout="square", size=(66.0,), diameter=4.0)
        part = Standoffs(
            width=80.0, height=80.0, length=60.0, motor_plate=8.0, actuator_plate=8.0, motor=through(bench.motor),
            actuator=through(bench.actuator), posts=posts, post_diameter=9.0,
        )  # fmt: skip
        found = measured(bench.assembly(standoffs(part)))
        check_motor_end(found.ends[0])
        check_actuator_end(found.ends[1])
        # Between the plates the posts are nearest: their corner on the bolt circle less their radius.
        middle = [r for s, r in found.free_radius.profile if 8.0 < s < 52.0]
        assert middle == [] or middle == near([33.0 * sqrt(2.0) - 4.5] * len(middle))


class TestTheDriveAxis:
    @pytest.fixture(scope="class")
    def two_motors(self, bench):
        one = plate(Plate(width=80.0, height=80.0, thickness=12.0, motor=through(bench.motor)))
        (solid,) = one.fuse(one.translate(V(79, 0, 0))).clean().Solids()
        return solid

    def test_two_equal_axes_are_listed_and_not_guessed(self, measured, two_motors):
        found = measured(two_motors)
        assert found.drive_axis is None
        assert found.ends == ()
        (warning,) = found.warnings
        assert warning.startswith("2 lines are equally good candidates for the drive axis: 1. through [")
        assert "; 2. through [" in warning
        assert "'axis: near: [x, y, z]'" in warning
        # All cylinders are there all the same.
        assert sorted(round(c.diameter, 6) for c in found.cylinders) == [4.5] * 8 + [30.0] * 2 + [38.1] * 2

    @pytest.mark.parametrize(("near_point", "x"), [((79.0, 3.0, 5.0), 79.0), ((-2.0, 0.0, 100.0), 0.0)])
    def test_a_point_settles_it(self, measured, two_motors, near_point, x):
        found = measured(two_motors, MeasureOptions(axis_near=near_point))
        assert found.drive_axis.origin == near((x, 0.0, 0.0))
        assert found.warnings == ()
        check_motor_end(found.ends[0])

    def test_a_body_settles_it(self, measured, bench, two_motors):
        shaft = cylinder(8.0, -30.0, 22.0, 79.0, 0.0)
        model = bench.assembly({"bracket": two_motors, "spindle": shaft})
        found = measured(model, MeasureOptions(axis_body="spin*"))
        assert found.drive_axis.origin == near((79.0, 0.0, 0.0))
        missing = measured(model, MeasureOptions(axis_body="rotor"))
        assert missing.drive_axis is None
        assert any("no candidate for the drive axis lies on a body called 'rotor'" in w for w in missing.warnings)

    @pytest.mark.parametrize("hole", [0.0, 10.0])
    def test_a_block_is_no_adapter(self, measured, hole):
        block = cq.Workplane().box(40, 40, 40)
        found = measured((block.faces(">Z").workplane().hole(hole) if hole else block).val())
        assert (found.drive_axis, found.ends, found.free_radius) == (None, (), None)
        assert any("this does not look like a motor adapter" in warning for warning in found.warnings)
        assert len(found.cylinders) == (1 if hole else 0)


MOTOR = MachineBody(
    flange_size=(56.4, 56.4), flange_thickness=5.0, body_size=(54.0, 54.0), body_length=70.0,
    register_diameter=38.0, register_height=1.6, holes=(Holes(layout="square", size=(47.14,), diameter=5.0),),
    shaft=ShaftEnd(diameter=8.0, length=21.0, chamfer=0.5),
)  # fmt: skip
ACTUATOR = MachineBody(
    flange_size=(58.0, 58.0), flange_thickness=10.0, body_size=(58.0, 40.0), body_length=140.0,
    register_diameter=33.9, register_height=2.0, holes=(Holes(layout="circle", size=(46.0,), diameter=3.5, count=6),),
    shaft=ShaftEnd(diameter=10.0, length=20.0),
)  # fmt: skip


def with_shaft(end):
    return replace(MOTOR, shaft=end)


class TestMachines:
    def drive(self, bench, motor_body=MOTOR, actuator_body=ACTUATOR):
        bodies = {"adapter": bench.housing(), "motor": motor(motor_body), "actuator": actuator(actuator_body, 60.0)}
        return bench.assembly(bodies)

    @pytest.mark.parametrize("parts", [False, True])
    def test_both_machines(self, measured, bench, parts):
        bodies = {"adapter": bench.housing()}
        if parts:
            bodies |= {f"motor {key}": body for key, body in motor_parts(MOTOR).items()}
            bodies |= {f"actuator {key}": body for key, body in actuator_parts(ACTUATOR, 60.0).items()}
        else:
            bodies |= {"motor": motor(MOTOR), "actuator": actuator(ACTUATOR, 60.0)}
        found = measured(bench.assembly(bodies))
        first, second = found.ends
        check_motor_end(first, role="motor")
        check_actuator_end(second, role="actuator")
        shaft = first.shaft
        # The chamfer of 0.5 does not grip; the full round begins at the register's face, 1.6 above the seat.
        assert (shaft.diameter, shaft.length, shaft.end) == near((8.0, 21.0, 21.0))
        assert (shaft.full_from, shaft.full_to) == near((1.6, 20.5))
        assert (shaft.offset, shaft.tilt) == near((0.0, 0.0))
        assert (first.machine_register.diameter, first.machine_register.height) == near((38.0, 1.6))
        other = second.shaft
        assert (other.diameter, other.length, other.end) == near((10.0, 20.0, 40.0))
        assert (other.full_from, other.full_to) == near((58.0, 40.0))
        assert (first.face, second.face) == near((1.6, 58.0))
        # Between the machines' faces the shafts are no obstacles: the opening of 26 is the tightest.
        assert found.free_radius.least == near(13.0)
        assert (found.free_radius.profile[0][0], found.free_radius.profile[-1][0]) == near((1.6, 58.0))

    def test_a_flat(self, measured, bench):
        flat = ShaftEnd(diameter=8.0, length=21.0, flat=ShaftFlat(length=12.0, height=7.0))
        shaft = measured(self.drive(bench, with_shaft(flat))).ends[0].shaft
        assert (shaft.diameter, shaft.end) == near((8.0, 21.0))
        # Height from the flat to the opposite side; from station 21 - 12 to the end.
        assert (shaft.flat.length, shaft.flat.height) == near((12.0, 7.0))
        assert sorted((shaft.flat.start, shaft.flat.stop)) == near([9.0, 21.0])
        assert shaft.keyseat is None

    @pytest.mark.parametrize("from_end", [0.0, 2.0])
    def test_a_keyseat(self, measured, bench, from_end):
        key = Keyseat(width=3.0, depth=1.8, length=12.0, from_end=from_end)
        end = ShaftEnd(diameter=10.0, length=21.0, keyseat=key)
        shaft = measured(self.drive(bench, with_shaft(end))).ends[0].shaft
        assert shaft.diameter == near(10.0)
        assert (shaft.keyseat.width, shaft.keyseat.depth) == near((3.0, 1.8))
        assert shaft.keyseat.length == near(12.0)
        assert sorted((shaft.keyseat.start, shaft.keyseat.stop)) == near([21.0 - from_end - 12.0, 21.0 - from_end])
        assert shaft.flat is None

    def test_a_step(self, measured, bench):
        # The front part, 6 mm over 9, is the shaft; behind it, at 8 mm, no hub of bore 6 passes.
        stepped = machine(with_shaft(ShaftEnd(diameter=8.0, length=12.0))).fuse(cylinder(6.0, 11.0, 21.0))
        bodies = {
            "adapter": bench.housing(),
            "motor": stepped.clean().Solids()[0],
            "actuator": actuator(ACTUATOR, 60.0),
        }
        shaft = measured(bench.assembly(bodies)).ends[0].shaft
        assert (shaft.diameter, shaft.end) == near((6.0, 21.0))
        assert (shaft.full_from, shaft.full_to) == near((12.0, 21.0))

    def test_a_double_ended_shaft_counts_its_inner_end(self, measured, bench):
        # A second shaft end, 8 mm and 15 long, stands out at the motor's back, station -75.
        both = motor(MOTOR).fuse(cylinder(8.0, -90.0, -74.0)).clean().Solids()[0]
        bodies = {"adapter": bench.housing(), "motor": both, "actuator": actuator(ACTUATOR, 60.0)}
        found = measured(bench.assembly(bodies))
        shaft = found.ends[0].shaft
        assert (shaft.diameter, shaft.end, shaft.full_to) == near((8.0, 21.0, 20.5))
        check_motor_end(found.ends[0], role="motor")

    @pytest.mark.parametrize("offset", [(0.0, 0.0), (0.05, -0.12)])
    def test_an_actuator_beside_its_pilot(self, measured, bench, offset):
        moved = actuator(ACTUATOR, 60.0, offset=offset)
        found = measured(bench.assembly({"adapter": bench.housing(), "motor": motor(MOTOR), "actuator": moved}))
        shaft = found.ends[1].shaft
        assert shaft.offset == near((offset[0] ** 2 + offset[1] ** 2) ** 0.5)
        assert shaft.end == near(40.0)

    def test_nameless_bodies_are_told_by_their_shape(self, measured, bench):
        bodies = {"part a": actuator(ACTUATOR, 60.0), "part b": motor(MOTOR), "part c": bench.housing()}
        found = measured(bench.assembly(bodies))
        assert [body.role for body in found.bodies].count("adapter") == 1
        assert (
            dict(zip([b.name for b in found.bodies], [b.role for b in found.bodies], strict=True))["part c"]
            == "adapter"
        )
        stations = sorted((round(end.seat, 6), round(end.shaft.diameter, 6)) for end in found.ends)
        assert stations in ([(0.0, 8.0), (60.0, 10.0)], [(0.0, 10.0), (60.0, 8.0)])
