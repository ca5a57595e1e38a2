"""A coupling in the STEP file: swept radius, ends and bores against the generator's exact profile."""

from dataclasses import replace
from itertools import pairwise

import cadquery as cq
import numpy as np
import pytest

from fitcheck.job.model import FAMILIES
from fitcheck.measurement.measure import measure_file
from fitcheck.measurement.options import MeasureOptions
from fitcheck.measurement.roles import flipped
from fitcheck.measurement.store import from_bytes, to_bytes
from fitcheck.measurement.sweep import upper_border
from fitcheck.report.measure_text import measure_text
from parametric_models.adapters import Holes, Housing, Seat, housing
from parametric_models.couplings import build
from parametric_models.faces import as_bsplines, write_step

START = 9.0
MOTOR = Seat(
    pilot_diameter=38.13, pilot_depth=2.2, opening_diameter=34.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.2, depth=14.0),),
)  # fmt: skip
ACTUATOR = replace(MOTOR, pilot_diameter=36.03, holes=(Holes(layout="circle", size=(50.0,), diameter=3.3, depth=8.0),))
ADAPTER = Housing(length=95.0, size=60.0, chamber_diameter=44.0, motor=MOTOR, actuator=ACTUATOR)


def radius_at(rows, station):
    found = [
        max(r0, r1) if s1 == s0 else r0 + (r1 - r0) * (station - s0) / (s1 - s0)
        for (s0, r0), (s1, r1) in pairwise(rows)
        if s0 <= station <= s1
    ]
    return max(found, default=0.0)


def measured(tmp_path, kernel, coupling, change=lambda shape: shape, start=START, name="coupling", options=None):
    bodies = [replace(body, shape=change(body.shape)) for body in build.detailed(coupling)]
    drive = cq.Assembly(name="drive")
    drive.add(housing(ADAPTER), name="adapter")
    drive.add(build.assembled(bodies, name), loc=cq.Location(cq.Vector(0, 0, start)))
    write_step(tmp_path / "drive.step", drive)
    found = measure_file(str(tmp_path / "drive.step"), options, kernel)
    assert found.drive_axis is not None
    assert found.drive_axis.direction[2] == pytest.approx(1.0)
    return found


def check_profile(found, coupling, start=START, error=0.002):
    """The profile is exact on paper; where it is steep a step aside of 0.5 µm shows as more."""
    profile, rows = coupling.profile(), found.profile
    assert (found.start, found.stop) == pytest.approx((start, start + coupling.length), abs=1e-6)
    assert found.length == pytest.approx(coupling.length, abs=1e-6)
    largest = profile.largest()[0]
    assert largest - 1e-9 <= found.radius <= largest + 0.001
    for z in np.linspace(0.0, coupling.length, 700)[1:-1]:
        at, near = profile.radius(z), [profile.radius(z + step) for step in (-0.001, 0.001)]
        assert at - 1e-6 <= radius_at(rows, start + z) <= max(at, *near) + error


@pytest.mark.parametrize("family", FAMILIES)
def test_each_family_is_measured_as_it_was_built(tmp_path, kernel, family):
    heads = {"motor": {"screw_head_end": 15.0}} if family in ("rigid", "jaw", "double slit") else {}
    coupling = build.coupling(family, outside_diameter=30.0, bores=(8.0, 10.0), **heads)
    found = measured(tmp_path, kernel, coupling)
    assert {body.role for body in found.bodies if body.name.startswith("coupling")} == {"coupling"}
    assert found.coupling is not None
    check_profile(found.coupling, coupling)
    assert found.coupling.outside_diameter == pytest.approx(30.0, abs=1e-6)
    motor, actuator = found.coupling.bores
    assert (motor.diameter, actuator.diameter) == pytest.approx((8.0, 10.0), abs=1e-6)
    ends = START + coupling.length - coupling.actuator.bore_length, START + coupling.length
    assert (motor.start, motor.stop) == pytest.approx((START, START + coupling.motor.bore_length), abs=1e-6)
    assert (actuator.start, actuator.stop) == pytest.approx(ends, abs=1e-6)
    # a coupling is no obstacle: the chamber alone is
    assert found.free_radius.least == pytest.approx(17.0, abs=1e-6)


def test_written_as_bsplines_it_measures_the_same_within_5_um(tmp_path, kernel):
    coupling = build.coupling("slit", outside_diameter=30.0, bores=(8.0, 8.0))
    found = measured(tmp_path, kernel, coupling, change=as_bsplines)
    check_profile(found.coupling, coupling, error=0.005)
    assert [bore.diameter for bore in found.coupling.bores] == pytest.approx([8.0, 8.0], abs=0.005)


def test_a_pattern_of_the_job_tells_the_coupling_too(tmp_path, kernel):
    coupling = build.coupling("rigid", outside_diameter=20.0, bores=(6.0, 6.0))
    options = MeasureOptions(coupling=("bush*",))
    found = measured(tmp_path, kernel, coupling, name="bush", options=options)
    check_profile(found.coupling, coupling)
    # one bore right through is halved between the hubs
    middle = START + coupling.length / 2
    assert [(b.start, b.stop) for b in found.coupling.bores] == [
        (pytest.approx(START), pytest.approx(middle)), (pytest.approx(middle), pytest.approx(START + coupling.length)),
    ]  # fmt: skip


def test_without_a_coupling_there_is_none(tmp_path, kernel):
    write_step(tmp_path / "adapter.step", housing(ADAPTER))
    assert measure_file(str(tmp_path / "adapter.step"), None, kernel).coupling is None


def test_turned_round_and_stored_it_stays_the_same_coupling(tmp_path, kernel):
    coupling = build.coupling("rigid", outside_diameter=30.0, bores=(8.0, 10.0), motor={"screw_head_end": 15.0})
    found = measured(tmp_path, kernel, coupling)
    seat = found.ends[1].seat
    turned = flipped(found, seat).coupling
    assert [bore.diameter for bore in turned.bores] == pytest.approx([10.0, 8.0])
    assert (turned.start, turned.stop) == (seat - found.coupling.stop, seat - found.coupling.start)
    for station in np.linspace(turned.start, turned.stop, 100):
        same = radius_at(found.coupling.profile, seat - station)
        assert radius_at(turned.profile, station) == pytest.approx(same, abs=1e-6)
    assert from_bytes(to_bytes(found), obstacles=False).coupling == found.coupling
    text = measure_text(found)
    assert "Coupling in the file" in text
    assert "Bore:          8 from 9 to 21" in text
    assert found.to_dict()["coupling"]["length"] == pytest.approx(coupling.length)


def test_the_upper_border_of_lines_against_all_of_them_at_random_stations():
    random = np.random.default_rng(7)
    low = random.uniform(0.0, 10.0, 60)
    high = low + random.uniform(0.0, 5.0, 60) * (random.random(60) > 0.2)
    pieces = np.column_stack([low, random.uniform(1.0, 9.0, 60), high, random.uniform(1.0, 9.0, 60)])
    level = high == low
    pieces[level, 3] = pieces[level, 1]
    rows = upper_border(pieces)
    for s0, r0, s1, r1 in pieces:
        for part in (0.0, 0.3, 1.0):
            assert radius_at(rows, s0 + part * (s1 - s0)) >= r0 + part * (r1 - r0) - 1e-6
    for station in random.uniform(rows[0][0], rows[-1][0], 400):
        over = [
            r0 + (r1 - r0) * (station - s0) / (s1 - s0) for s0, r0, s1, r1 in pieces if s0 < station < s1
        ]  # fmt: skip
        assert radius_at(rows, station) <= max(over, default=0.0) + 0.001
