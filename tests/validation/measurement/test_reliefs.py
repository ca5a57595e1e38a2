"""Grooves round a boss at a seat: no register goes in, so they are no pilots. Dimensions known, lengths mm."""

from __future__ import annotations

import cadquery as cq
import pytest

from parametric_models.adapters import Holes
from parametric_models.adapters.features import cylinder
from parametric_models.faces import as_bsplines, moved, split_cylinders
from parametric_models.machines import MachineBody, ShaftEnd, motor

NM = 1e-6
SQUARE = Holes(layout="square", size=(47.14,), diameter=4.5)


def near(value):
    return pytest.approx(value, abs=NM)


def ring(outer, inner, start, stop):
    return cylinder(outer, start, stop).cut(cylinder(inner, start, stop))


def one(shape):
    (solid,) = shape.clean().Solids()
    return solid


@pytest.fixture(scope="module")
def plate():
    """62 x 62 x 12 with a bore of 20 and four holes in a square of 47.14."""
    holes = [cq.Solid.makeCylinder(2.25, 14.0, cq.Vector(x, y, -1.0)) for x, y in SQUARE.centres()]
    return one(cq.Solid.makeBox(62.0, 62.0, 12.0, cq.Vector(-31.0, -31.0, 0.0)).cut(cylinder(20.0, -1.0, 13.0), *holes))


def at_motor(found):
    (end,) = (end for end in found.ends if abs(found.point(end.seat)[2]) < NM)
    return end


@pytest.mark.parametrize("dress", [lambda part: part, lambda part: split_cylinders(part, 4), as_bsplines])
def test_a_groove_round_a_boss_level_with_the_seat(measured, plate, dress):
    # The groove alone would be a pilot of 38 by 2.5, were it not for the ring of 28 that stands in it.
    found = measured(dress(one(plate.cut(ring(38.0, 28.0, 0.0, 2.5)))))
    end = at_motor(found)
    assert end.pilot is None
    assert end.opening.diameter == pytest.approx(20.0, abs=5e-3)
    assert any("no pilot bore with a floor; a plain bore of 20.000 mm opens" in text for text in found.warnings)


@pytest.mark.parametrize("chamfer", [0.0, 0.3])
def test_a_boss_that_is_lower_than_the_seat_leaves_a_shallow_pilot(measured, plate, chamfer):
    # The boss stands 1.5 high in a recess 2.5 deep: a register goes in by 1.0, however the boss' rim is broken.
    boss = cq.Workplane(ring(28.0, 20.0, 1.0, 2.5))
    if chamfer:
        boss = boss.faces("<Z").edges("%CIRCLE").edges(cq.selectors.RadiusNthSelector(-1)).chamfer(chamfer)
    part = one(plate.cut(cylinder(38.0, 0.0, 2.5)).fuse(boss.val()))
    pilot = at_motor(measured(part)).pilot
    assert (pilot.diameter, pilot.depth) == (near(38.0), near(1.0))


def test_a_groove_at_the_root_of_a_register(measured, plate):
    # The register of 38 stands 2 high; a groove round it, 1 deep, relieves its corner.
    part = one(plate.fuse(ring(38.0, 20.0, -2.0, 1.0)).cut(ring(40.0, 38.0, 0.0, 1.0)))
    end = at_motor(measured(part))
    assert end.pilot is None
    assert (end.register.diameter, end.register.height) == (near(38.0), near(2.0))
    assert end.bolts[0].size == near((47.14,))


MOTOR = MachineBody(
    flange_size=(56.4, 56.4), flange_thickness=5.0, body_size=(54.0, 54.0), body_length=70.0, register_diameter=38.0,
    register_height=1.6, holes=(SQUARE,), shaft=ShaftEnd(diameter=8.0, length=21.0),
)  # fmt: skip


@pytest.fixture(scope="module")
def relieved_motor():
    """A motor with a groove of 24 by 1 round a neck of 12 that stands 0.6 over its register."""
    return one(motor(MOTOR).cut(ring(24.0, 12.0, 0.6, 1.6)).fuse(ring(12.0, 8.0, 1.6, 2.2)))


def test_a_motor_s_groove_changes_nothing_of_its_register_and_shaft(measured, bench, relieved_motor):
    found = measured(bench.assembly({"adapter": bench.housing(), "motor": relieved_motor}))
    end = found.ends[0]
    assert (end.machine_register.diameter, end.pilot.diameter) == (near(38.0), near(38.1))
    assert (end.shaft.diameter, end.shaft.end) == (near(8.0), near(21.0))
    # No hub of bore 8 passes the neck, which is the front of the motor.
    assert (end.face, end.shaft.full_from) == (near(2.2), near(2.2))


@pytest.mark.parametrize("place", [(0.0, 0.0, 0.0), (300.0, -20.0, 50.0)])
def test_a_motor_alone_is_no_adapter(measured, relieved_motor, place):
    found = measured(moved(relieved_motor, place, (1.0, 2.0, 3.0), 40.0))
    assert (found.drive_axis, found.ends) == (None, ())
    assert any("does not look like a motor adapter" in text for text in found.warnings)


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(("start", "stop"), [(0.0, 0.4), (0.0, 0.8), (0.6, 1.1)])
def test_a_groove_in_a_machine_s_register(measured, bench, turned, start, stop):
    # Told by the groove's floor of 37 it would have a play of 1.1 in its pilot of 38.1 that it does not have.
    grooved = one(motor(MOTOR).cut(ring(40.0, 37.0, start, stop)))
    parts = {"adapter": bench.housing(), "motor": grooved}
    assembly = bench.assembly(parts)
    if turned:
        parts["adapter"] = moved(parts["adapter"], axis=(1.0, 0.0, 0.0), angle=180.0)
        parts["motor"] = moved(grooved, axis=(1.0, 0.0, 0.0), angle=180.0)
        assembly = cq.Assembly(name="turned")
        for name, part in parts.items():
            assembly.add(part, name=name)
    (found,) = (one_end for one_end in measured(assembly).ends if one_end.machine_register is not None)
    assert (found.machine_register.diameter, found.machine_register.height) == (near(38.0), near(1.6))
