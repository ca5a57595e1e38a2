"""Couplings from a job's numbers, and their profile against the swept radius that the checks use."""

import pytest

from fitcheck.checks.swept import swept_of
from fitcheck.job import model
from parametric_models.couplings import build
from parametric_models.couplings.from_job import coupling_of_job, profile_of_job


def asked(family="jaw", head_end=12.5, **changes):
    screw = model.Screw(size="M4", station=7.0, offset=-9.0, angle=35.0, head_end=head_end)
    radial = model.Screw(size="M4", kind="set screw", station=6)
    hubs = model.Hubs(
        motor=model.Hub(bore=8, bore_length=14.0, screws=(screw,)),
        actuator=model.Hub(bore=12, bore_length=14.0, fastening="set screw", screws=(radial,)),
    )
    return model.Coupling(**({"family": family, "outside_diameter": 34, "length": 48, "hubs": hubs} | changes))


def test_profile_agrees_with_the_checks():
    job = asked()
    profile, swept = profile_of_job(job), swept_of(job, 0.0)
    for step in range(481):
        station = step / 10
        # the checks keep only heads that stick out, the profile all; both see the same greatest radius
        assert profile.radius(station) == pytest.approx(swept.most(station, station), abs=1e-9)
    assert profile.largest()[0] == pytest.approx(((9.0 + 3.61) ** 2 + 12.5**2) ** 0.5, abs=1e-9)


@pytest.mark.parametrize("family", ["jaw", "slit", "oldham", "bellows", "double disc", "universal joint"])
def test_whole_coupling_keeps_the_jobs_numbers_and_stays_within_its_profile(family, excess):
    job = asked(family, length=56)
    coupling = coupling_of_job(job)
    assert coupling.length == pytest.approx(56.0)
    assert coupling.motor.screws[0].head_end == 12.5
    assert coupling.motor.bore_length == 14.0
    rough = profile_of_job(job)
    fine = coupling.profile()
    for step in range(561):
        assert fine.radius(step / 10) <= rough.radius(step / 10) + 1e-9
    if family == "jaw":
        assert excess(build.detailed(coupling), rough)[0] < 1e-6
