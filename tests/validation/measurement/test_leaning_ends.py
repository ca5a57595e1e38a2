"""Ends that lean against the drive axis: found, measured on their own axis, and told. Lengths mm, angles degrees."""

from __future__ import annotations

from dataclasses import replace
from math import cos, hypot, radians, sin, tan

import cadquery as cq
import pytest

from fitcheck.checks.run import run_checks
from fitcheck.job.load import load_job
from fitcheck.measurement.roles import orient
from parametric_models.adapters import Holes
from parametric_models.machines import MachineBody, ShaftEnd, actuator

V = cq.Vector
JOB = """
step: part.step
motor: {shaft: {diameter: 8, length: 21}}
actuator: {shaft: {diameter: 10, length: 20}}
coupling:
  family: jaw
  outside_diameter: 24
  length: 30
  hubs:
    motor: {bore: 8, bore_length: 12}
    actuator: {bore: 10, bore_length: 12}
"""


def leaned(warnings):
    return [float(w.split(" leans by ")[1].split()[0]) for w in warnings if " leans by " in w]


@pytest.mark.parametrize("tilt", [0.2, 1.4, 1.6, 3.0, 5.0])
@pytest.mark.parametrize("offset", [(0.0, 0.0), (0.12, -0.09)])
def test_a_whole_end(measured, bench, tilt, offset):
    found = measured(bench.housing(actuator_tilt=tilt, tilt_direction=30.0, actuator_offset=offset))
    first, second = found.ends
    assert (first.seat, first.lean, first.pilot.diameter) == pytest.approx((0.0, 0.0, 38.1), abs=1e-6)
    # It turns about its seat's centre, which lies beside the drive axis by the offset: where that axis meets the seat,
    # the seat has risen by the offset's part across the line of turning, times the tangent.
    rise = (offset[0] * sin(radians(30.0)) - offset[1] * cos(radians(30.0))) * tan(radians(tilt))
    assert abs(second.seat - 60.0) == pytest.approx(abs(rise), abs=1e-6)
    assert second.lean == pytest.approx(tilt, abs=1e-6)
    assert found.coaxiality.tilt == pytest.approx(tilt, abs=1e-6)
    assert found.coaxiality.offset == pytest.approx(hypot(*offset), abs=0.02 * tilt * hypot(*offset) + 1e-6)
    # The pilot is 3.5 deep along its own axis; along the drive axis 3.5 over the cosine.
    assert second.pilot.diameter == pytest.approx(34.0, abs=1e-6)
    assert second.pilot.depth == pytest.approx(3.5, rel=2.0 * (1.0 - cos(radians(tilt))) + 1e-6)
    assert [(p.layout, p.count) for p in second.bolts] == [("circle", 6)]
    assert second.bolts[0].size[0] == pytest.approx(46.0, abs=1e-6)
    assert leaned(found.warnings) == pytest.approx([tilt], abs=1e-3)


@pytest.mark.parametrize("tilt", [0.5, 2.0, 4.0])
def test_the_bores_alone(measured, bench, tilt):
    found = measured(bench.housing(actuator_tilt=tilt, tilted_seat=False))
    second = found.ends[1]
    assert (second.seat, second.lean) == pytest.approx((60.0, 0.0), abs=1e-6)
    assert second.pilot.diameter == pytest.approx(34.0, abs=1e-6)
    assert found.coaxiality.tilt == pytest.approx(tilt, abs=1e-6)
    assert leaned(found.warnings) == []


@pytest.mark.parametrize("tilt", [0.5, 2.0, 4.0])
def test_the_face_alone(measured, bench, tilt):
    # A plane through (0, 0, 59) of a housing 63 long whose pilot is bored 9 deep: 5 are left.
    over = cq.Solid.makeBox(300, 300, 60, V(-150, -150, 0)).rotate(V(), V(1, 0, 0), tilt).translate(V(0, 0, 59))
    part = bench.without(over, length=63.0, actuator=replace(bench.actuator, pilot_depth=9.0))
    found = measured(part)
    second = found.ends[1]
    assert (second.seat, second.lean) == pytest.approx((59.0, tilt), abs=1e-6)
    assert (second.pilot.diameter, second.pilot.depth) == pytest.approx((34.0, 5.0), abs=1e-6)
    assert (found.coaxiality.offset, found.coaxiality.tilt) == pytest.approx((0.0, 0.0), abs=1e-6)


def test_the_actuator_on_it_is_measured(measured, bench):
    body = MachineBody(
        flange_size=(58.0, 58.0), flange_thickness=10.0, body_size=(58.0, 40.0), body_length=140.0,
        register_diameter=33.9, register_height=2.0,
        holes=(Holes(layout="circle", size=(46.0,), diameter=3.5, count=6),),
        shaft=ShaftEnd(diameter=10.0, length=20.0),
    )  # fmt: skip
    tilt = 3.0
    bodies = {"adapter": bench.housing(actuator_tilt=tilt), "actuator": actuator(body, 60.0, tilt=tilt)}
    found = measured(bench.assembly(bodies))
    end = found.ends[1]
    assert (end.role, end.shaft.diameter) == ("actuator", pytest.approx(10.0, abs=1e-6))
    assert end.shaft.tilt == pytest.approx(tilt, abs=1e-3)
    # The end's rim reaches farther by its radius times the sine.
    assert end.shaft.end == pytest.approx(60.0 - 20.0 * cos(radians(tilt)) - 5.0 * sin(radians(tilt)), abs=0.3)


def test_lines_that_lean_more_are_no_ends_of_one_drive(measured, bench):
    part = bench.without(
        cq.Solid.makeBox(300, 300, 60, V(-150, -150, 0)).rotate(V(), V(1, 0, 0), 12.0).translate(V(0, 0, 50)),
        length=70.0,
    )
    found = measured(part)
    assert len(found.ends) == 1


@pytest.mark.parametrize(("tilt", "whole"), [(3.0, True), (3.0, False), (0.01, True)])
def test_the_lean_fails_the_alignment(measured, bench, tmp_path, tilt, whole):
    if whole:
        part, subject = bench.housing(actuator_tilt=tilt), "tilt"
    else:
        over = cq.Solid.makeBox(300, 300, 60, V(-150, -150, 0)).rotate(V(), V(1, 0, 0), tilt).translate(V(0, 0, 59))
        part, subject = bench.without(over, length=63.0), "actuator seat"
    path = tmp_path / "a.fit.yaml"
    path.write_text(JOB)
    (tmp_path / "part.step").write_text("")
    loaded = load_job(str(path))
    job = loaded.job
    findings = [f for f in run_checks(loaded, orient(measured(part), job)) if f.check == "pilot-alignment"]
    failed = [f.subject for f in findings if f.status == "fail"]
    assert failed == ([subject] if tilt > job.require.angular_misalignment else [])
    if failed:
        (finding,) = (f for f in findings if f.subject == subject)
        assert finding.value == pytest.approx(tilt, abs=1e-3)
