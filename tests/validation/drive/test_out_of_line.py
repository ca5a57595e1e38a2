"""Pilots, spigots, bolt patterns and shafts that stand in a wrong place, put there by the test: told, and never passed.

Every truth is the shift or the tilt that the test builds in, carried through the motion that it moves the file by.
"""

from __future__ import annotations

import math
import random

import cadquery as cq
import pytest

from fitcheck.checks.drive import drive_of
from fitcheck.checks.from_file import completed
from fitcheck.checks.locating import locator_of
from fitcheck.checks.run import run_checks
from fitcheck.checks.shaft_alignment import shaft_alignment
from fitcheck.job.load import parse_job
from fitcheck.measurement.options import options_for
from fitcheck.measurement.roles import orient

MICROMETRE = 1e-3
LENGTH = 58.0

JOB = """\
step: part.step
bodies: {adapter: [adapter], motor: ["motor*"], actuator: ["actuator*"]}
motor:
  bolts: {layout: square, size: 47.14, count: 4}
  shaft: {diameter: 8, tolerance: h6, length: 21}
actuator:
  bolts: {layout: circle, size: CIRCLE, count: 4}
  shaft: {diameter: 10, tolerance: h6, length: 21}
coupling:
  family: double slit
  outside_diameter: OUTSIDE
  length: 40
  hubs:
    motor: {bore: 8, bore_tolerance: H7, bore_length: 13}
    actuator: {bore: 10, bore_tolerance: H7, bore_length: 13}
require: {checks: [pilot-alignment, bolt-pattern, radial-clearance, insertion], LIMITS}
"""


def job(circle=50.0, outside=32.0, limits="orbit: 0"):
    text = JOB.replace("CIRCLE", f"{circle:g}").replace("OUTSIDE", f"{outside:g}").replace("LIMITS", limits)
    return parse_job(text, None, ".")


def cylinder(x, y, z, diameter, length):
    return cq.Workplane("XY", origin=(x, y, z)).circle(diameter / 2).extrude(length)


def square(side):
    return [(sx * side / 2, sy * side / 2) for sx in (-1, 1) for sy in (-1, 1)]


def circle(diameter):
    return [(diameter / 2 * math.cos(math.pi * k / 2), diameter / 2 * math.sin(math.pi * k / 2)) for k in range(4)]


def adapter(
    motor_pilot=(0, 0), motor_holes=(0, 0), actuator_pilot=(0, 0), actuator_holes=(0, 0), spigots=(), opening=34.0,
    size=64.0,
):  # fmt: skip
    """A block with a chamber of 36, two pilots (or spigots) and two bolt patterns, each where the test puts it."""
    body = cq.Workplane("XY").rect(size, size).extrude(LENGTH)
    circles = {"motor": square(47.14), "actuator": circle(58.0 if "actuator" in spigots else 50.0)}
    for side, pilot, holes, diameter in (
        ("motor", motor_pilot, motor_holes, 38.13),
        ("actuator", actuator_pilot, actuator_holes, 36.63),
    ):
        seat, depth = (0.0, 2.2) if side == "motor" else (LENGTH, -2.2)
        if side in spigots:
            height = -math.copysign(5.0, depth)
            body = body.union(cylinder(*pilot, seat, 50.0 if side == "actuator" else 46.0, height))
        else:
            body = body.cut(cylinder(*pilot, seat, diameter, depth))
        for x, y in circles[side]:
            body = body.cut(cylinder(x + holes[0], y + holes[1], seat, 4.2, math.copysign(9.0, depth)))
    return body.cut(cylinder(0, 0, -9.0, opening, LENGTH + 18.0)).cut(cylinder(0, 0, 6.0, 36.0, LENGTH - 12.0))


def motion(rng):
    """A random rotation and shift of the file, and what it does to a direction."""
    axis = [rng.gauss(0, 1) for _ in range(3)]
    angle, shift = rng.uniform(0, 360), [rng.uniform(-80, 80) for _ in range(3)]

    def move(shape):
        return shape.rotate(cq.Vector(0, 0, 0), cq.Vector(*axis), angle).translate(cq.Vector(*shift))

    def turn(direction):
        return cq.Vertex.makeVertex(*direction).rotate(cq.Vector(0, 0, 0), cq.Vector(*axis), angle).toTuple()

    return move, turn


def checked(measured, model, loaded):
    taken = orient(measured(model, options_for(loaded.job)), loaded.job)
    loaded = completed(loaded, taken)
    return drive_of(loaded, taken), run_checks(loaded, taken)


def finding(findings, check, subject):
    return next(f for f in findings if f.check == check and f.subject == subject)


def statuses(findings, check):
    return {f.subject: f.status for f in findings if f.check == check}


def vector_in(text):
    return [float(part) for part in text[text.index("(") + 1 : text.index(")")].split(",")]


def random_shift(rng, low, high):
    size, angle = rng.uniform(low, high), rng.uniform(0, 2 * math.pi)
    return size * math.cos(angle), size * math.sin(angle)


CASES = {
    "motor pilot": {"motor_pilot": "motor's pilot"},
    "motor end": {"motor_pilot": "motor's pilot and its holes", "motor_holes": ""},
    "actuator pilot": {"actuator_pilot": "actuator's pilot"},
    "actuator end": {"actuator_pilot": "actuator's pilot and its holes", "actuator_holes": ""},
}


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("size", [0.08, 0.15, 0.3, 0.7, 1.0, 2.0, 3.5])
def test_a_pilot_in_a_wrong_place_fails_and_is_named(measured, case, size):
    rng = random.Random(f"{case}{size}")
    shift = random_shift(rng, size, size)
    move, turn = motion(rng)
    model = move(adapter(**dict.fromkeys(CASES[case], shift)).val())
    drive, found = checked(measured, model, job())
    offset = finding(found, "pilot-alignment", "offset")
    assert offset.status == "fail"
    assert offset.value == pytest.approx(size, abs=MICROMETRE)
    named = next(name for name in CASES[case].values() if name)
    assert offset.remedy.startswith(f"move the {named} by (")
    assert vector_in(offset.remedy) == pytest.approx([-part for part in turn((*shift, 0.0))], abs=MICROMETRE)
    # Holes that moved with their pilot are not to blame, holes that did not are where the machine is not.
    side = case.split()[0]
    alone = case.endswith("pilot")
    assert statuses(found, "bolt-pattern")[side] == ("fail" if alone and size > 0.2 else "pass")
    assert statuses(found, "bolt-pattern")["actuator" if side == "motor" else "motor"] == "pass"
    del drive


@pytest.mark.parametrize("side", ["motor", "actuator"])
@pytest.mark.parametrize("seed", range(3))
def test_a_pattern_off_its_own_pilot_fails_though_the_pilots_agree(measured, side, seed):
    rng = random.Random(seed)
    shift = random_shift(rng, 0.25, 0.5)
    move, turn = motion(rng)
    found = checked(measured, move(adapter(**{f"{side}_holes": shift}).val()), job())[1]
    assert set(statuses(found, "pilot-alignment").values()) <= {"pass"}
    position = finding(found, "bolt-pattern", side)
    assert position.status == "fail"
    assert position.value == pytest.approx(math.hypot(*shift), abs=MICROMETRE)
    assert position.remedy.startswith(f"move the {side}'s holes by (")
    assert vector_in(position.remedy) == pytest.approx([-part for part in turn((*shift, 0.0))], abs=MICROMETRE)


def test_a_pilot_that_the_job_allows_to_be_off_still_needs_its_holes(measured):
    # 0.3 mm beside is allowed here, but the machine's screws do not find their holes.
    found = checked(measured, adapter(actuator_pilot=(0.3, 0.0)).val(), job(limits="parallel_misalignment: 0.5"))[1]
    assert finding(found, "pilot-alignment", "offset").status == "pass"
    position = finding(found, "bolt-pattern", "actuator")
    assert (position.status, position.value) == ("fail", pytest.approx(0.3, abs=MICROMETRE))


@pytest.mark.parametrize("spigots", [("actuator",), ("motor",), ("motor", "actuator")])
@pytest.mark.parametrize("size", [0.0, 0.15, 1.2])
def test_spigots_are_compared_as_pilots_are(measured, spigots, size):
    rng = random.Random(f"{spigots}{size}")
    shift = random_shift(rng, size, size)
    move, turn = motion(rng)
    side = spigots[-1]
    model = move(adapter(spigots=spigots, **{f"{side}_pilot": shift, f"{side}_holes": shift}).val())
    drive, found = checked(measured, model, job(circle=58.0 if "actuator" in spigots else 50.0))
    offset = finding(found, "pilot-alignment", "offset")
    assert offset.value == pytest.approx(size, abs=MICROMETRE)
    assert offset.status == ("fail" if size > 0.05 else "pass")
    assert [locator_of(one).what for one in drive.sides] == [
        "register" if one.name in spigots else "pilot" for one in drive.sides
    ]
    if size:
        assert offset.remedy.startswith(f"move the {side}'s spigot and its holes by (")
        assert vector_in(offset.remedy) == pytest.approx([-part for part in turn((*shift, 0.0))], abs=MICROMETRE)


def test_an_opening_without_a_floor_is_no_pilot_to_be_judged(measured):
    # A plain bore of 34 right through, 0.5 mm beside: nothing sits in it, so nothing is out of line by it.
    plain = cq.Workplane("XY").rect(64, 64).extrude(LENGTH).cut(cylinder(0, 0, 0, 38.13, 2.2))
    plain = plain.cut(cylinder(0, 0, 0, 34.0, 40.0)).cut(cylinder(0.5, 0, 30.0, 40.0, LENGTH))
    for (x, y), z, depth in [*((p, 0.0, 9.0) for p in square(47.14)), *((p, LENGTH, -9.0) for p in circle(56.0))]:
        plain = plain.cut(cylinder(x, y, z, 4.2, depth))
    drive, found = checked(measured, plain.val(), job(circle=56.0))
    assert drive.actuator.end.pilot is None
    assert drive.actuator.end.opening.diameter == pytest.approx(40.0)
    pilots = finding(found, "pilot-alignment", "pilots")
    assert pilots.status == "not-checked"
    assert "40 mm at the actuator's seat has no floor" in pilots.message


# Shafts as bodies: the machines are shafts with a collar behind the seat, moved and leant by the test.
def machine(side, shift=(0.0, 0.0), tilt=0.0, about=0.0, diameter=None):
    diameter = diameter or {"motor": 8.0, "actuator": 10.0}[side]
    shaft = cylinder(0, 0, -20.0, diameter, 41.0).union(cylinder(0, 0, -20.0, 30.0, 20.0))
    turned = cq.Vector(math.cos(about), math.sin(about), 0.0)
    shape = shaft.val()
    if side == "actuator":
        shape = shape.rotate(cq.Vector(0, 0, 0), cq.Vector(1, 0, 0), 180.0).translate(cq.Vector(0, 0, LENGTH))
    seat = 0.0 if side == "motor" else LENGTH
    shape = shape.rotate(cq.Vector(0, 0, seat), cq.Vector(0, 0, seat) + turned, tilt)
    return shape.translate(cq.Vector(*shift, 0.0))


def assembly(move, **machines):
    drive = cq.Assembly(name="drive")
    drive.add(move(adapter().val()), name="adapter")
    for side in ("motor", "actuator"):
        if side in machines:
            drive.add(move(machine(side, **machines[side])), name=f"{side} shaft")
    return drive


@pytest.mark.parametrize("side", ["motor", "actuator"])
@pytest.mark.parametrize("size", [0.03, 0.08, 0.5, 1.0, 2.5])
def test_a_shaft_beside_the_other_is_told_to_a_micrometre(measured, side, size):
    rng = random.Random(f"{side}{size}")
    shift = random_shift(rng, size, size)
    move, turn = motion(rng)
    other = "actuator" if side == "motor" else "motor"
    loaded = job(outside=32.0)
    drive, found = checked(measured, assembly(move, **{side: {"shift": shift}, other: {}}), loaded)
    offset = finding(found, "pilot-alignment", "shaft offset")
    assert offset.value == pytest.approx(size, abs=MICROMETRE)
    assert offset.status == ("fail" if size > 0.05 else "pass")
    assert finding(found, "pilot-alignment", "shaft tilt").value == pytest.approx(0.0, abs=1e-6)
    if size > 0.05:
        assert offset.remedy.startswith(f"move the {side} by (")
        assert vector_in(offset.remedy) == pytest.approx([-part for part in turn((*shift, 0.0))], abs=MICROMETRE)
    # The coupling of 32 turns about its own shafts in an opening of 34 and a chamber of 36.
    clearance = finding(found, "radial-clearance", "coupling")
    assert clearance.value == pytest.approx(18.0 - 16.0 - size, abs=MICROMETRE)
    assert clearance.value <= 2.0 - size + MICROMETRE
    assert finding(found, "insertion", "coupling").value == pytest.approx(17.0 - 16.0 - size, abs=MICROMETRE)
    del drive


@pytest.mark.parametrize("side", ["motor", "actuator"])
@pytest.mark.parametrize("tilt", [0.05, 0.5, 1.5, 3.0])
def test_a_leaning_shaft_is_told_where_the_coupling_sits(measured, side, tilt):
    rng = random.Random(f"{side}{tilt}")
    about = rng.uniform(0, 2 * math.pi)
    move, _ = motion(rng)
    other = "actuator" if side == "motor" else "motor"
    drive, found = checked(measured, assembly(move, **{side: {"tilt": tilt, "about": about}, other: {}}), job())
    angle = finding(found, "pilot-alignment", "shaft tilt")
    assert angle.value == pytest.approx(tilt, abs=1e-4)
    assert angle.status == ("fail" if tilt > 0.1 else "pass")
    # It turns about its own seat, so at the coupling's middle it lies so far beside the other one.
    alignment = shaft_alignment(drive)
    away = abs(alignment.station - (0.0 if side == "motor" else LENGTH))
    truth = away * math.tan(math.radians(tilt))
    assert alignment.offset == pytest.approx(truth, abs=MICROMETRE)
    assert finding(found, "pilot-alignment", "shaft offset").status == ("fail" if truth > 0.05 else "pass")


@pytest.mark.parametrize("side", ["motor", "actuator"])
def test_one_shaft_alone_is_held_against_the_other_ends_pilot(measured, side):
    move, _ = motion(random.Random(side))
    found = checked(measured, assembly(move, **{side: {"shift": (0.0, 0.4)}}), job())[1]
    offset = finding(found, "pilot-alignment", "shaft offset")
    assert (offset.status, offset.value) == ("fail", pytest.approx(0.4, abs=MICROMETRE))
    other = "motor" if side == "actuator" else "actuator"
    assert f"the {other}'s pilot" in offset.message
    assert offset.remedy.startswith(f"move the {side} by (")


@pytest.mark.parametrize("seed", range(4))
def test_both_shafts_astray_are_held_against_each_other(measured, seed):
    rng = random.Random(seed)
    one, two = random_shift(rng, 0.1, 1.5), random_shift(rng, 0.1, 1.5)
    move, _ = motion(rng)
    mirrored = seed % 2 == 1

    def placed(shape):
        return move(shape.mirror("XZ") if mirrored else shape)

    found = checked(measured, assembly(placed, motor={"shift": one}, actuator={"shift": two}), job())[1]
    offset = finding(found, "pilot-alignment", "shaft offset")
    assert offset.value == pytest.approx(math.dist(one, two), abs=MICROMETRE)
    clearance = finding(found, "radial-clearance", "coupling").value
    worst = max(math.hypot(*one), math.hypot(*two))
    assert clearance == pytest.approx(18.0 - 16.0 - worst, abs=MICROMETRE)


def test_misalignment_rests_on_the_shafts_as_they_lie(measured):
    from fitcheck.checks.aligned import aligned_of

    loaded = job()
    drive = checked(measured, assembly(lambda shape: shape, motor={"shift": (0.3, 0.4)}, actuator={}), loaded)[0]
    text = JOB.replace("CIRCLE", "50").replace("OUTSIDE", "32").replace("LIMITS", "orbit: 0")
    text = text.replace("motor:\n", "motor:\n  register: {diameter: 38.1, height: 1.6, tolerance: h7}\n", 1)
    text = text.replace("actuator:\n", "actuator:\n  register: {diameter: 36.6, height: 1.6, tolerance: h7}\n", 1)
    loaded = parse_job(text + "drive: {motor: {inertia: 4e-5}}\n", None, ".")
    drive = drive_of(loaded, drive.measurement)
    parts = dict(aligned_of(drive).parallel)
    assert parts["shafts as modelled"] == pytest.approx(0.5, abs=MICROMETRE)
    assert not any(name.startswith("pilots as modelled") for name in parts)
    # What is drawn does not scatter: it adds up with the tolerances' root of squares, and does not vanish in it.
    rest = math.sqrt(sum(size**2 for name, size in parts.items() if name != "shafts as modelled"))
    assert aligned_of(drive).likely.parallel_mm == pytest.approx(0.5 + rest, abs=MICROMETRE)
