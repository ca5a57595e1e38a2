"""Couplings from a job's numbers, and their profile against the swept radius that the checks use."""

from math import pi

import pytest

from fitcheck.checks.swept import swept_of
from fitcheck.errors import UsageError
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


def test_profile_agrees_with_the_checks_between_the_hubs_too():
    # An element of 18 mm, and the head of an M4 flange screw that stands 5 mm out of its hub beside it.
    flange = model.Screw(size="M4", station=19.0, offset=13.0, direction="to other hub")
    hub = model.Hub(bore=8, bore_length=14.0, screws=(flange,))
    job = asked("double disc", element_diameter=18.0, hubs=model.Hubs(motor=hub, actuator=hub))
    profile, swept = profile_of_job(job), swept_of(job, 0.0)
    for step in range(481):
        assert profile.radius(step / 10) == pytest.approx(swept.most(step / 10, step / 10), abs=1e-9), step
    assert profile.radius(16.0) == pytest.approx(13.0 + 7.22 / 2)
    assert profile.radius(24.0) == pytest.approx(9.0)


@pytest.mark.parametrize(
    ("family", "name"),
    [("oldham", "disc_diameter"), ("jaw", "spider_diameter"), ("bellows", "crown_diameter"),
     ("double disc", "spacer_diameter")],
)  # fmt: skip
def test_the_element_is_built_as_wide_as_the_job_says(family, name):
    coupling = coupling_of_job(asked(family, length=66, element_diameter=29.0))
    assert getattr(coupling, name) == 29.0
    # One that is as wide as the coupling needs no telling, and one of a piece cannot have another.
    assert coupling_of_job(asked("slit", length=66, element_diameter=34.0)).length == pytest.approx(66.0)
    with pytest.raises(UsageError, match="slit coupling: it has no element of its own"):
        coupling_of_job(asked("slit", length=66, element_diameter=29.0))


def test_a_narrow_spacer_is_its_flanges_and_a_tube_between():
    # What is turned off is a ring over the length between the flanges, that hold threads 3 mm deep and a wall.
    wide, narrow = (build.coupling("double disc", outside_diameter=34.0, bores=(8, 10), length=70.0, **given)
                    for given in ({}, {"spacer_diameter": 18.0}))  # fmt: skip
    low, high = narrow.waist
    assert wide.waist is None
    assert high - low < narrow.spacer_length - 2.0 * narrow.thread_depth
    volumes = [next(body.shape for body in made.bodies() if body.name == "spacer").Volume() for made in (wide, narrow)]
    assert volumes[0] - volumes[1] == pytest.approx(pi / 4.0 * (34.0**2 - 18.0**2) * (high - low), rel=1e-6)
    assert narrow.profile().radius(0.5 * (low + high)) == pytest.approx(9.0)
    with pytest.raises(UsageError, match="spacer_length 5 cannot be built"):
        build.coupling("double disc", outside_diameter=34.0, bores=(8, 10), spacer_length=5.0, spacer_diameter=18.0)


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
