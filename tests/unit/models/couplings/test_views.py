"""Every family: sound solids, the right number of them, bores where they belong, and contained in the envelope."""

import itertools
import math

import pytest
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st

from fitcheck.errors import UsageError
from fitcheck.job.model import FAMILIES, FASTENINGS
from parametric_models.couplings import build
from parametric_models.couplings.base import ELASTOMER_COLOUR

PARTS = {
    "rigid": 1, "slit": 1, "double slit": 1, "oldham": 3, "jaw": 3, "bellows": 3, "disc": 2 + 1 + 8,
    "double disc": 2 + 2 * (1 + 8) + 1, "universal joint": 3, "double universal joint": 5,
}  # fmt: skip
"""Bodies without hub screws and caps, at 34 mm: a pack of discs has 4 screws and 4 washers."""


def bodies_expected(family, fastening):
    parts = PARTS[family]
    if fastening == "clamp two-piece":
        # a rigid sleeve falls into two halves; elsewhere each hub gets a cap; two screws a hub
        return parts + (1 if family == "rigid" else 2) + 4
    return parts + 2


def check(coupling, bodies, excess, axial_cylinders):
    profile = coupling.profile()
    for body in bodies:
        assert body.shape.isValid(), (body.group, body.name)
        assert body.shape.ShapeType() == "Solid"
        assert body.shape.Volume() > 0
    over, most = excess(bodies, profile)
    assert over < 1e-6
    # touches: some point lies on the widest place; edges are sampled, so a round edge is missed by a little
    assert most == pytest.approx(profile.largest()[0], abs=0.02)
    for hub, seat in zip((coupling.motor, coupling.actuator), coupling.seats, strict=True):
        low, high = seat.span(0.0, hub.bore_length)
        stations = [
            (start, end)
            for body in bodies
            for radius, start, end in axial_cylinders(body.shape)
            if abs(radius - hub.bore / 2) < 1e-9 and start >= low - 1e-6 and end <= high + 1e-6
        ]
        assert min(start for start, _ in stations) == pytest.approx(low, abs=1e-6)
        assert max(end for _, end in stations) == pytest.approx(high, abs=1e-6)


@pytest.mark.parametrize(
    ("family", "fastening"),
    [(family, FASTENINGS[(index + shift) % 5]) for index, family in enumerate(FAMILIES) for shift in (0, 2)]
    + [("rigid", "clamp two-piece"), ("slit", "clamp two-piece")],
)
def test_views_of_a_default_coupling(family, fastening, excess, axial_cylinders):
    coupling = build.coupling(family, outside_diameter=34, bores=(8, 12), fastening=fastening)
    bodies = build.detailed(coupling)
    assert len(bodies) == bodies_expected(family, fastening)
    check(coupling, bodies, excess, axial_cylinders)
    envelope = build.envelope(coupling)
    assert envelope.isValid()
    assert len(envelope.Solids()) == 1


dimensions = st.fixed_dictionaries(
    {
        "family": st.sampled_from(FAMILIES),
        "outside_diameter": st.floats(15, 90),
        "shares": st.tuples(st.floats(0.2, 0.42), st.floats(0.2, 0.42)),
        "motor": st.sampled_from(FASTENINGS),
        "actuator": st.sampled_from(FASTENINGS),
        "angles": st.tuples(st.floats(0, 359), st.floats(0, 359)),
        "stick_out": st.floats(0, 0.06),
    }
)


@given(dimensions)
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
def test_views_over_random_dimensions(excess, axial_cylinders, case):
    diameter = case["outside_diameter"]
    bores = [max(3.0, share * diameter) for share in case["shares"]]
    ends = {}
    for name, bore, angle in zip(("motor", "actuator"), bores, case["angles"], strict=True):
        fastening = case[name]
        if fastening.startswith("key") and bore <= 6.0:
            fastening = "clamp"
        ends[name] = {"fastening": fastening, "screw_angle": angle}
    try:
        coupling = build.coupling(case["family"], outside_diameter=diameter, bores=tuple(bores), **ends)
        for name in ("motor", "actuator"):
            head_end = getattr(coupling, name).screws[0].head_end + case["stick_out"] * diameter
            if getattr(coupling, name).clamps:
                ends[name]["screw_head_end"] = head_end
        coupling = build.coupling(case["family"], outside_diameter=diameter, bores=tuple(bores), **ends)
    except UsageError:
        # what refusals say is tested with the dimensions; only what is not refused must come out sound
        reject()
    check(coupling, build.detailed(coupling), excess, axial_cylinders)


def test_protruding_heads_are_in_the_envelope_by_the_kernels_own_boolean(excess):
    coupling = build.coupling(
        "rigid", outside_diameter=34, bores=(8, 12), motor={"screw_head_end": 15.0}, actuator={"screw_angle": 200.0}
    )
    bodies = build.detailed(coupling)
    envelope = build.envelope(coupling, tolerance=0.005)
    # by hand: ISO 4762 M4 head 7.22 across (REFERENCES 1.1), offset 9.5, end 15
    assert coupling.profile().largest()[0] == pytest.approx(math.hypot(15.0, 9.5 + 3.61), abs=1e-9)
    box = envelope.BoundingBox(1e-4)
    assert box.xmax == pytest.approx(math.hypot(15.0, 13.11), abs=1e-3)
    for body in bodies:
        assert body.shape.cut(envelope).Volume() < 1e-4
        turned = body.shape.rotate((0, 0, 0), (0, 0, 1), 77.0)
        assert turned.cut(envelope).Volume() < 1e-4
    assert excess(bodies, coupling.profile())[0] < 1e-6


@pytest.mark.parametrize("family", ["oldham", "jaw", "bellows", "universal joint"])
def test_bodies_do_not_cut_into_each_other(family):
    bodies = build.detailed(build.coupling(family, outside_diameter=34, bores=(8, 12)))
    for first, second in itertools.combinations(bodies, 2):
        assert first.shape.intersect(second.shape).Volume() < 1e-6, (first.name, second.name)


def test_disc_screws_do_not_cut_into_packs_hubs_and_spacer():
    bodies = build.detailed(build.coupling("double disc", outside_diameter=34, bores=(8, 12), fixing="rivet"))
    large = [body for body in bodies if body.name in ("hub", "spacer", "discs")]
    small = [body for body in bodies if body.name.startswith(("rivet", "washer"))]
    assert (len(large), len(small)) == (5, 16)
    for one in large:
        for other in small[:8]:
            assert one.shape.intersect(other.shape).Volume() < 1e-6, (one.name, other.name)


def test_assembly_has_the_product_structure():
    root = build.assembly(build.coupling("jaw", outside_diameter=34, bores=(8, 12)), name="z coupling")
    assert root.name == "z coupling"
    assert sorted(child.name for child in root.children) == ["actuator hub", "motor hub", "spider"]
    hub = next(child for child in root.children if child.name == "motor hub")
    assert [child.name for child in hub.children] == ["motor hub hub", "motor hub cap screw 1"]
    spider = next(child for child in root.children if child.name == "spider")
    assert spider.color.toTuple()[:3] == pytest.approx(ELASTOMER_COLOUR, abs=1e-6)
