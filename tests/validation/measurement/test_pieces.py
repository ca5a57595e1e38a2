"""Adapters of several bodies that no name tells apart, and parts that are no adapter. Dimensions known, lengths mm."""

from __future__ import annotations

from dataclasses import replace

import cadquery as cq
import pytest

from fitcheck.job.load import load_job
from fitcheck.job.template import job_template
from fitcheck.measurement.options import MeasureOptions
from fitcheck.measurement.roles import orient
from parametric_models.adapters import Holes, Plate, Standoffs, TwoPiece, plate, standoffs, two_piece
from parametric_models.adapters.features import cylinder
from parametric_models.machines import MachineBody, ShaftEnd, actuator, actuator_parts, motor

V = cq.Vector
NM = 1e-6
MOTOR = MachineBody(
    flange_size=(60.0, 60.0), flange_thickness=5.0, body_size=(56.0, 56.0), body_length=60.0, register_diameter=38.05,
    register_height=1.6, holes=(Holes(layout="square", size=(47.14,), diameter=5.0),),
    shaft=ShaftEnd(diameter=8.0, length=21.0),
)  # fmt: skip
ACTUATOR = MachineBody(
    flange_size=(58.0, 58.0), flange_thickness=10.0, body_size=(58.0, 40.0), body_length=140.0, register_diameter=33.95,
    register_height=2.0, holes=(Holes(layout="circle", size=(46.0,), diameter=3.5, count=6),),
    shaft=ShaftEnd(diameter=10.0, length=20.0),
)  # fmt: skip


def near(value):
    return pytest.approx(value, abs=NM)


def machines(with_them):
    return {"X1": motor(MOTOR), "X2": actuator(ACTUATOR, 60.0)} if with_them else {}


def turned(bodies):
    """The bodies somewhere else, so that no direction of the file is the drive axis'."""
    return {n: s.rotate(V(), V(1, 2, -0.5), 37).translate(V(120, -40, 9)) for n, s in bodies.items()}


def check_ends(found, with_machines=False):
    first, second = found.ends
    assert (first.seat, first.pilot.diameter, first.pilot.depth) == near((0.0, 38.1, 2.5))
    assert (second.seat, second.pilot.diameter, second.pilot.depth) == near((60.0, 34.0, 3.5))
    assert (first.bolts[0].layout, first.bolts[0].count, first.bolts[0].size) == ("square", 4, near((47.14,)))
    assert (second.bolts[0].layout, second.bolts[0].count, second.bolts[0].size) == ("circle", 6, near((46.0,)))
    if with_machines:
        assert (first.shaft.diameter, first.shaft.end) == near((8.0, 21.0))
        assert (second.shaft.diameter, second.shaft.end) == near((10.0, 40.0))
    else:
        assert (first.shaft, second.shaft) == (None, None)
    assert found.free_radius.least == near(13.0)


def roles(found):
    return {body.name.split("/")[-1]: body.role for body in found.bodies}


def told(found):
    """The warning that says which bodies were taken for the adapter, with the job line that settles it."""
    (warning,) = (w for w in found.warnings if "no name tells which bodies are the adapter's" in w)
    assert "bodies: {adapter: [" in warning
    return warning


@pytest.mark.parametrize("with_machines", [False, True])
class TestNamelessPieces:
    def test_two_pieces(self, measured, bench, with_machines):
        parts = two_piece(TwoPiece(whole=bench.parameters, joint=35.0, spigot_diameter=44.0, spigot_length=4.0))
        bodies = dict(zip(("B1", "B2"), parts.values(), strict=True)) | machines(with_machines)
        found = measured(bench.assembly(turned(bodies)))
        check_ends(found, with_machines)
        assert {name for name, role in roles(found).items() if role == "adapter"} == {"B1", "B2"}
        assert "'B1', 'B2'" in told(found)

    def test_half_shells_with_holes_on_their_joint(self, measured, bench, with_machines):
        whole, big = bench.housing(), 400.0
        # The plane y = 0 goes through two of the actuator's six holes.
        halves = [whole.intersect(cq.Solid.makeBox(big, big, big, V(-200, y, -200))).Solids()[0] for y in (0.0, -big)]
        bodies = dict(zip(("B1", "B2"), halves, strict=True)) | machines(with_machines)
        check_ends(measured(bench.assembly(turned(bodies))), with_machines)

    def test_plates_on_posts(self, measured, bench, with_machines):
        seats = (replace(bench.motor, opening_length=None), replace(bench.actuator, opening_length=None))
        part = Standoffs(
            width=90.0, height=90.0, length=60.0, motor_plate=8.0, actuator_plate=8.0, motor=seats[0],
            actuator=seats[1], posts=Holes(layout="square", size=(70.0,), diameter=4.0), post_diameter=9.0,
        )  # fmt: skip
        bodies = {f"B{i}": body for i, body in enumerate(standoffs(part).values())} | machines(with_machines)
        found = measured(bench.assembly(turned(bodies)))
        check_ends(found, with_machines)
        assert [role for name, role in roles(found).items() if name.startswith("B")] == ["adapter"] * 6

    @pytest.mark.parametrize("names", [["plate", *["spacer"] * 4], [""] * 5], ids=["named", "nameless"])
    def test_a_plate_on_spacers_whose_ends_are_the_other_seat(self, measured, bench, with_machines, names):
        holes = Holes(layout="square", size=(47.14,), diameter=5.0)
        seat = replace(bench.motor, opening_length=None, holes=(holes,))
        bodies = [plate(Plate(width=62.0, height=62.0, thickness=8.0, motor=seat))]
        for x, y in holes.centres():
            tube = cq.Solid.makeCylinder(4.5, 52.0, V(x, y, 8)).cut(cq.Solid.makeCylinder(2.5, 52.0, V(x, y, 8)))
            bodies.append(tube)
        named = {f"{name or 'B'} {i}": body for i, (name, body) in enumerate(zip(names, bodies, strict=True))}
        found = measured(bench.assembly(turned(named | machines(with_machines))))
        first, second = found.ends
        assert (first.seat, first.pilot.diameter, second.seat) == near((0.0, 38.1, 60.0))
        assert second.pilot is None
        assert [(p.layout, p.size) for p in second.bolts] == [("square", near((47.14,)))]
        assert (None if second.shaft is None else second.shaft.end) == (near(40.0) if with_machines else None)


def test_nameless_machines_are_machines_once_their_ends_are_known(measured, bench, tmp_path):
    found = measured(bench.assembly(turned({"B1": bench.housing()} | machines(True))))
    assert roles(found) == {"B1": "adapter", "X1": "other", "X2": "other"}
    path = tmp_path / "a.fit.yaml"
    path.write_text(
        "step: part.step\nmotor: {frame: NEMA 23}\ncoupling: {family: jaw, outside_diameter: 24, length: 30, "
        "hubs: {motor: {bore: 8, bore_length: 12}, actuator: {bore: 10, bore_length: 12}}}\n"
    )
    job = load_job(str(path)).job
    # The motor's own rear would else stand in the coupling's way.
    assert roles(orient(found, job)) == {"B1": "adapter", "X1": "motor", "X2": "actuator"}


def test_points_on_the_candidates_are_given_where_the_axis_is_in_doubt(measured, bench):
    one = bench.housing()
    (two,) = one.fuse(one.translate(V(61, 0, 0))).clean().Solids()
    found = measured(two)
    assert found.drive_axis is None
    assert sorted(point[0] for point in found.candidates) == near([0.0, 61.0])
    assert "near: [" in found.warnings[0]
    for point in found.candidates:
        settled = measured(two, MeasureOptions(axis_near=point))
        assert settled.candidates == ()
        assert settled.drive_axis.origin[0] == near(point[0])
    # The starting job holds the first of them, ready to be switched on.
    assert f"#near: [{found.candidates[0][0]:g}, " in job_template(found, "a.step")


class TestTheActuatorsOwnBody:
    """The chamber is in the actuator's body, behind a plate that carries the motor; a spindle runs in the body."""

    def parts(self, bench):
        seat = replace(bench.motor, opening_length=None, holes=(Holes(layout="square", size=(47.14,), diameter=5.0),))
        cover = plate(Plate(width=62.0, height=62.0, thickness=8.0, motor=seat))
        block = cq.Solid.makeBox(62, 62, 100, V(-31, -31, 8))
        body = block.cut(cylinder(36.0, 7.0, 60.0), cylinder(22.0, 59.0, 80.0), cylinder(10.4, 79.0, 120.0))
        for x, y in seat.holes[0].centres():
            body = body.cut(cq.Solid.makeCylinder(2.1, 12.0, V(x, y, 8)))
        return cover, body.Solids()[0], cylinder(10.0, 40.0, 108.0)

    @pytest.mark.parametrize(
        "names",
        [
            ("plate", "actuator body", "actuator spindle"),
            ("plate", "actuator body", "spindle"),
            ("plate", "B2", "B3"),
            ("B1", "B2", "B3"),
        ],
    )
    @pytest.mark.parametrize("with_motor", [False, True])
    def test_a_cover_plate_before_it(self, measured, bench, names, with_motor):
        bodies = dict(zip(names, self.parts(bench), strict=True)) | ({"motor": motor(MOTOR)} if with_motor else {})
        found = measured(bench.assembly(turned(bodies)))
        first, second = found.ends
        assert roles(found)[names[0]] == "adapter"
        assert (first.seat, first.pilot.diameter, second.seat) == near((0.0, 38.1, 8.0))
        # The chamber ends at the ring round the spindle; the plate's opening of 30 is the tightest before it.
        assert (second.shaft.diameter, second.shaft.end, second.face) == near((10.0, 40.0, 60.0))
        assert found.free_radius.least == near(15.0)

    def test_a_spindle_within_the_only_other_body(self, measured, bench):
        cover, body, spindle = self.parts(bench)
        whole = cover.fuse(body).clean().Solids()[0]
        found = measured(bench.assembly(turned({"actuator housing": whole, "spindle": spindle})))
        assert roles(found) == {"actuator housing": "adapter", "spindle": "actuator"}
        shaft = found.ends[1].shaft
        assert (found.ends[0].seat, shaft.diameter, shaft.end) == near((0.0, 10.0, 40.0))
        # The spindle is the shaft, no obstacle: the bore that it runs in is the tightest.
        assert found.free_radius.least == near(5.2)

    def test_a_spindle_in_a_blind_body_is_a_shaft_without_a_seat(self, measured, bench):
        cover, body, spindle = self.parts(bench)
        whole = cover.fuse(body, cylinder(20.0, 104.0, 108.0)).clean().Solids()[0]
        spindle = spindle.cut(cylinder(20.0, 104.0, 109.0)).Solids()[0]
        found = measured(bench.assembly(turned({"actuator housing": whole, "spindle": spindle})))
        (end,) = found.ends
        assert (end.seat, end.shaft) == (near(0.0), None)
        (warning,) = found.warnings
        assert "spindle' is a shaft on the drive axis at whose end no seat was found, and no obstacle" in warning
        # Up to the ring that the spindle runs in, the cover's opening is the tightest.
        assert min(r for s, r in found.free_radius.profile if s < 59.0) == near(15.0)

    def test_an_actuator_without_a_spindle_beside_a_plate_keeps_its_role(self, measured, bench):
        cover, body, _ = self.parts(bench)
        found = measured(bench.assembly(turned({"plate": cover, "actuator": body})))
        assert roles(found) == {"plate": "adapter", "actuator": "actuator"}
        assert (found.ends[1].role, found.ends[1].seat, found.ends[1].shaft) == ("actuator", near(8.0), None)


class TestWhatIsNoPiece:
    def test_a_bearing_and_screws(self, measured, bench):
        bearing = cylinder(30.0, 46.0, 52.5).cut(cylinder(10.0, 45.0, 53.0))
        screws = {
            f"S{i}": cq.Solid.makeCylinder(2.0, 15.0, V(x, y, -5)).fuse(cq.Solid.makeCylinder(3.5, 3.0, V(x, y, -3)))
            for i, (x, y) in enumerate(bench.motor.holes[0].centres())
        }
        part = bench.without(cylinder(30.0, 46.0, 50.0), cylinder(28.0, 49.0, 52.5))
        found = measured(bench.assembly(turned({"B1": part, "B2": bearing, **screws})))
        assert [end.seat for end in found.ends] == near([0.0, 60.0])
        assert {name for name, role in roles(found).items() if role == "adapter"} == {"B1"}
        # A ring is no shaft; its bore is an obstacle.
        assert (found.ends[1].shaft, found.free_radius.least) == (None, near(5.0))

    def test_an_actuator_of_parts(self, measured, bench):
        parts = {f"A{i}": body for i, body in enumerate(actuator_parts(ACTUATOR, 60.0).values())}
        found = measured(bench.assembly(turned({"B1": bench.housing(), **parts})))
        assert [end.seat for end in found.ends] == near([0.0, 60.0])
        assert (found.ends[1].shaft.diameter, found.ends[1].shaft.end) == near((10.0, 40.0))
        assert roles(found)["B1"] == "adapter"
        assert not any("no name tells" in warning for warning in found.warnings)


class TestPilotsAndPassages:
    @pytest.mark.parametrize(("depth", "is_pilot"), [(2.0, True), (14.9, True), (15.1, False), (40.0, False)])
    def test_a_recess_deeper_than_its_radius_is_a_passage(self, measured, bench, depth, is_pilot):
        # A bore of radius 15 whose only shoulder is at its far end.
        holes = (Holes(layout="square", size=(47.14,), diameter=5.0, depth=10.0),)
        seat = replace(bench.motor, pilot_diameter=30.0, pilot_depth=depth, opening_diameter=20.0, opening_length=None,
                       holes=holes)  # fmt: skip
        found = measured(plate(Plate(width=62.0, height=62.0, thickness=50.0, motor=seat)))
        end = next(end for end in found.ends if end.bolts)
        if is_pilot:
            assert (end.pilot.diameter, end.pilot.depth) == near((30.0, depth))
        else:
            assert (end.pilot, end.opening.diameter, end.opening.length) == (None, near(30.0), near(depth))
            assert any(f"{depth:.3f} mm deep: more than its radius" in warning for warning in found.warnings)

    def test_a_block_with_counterbored_holes_is_no_adapter(self, measured):
        top = cq.Workplane().box(60, 60, 20).faces(">Z").workplane()
        one = top.cboreHole(9, 16, 5).val()
        four = top.rect(40, 40, forConstruction=True).vertices().cboreHole(5.5, 12, 5).val()
        for block in (one, four):
            found = measured(block)
            assert (found.drive_axis, found.ends) == (None, ())
            (warning,) = found.warnings
            assert "this does not look like a motor adapter; where a recess alone locates the machine" in warning
            assert "'axis: near: [x, y, z]'" in warning

    def test_a_lone_recess_is_measured_where_the_job_names_it(self, measured):
        block = cq.Workplane().box(60, 60, 20).faces(">Z").workplane().cboreHole(9, 16, 5).val()
        found = measured(block, MeasureOptions(axis_near=(0.0, 0.0, 0.0)))
        assert (found.ends[0].pilot.diameter, found.ends[0].pilot.depth) == near((16.0, 5.0))
