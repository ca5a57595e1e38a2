"""A machine that is not in the file: its body is as large as the job or its frame says, else an endless plane."""

from math import sqrt

import pytest

from fitcheck.checks import wrench_access
from fitcheck.checks.own_parts import rounds
from fitcheck.job.load import parse_job


def motor_bodies(build, **motor):
    drive = build.drive(build.job(motor={"shaft": build.jobs.Shaft(diameter=8.0, length=24.0), **motor}))
    found = rounds(drive, drive.placed, "motor")
    return [(r.start, r.stop, r.radius) for r in found if r.what.startswith("the motor's seat")]


def flange(build, **given):
    return {"flange": build.jobs.Flange(**given)}


@pytest.mark.parametrize(
    ("given", "radius", "start"),
    [
        ({"size": 56.4}, 56.4 / sqrt(2.0), -1e6),
        ({"size": 60.0, "shape": "round"}, 30.0, -1e6),
        ({"size": 42.3, "length": 40.0}, 42.3 / sqrt(2.0), -40.0),
    ],
)
def test_the_job_tells_the_body(build, given, radius, start):
    # The corner of a square lies half its diagonal off the axis, however it is turned.
    assert motor_bodies(build, **flange(build, **given)) == [(start, 0.0, pytest.approx(radius))]


def test_the_frames_outside_counts_and_the_job_before_it(build):
    # NEMA ICS 16: a NEMA 23 motor is 57.2 mm square (the widest of the sources that the table names; read from it).
    from fitcheck.standards.frames import frame

    outside = frame("NEMA 23").outside
    assert 56.0 <= outside <= 57.5
    assert motor_bodies(build, frame="NEMA 23")[0][2] == pytest.approx(outside / sqrt(2.0))
    assert motor_bodies(build, frame="NEMA 23", **flange(build, size=70.0))[0][2] == pytest.approx(70.0 / sqrt(2.0))


def test_without_either_it_is_endless_and_a_fail_by_it_says_so(build):
    assert motor_bodies(build)[0][2] == 1e6
    # An open bracket; a hex driver's handle of 30 mm at the screw 6 mm off the motor's plane comes too near to it.
    screw = {"screws": (build.screw(station=3.0),)}
    require = {"tools": ("hex driver",)}
    place = {"motor_hub_face": 4.0}

    def judged(**motor):
        shaft = {"shaft": build.jobs.Shaft(diameter=8.0, length=24.0)}
        loaded = build.job(motor_hub=screw, motor={**shaft, **motor}, place=place, require=require)
        drive = build.drive(loaded, build.measurement(build.obstacles()))
        return build.one([f for f in wrench_access.check(drive) if f.subject == "motor hub screw 1"])

    endless = judged()
    assert endless.status == "fail"
    assert "(taken as endless: give motor.flange or frame) is in the way" in endless.message
    # The handle begins 75 mm out less the socket's depth: beyond a flange of 80 mm, whose half is 40.
    assert judged(**flange(build, size=80.0, shape="round")).status == "pass"
    # One of 200 mm reaches under the handle, unless it is set back behind... its seat is where it begins.
    assert judged(**flange(build, size=200.0, shape="round")).status == "fail"


def test_it_is_read_from_the_job_file():
    text = (
        "step: a.step\nmotor:\n  flange: {size: 2.25 in, shape: round, length: 76}\ncoupling:\n  family: jaw\n"
        "  outside_diameter: 30\n  length: 40\n  hubs:\n    motor: {bore: 8, bore_length: 12}\n"
        "    actuator: {bore: 8, bore_length: 12}\n"
    )
    found = parse_job(text, None, "").job.motor.flange
    assert (found.size, found.shape, found.length) == (pytest.approx(57.15), "round", 76.0)
