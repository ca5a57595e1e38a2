"""Which body is what, told by shapes first and by names second: an assembly under any names gives the same answer.

The truth is what the test puts together: adapter, motor, actuator, each with known sizes.
"""

from __future__ import annotations

import itertools
import random

import cadquery as cq
import pytest

from fitcheck.checks.run import run_checks
from fitcheck.job.load import parse_job
from fitcheck.job.template import job_template
from fitcheck.measurement.contradictions import contradiction
from fitcheck.measurement.model import End, Register, Shaft
from fitcheck.measurement.options import MeasureOptions
from fitcheck.measurement.roles import orient, role_by_words
from fitcheck.report.measure_text import measure_text
from parametric_models.adapters import Holes, Housing, Seat, housing
from parametric_models.machines import MachineBody, ShaftEnd, actuator, actuator_parts, motor, motor_parts

ADAPTER = Housing(
    length=58.0, size=60.0, chamber_diameter=36.0,
    motor=Seat(pilot_diameter=38.13, pilot_depth=2.2, opening_diameter=34.0, opening_length=3.0,
               holes=(Holes(layout="square", size=(47.14,), diameter=4.2, depth=14.0),)),
    actuator=Seat(pilot_diameter=36.03, pilot_depth=2.6, opening_diameter=30.0, opening_length=3.0,
                  holes=(Holes(layout="circle", size=(50.0,), diameter=3.3, depth=8.0, start_angle=45.0),)),
)  # fmt: skip
MOTOR = MachineBody(
    flange_size=(56.4, 56.4), flange_thickness=5.0, body_size=(54.0, 54.0), body_length=70.0, body="round",
    register_diameter=38.1, register_height=1.6, holes=(Holes(layout="square", size=(47.14,), diameter=5.1),),
    shaft=ShaftEnd(diameter=8.0, length=21.0, chamfer=0.5),
)  # fmt: skip
ACTUATOR = MachineBody(
    flange_size=(60.0, 60.0), flange_thickness=10.0, body_size=(58.0, 40.0), body_length=140.0, register_diameter=36.0,
    register_height=2.0, holes=(Holes(layout="circle", size=(50.0,), diameter=4.5, start_angle=45.0),),
    shaft=ShaftEnd(diameter=10.0, length=21.0, chamfer=0.5),
)  # fmt: skip

NAMES = [
    ("NEMA 23", "coupler", "Motorhalterung"),
    ("stepper", "servo", "gearmotor"),
    ("Motorhalterung", "NEMA 23", "bearing block"),
    ("support", "plate", "stepper"),
    ("Document (1)", "Document (2)", "Document (3)"),
    ("coupling housing", "gearmotor", "slide"),
    ("plate", "plate (2)", "plate (3)"),
    ("motor mount", "motor", "linear stage"),
]
"""Names of adapter, motor and actuator; most of them say something else."""


def drive(names, move=lambda shape: shape):
    bodies = (housing(ADAPTER), motor(MOTOR), actuator(ACTUATOR, 58.0))
    whole = cq.Assembly(name="drive")
    for name, body in zip(names, bodies, strict=True):
        whole.add(move(body), name=name)
    return whole


def sizes(found):
    """The ends, whichever is which: seat apart, pilot, shaft and register of each, sorted."""
    ends = found.ends
    rows = [
        (round(end.pilot.diameter, 4), round(end.shaft.diameter, 4), round(end.shaft.length, 4),
         round(end.machine_register.diameter, 4), round(end.machine_register.height, 4))
        for end in ends
    ]  # fmt: skip
    return sorted(rows), round(abs(ends[1].seat - ends[0].seat), 4)


TRUTH = ([(36.03, 10.0, 21.0, 36.0, 2.0), (38.13, 8.0, 21.0, 38.1, 1.6)], 58.0)


@pytest.mark.parametrize("names", NAMES)
def test_the_same_drive_is_measured_under_any_names(measured, names):
    found = measured(drive(names), name="named")
    assert found.drive_axis is not None, found.unsettled
    assert found.bodies[0].role == "adapter"
    assert sizes(found) == TRUTH


@pytest.mark.parametrize("order", itertools.permutations(range(3)))
def test_shuffled_names_change_nothing(measured, order):
    names = [("adapter", "motor", "actuator")[k] for k in order]
    rng = random.Random(str(order))
    axis, turn = [rng.gauss(0, 1) for _ in range(3)], rng.uniform(0, 360)

    def move(shape):
        return shape.rotate(cq.Vector(0, 0, 0), cq.Vector(*axis), turn).translate(cq.Vector(5, -60, 17))

    found = measured(drive(names, move), name="shuffled")
    if found.drive_axis is None:
        # Names that say the opposite of the shapes may be asked about, and are never told with confidence.
        assert found.unsettled is not None
        assert "bodies:" in found.unsettled.remedy
        return
    assert found.bodies[0].role == "adapter"
    assert sizes(found) == TRUTH


@pytest.mark.parametrize("parts", [1, 2])
@pytest.mark.parametrize(("body", "name"), [(MOTOR, "adapter"), (MOTOR, "Part 1"), (ACTUATOR, "plate")])
def test_a_machine_alone_is_said_to_be_one(measured, parts, body, name):
    if parts == 1:
        model = cq.Assembly(name="file").add(motor(body), name=name)
    else:
        model = cq.Assembly(name="file")
        for number, piece in enumerate(motor_parts(body).values()):
            model.add(piece, name=f"{name} {number}")
    found = measured(model, name="alone")
    assert found.drive_axis is None
    assert "looks like a machine (a motor or an actuator) alone" in found.unsettled.reason
    # What is printed is a job's group, and gives the very sizes.
    group = found.unsettled.job_group
    loaded = parse_job(f"step: adapter.step\n{group}\n{COUPLING}", None, ".")
    machine = loaded.job.motor
    assert machine.shaft.diameter == pytest.approx(body.shaft.diameter, abs=1e-3)
    assert machine.shaft.length == pytest.approx(body.shaft.length, abs=1e-3)
    assert machine.shaft.chamfer == pytest.approx(body.shaft.chamfer, abs=1e-3)
    assert machine.register.diameter == pytest.approx(body.register_diameter, abs=1e-3)
    assert machine.register.height == pytest.approx(body.register_height, abs=1e-3)
    assert machine.bolts.count == 4
    assert machine.frame == ("NEMA 23" if body is MOTOR else None)
    page = measure_text(found)
    assert all(line in page for line in group.splitlines())
    # One finding says it, and the others refer to it.
    made = run_checks(loaded, orient(found, loaded.job))
    assert sum("looks like a machine" in finding.message for finding in made) == 1
    assert {finding.status for finding in made} == {"not-checked"}
    assert group.splitlines()[-1].strip() in job_template(found, "alone.step")


COUPLING = """\
coupling: {family: bellows, outside_diameter: 20, length: 30,
  hubs: {motor: {bore: 8, bore_length: 10}, actuator: {bore: 8, bore_length: 10}}}
"""


@pytest.mark.parametrize("given", [{"motor": ("Document (2)",)}, {"adapter": ("Document (1)",)}, {"adapter": ("#1",)}])
def test_roles_that_the_user_gives_count(measured, given):
    found = measured(drive(("Document (1)", "Document (2)", "Document (3)")), MeasureOptions(**given), name="given")
    assert found.bodies[0].role == "adapter"
    assert sizes(found) == TRUTH


def test_parts_of_a_motor_s_assembly_are_the_motor_s(measured):
    whole = cq.Assembly(name="z-drive")
    whole.add(housing(ADAPTER), name="adapter")
    pieces = cq.Assembly(name="stepper 57")
    for name, body in zip(("plate", "shaft"), motor_parts(MOTOR).values(), strict=True):
        pieces.add(body, name=name)
    whole.add(pieces)
    other = cq.Assembly(name="slide")
    for name, body in zip(("housing", "spindle"), actuator_parts(ACTUATOR, 58.0).values(), strict=True):
        other.add(body, name=name)
    whole.add(other)
    found = measured(whole, name="assembly")
    assert [body.role for body in found.bodies] == ["adapter", "motor", "motor", "actuator", "actuator"]
    assert sizes(found) == TRUTH


@pytest.mark.parametrize(
    ("names", "role"),
    [
        (["Motorhalterung"], "adapter"), (["NEMA 17 mount"], "adapter"), (["NEMA 17"], "motor"),
        (["coupling housing"], "adapter"), (["Kupplung"], "coupling"), (["bearing block"], "actuator"),
        (["plate", "coupling"], "coupling"), (["plate", "motor bracket"], "adapter"), (["plate", "Servo"], "motor"),
        (["Lagerbock"], "actuator"), (["gearmotor"], "motor"), (["Document (7)"], None),
    ],
)  # fmt: skip
def test_words_where_shapes_do_not_tell(names, role):
    assert role_by_words(names) == role


def end(role, **given):
    return End(role=role, seat=0.0, **given)


def shaft(length):
    return Shaft(diameter=8.0, length=length, end=length, full_from=0.0, full_to=length)


@pytest.mark.parametrize(
    ("ends", "words"),
    [
        ((end("motor"), end("motor")), "both ends would be the motor's"),
        ((end("motor", shaft=shaft(-7.5)), end("actuator")), "7.500 mm behind its own seat"),
        ((end("motor", machine_register=Register(diameter=20.0, height=61.0)),), "would be 61.000 mm high"),
    ],
)
def test_what_contradicts_itself_is_asked_about(ends, words):
    from types import SimpleNamespace

    bodies = [SimpleNamespace(index=0, name="one"), SimpleNamespace(index=1, name="two")]
    found = contradiction(SimpleNamespace(bodies=bodies), ends, ["adapter", "motor"])
    assert words in found.reason
    assert "'one' (#1)" in found.reason
    assert "bodies: {adapter:" in found.remedy
    assert contradiction(SimpleNamespace(bodies=bodies), (end("motor", shaft=shaft(21.0)),), ["adapter", None]) is None
