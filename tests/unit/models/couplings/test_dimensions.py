"""Defaults that make sense, overrides that are kept, and refusals that name the dimension and the range."""

import json
import math
import subprocess
import sys

import pytest

from fitcheck.errors import UsageError
from fitcheck.job.model import FAMILIES
from parametric_models.couplings import build
from parametric_models.couplings.defaults import default_hub
from parametric_models.couplings.hubs import HubScrew


@pytest.mark.parametrize("family", FAMILIES)
def test_family_outside_diameter_and_bores_are_enough(family):
    coupling = build.coupling(family, outside_diameter=34, bores=(8, 12))
    assert (coupling.motor.bore, coupling.actuator.bore) == (8, 12)
    assert 34 * 0.7 < coupling.length < 34 * 3
    profile = coupling.profile()
    assert (profile.start, profile.end) == pytest.approx((0.0, coupling.length), abs=1e-8)
    # the default screws are flush: nothing sticks out of the outside diameter
    assert profile.largest()[0] == pytest.approx(17.0, abs=1e-9)


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize(
    ("outside", "bores"),
    [(6, (1, 1)), (8, (2, 2)), (12, (2, 2)), (120, (10, 10)), (1000, (10, 10)), (5000, (100, 100))],
)
def test_usual_proportions_can_be_built_from_the_smallest_to_the_largest(family, outside, bores):
    if "disc" in family and outside < 12:
        # Four heads of M1.6, 3 mm wide (ISO 4762), and a bore do not go on the circle.
        with pytest.raises(UsageError, match=r"the heads of M1\.6 screws at least find room around it"):
            build.coupling(family, outside_diameter=outside, bores=bores)
        return
    coupling = build.coupling(family, outside_diameter=outside, bores=bores)
    assert (coupling.motor.bore, coupling.actuator.bore) == bores
    assert coupling.profile().largest()[0] >= outside / 2 - 1e-9


@pytest.mark.parametrize("family", FAMILIES)
def test_given_length_is_kept(family):
    free = build.coupling(family, outside_diameter=34, bores=(8, 12))
    longer = build.coupling(family, outside_diameter=34, bores=(8, 12), length=free.length + 3)
    assert longer.length == pytest.approx(free.length + 3, abs=1e-9)
    with pytest.raises(UsageError, match=r"length 5 cannot be built; at least [\d.]+ works: the hubs alone take"):
        build.coupling(family, outside_diameter=34, bores=(8, 12), length=5)


def test_ends_may_differ():
    coupling = build.coupling(
        "jaw",
        outside_diameter=40,
        bores=(8, 14),
        motor={"fastening": "clamp two-piece", "screw_angle": 30.0},
        actuator={"fastening": "key with set screw", "outside_diameter": 36.0},
    )
    assert [screw.offset for screw in coupling.motor.screws] == [11.2, -11.2]
    assert {screw.angle for screw in coupling.motor.screws} == {30.0}
    assert (coupling.actuator.fastening, coupling.actuator.outside_diameter) == ("key with set screw", 36.0)
    # DIN 6885-1, shaft over 12 to 17 mm: 5 x 5, depth in the hub 2.3 (REFERENCES section 5)
    assert (coupling.actuator.keyway.width, coupling.actuator.keyway.depth) == (5.0, 2.3)


def test_default_clamp_screw_is_clear_of_bore_and_outside_diameter():
    for bore in (6.0, 12.0, 18.0, 24.0):
        hub = default_hub(bore=bore, outside_diameter=34.0)
        screw = hub.screws[0]
        assert screw.offset - screw.thread / 2 > bore / 2
        assert screw.tip < -hub.slit_width / 2 - 0.5 * screw.thread
        assert math.hypot(screw.tip, screw.offset + screw.thread / 2) <= 17.0 + 1e-9


def test_two_set_screws_at_120_degrees():
    hub = default_hub(bore=8, outside_diameter=30, fastening="set screw", screw_count=2, set_screw_spread=120)
    assert [screw.angle for screw in hub.screws] == [0.0, 120.0]
    assert all(screw.tip == pytest.approx(4.0) for screw in hub.screws)


@pytest.mark.parametrize(
    ("family", "dimensions", "message"),
    [
        ("jaw", {"bores": (8, 40)}, r"actuator hub: bore 40 cannot be built; 0\.1 to [\d.]+ works: a clamp screw"),
        ("disc", {"bores": (8, 28)}, r"disc coupling: bore 28 cannot be built; 0\.1 to [\d.]+ works: the heads"),
        ("jaw", {"bores": (8, 32), "fastening": "set screw"}, r"bore 32 cannot be built; 0\.1 to [\d.]+ works"),
        ("jaw", {"bores": (5, 8), "fastening": "key with clamp"}, r"motor hub: bore 5 has no parallel key.*over 6 to"),
        ("jaw", {"bores": (8, 12), "jaw_turn": 70}, r"jaw_turn 70 cannot be built; 1 to 59 works"),
        ("bellows", {"bores": (8, 12), "wall": 3}, r"wall 3 cannot be built; 0\.02 to [\d.]+ works"),
        ("oldham", {"bores": (8, 12), "slot_depth": 8}, r"slot_depth 8 cannot be built; 0\.1 to [\d.]+ works"),
        ("slit", {"bores": (8, 12), "cut": "zigzag"}, r"cut 'zigzag' is unknown; there are: parallel, helical"),
        ("slit", {"bores": (8, 12), "bridge": 14}, r"bridge 14 cannot be built; 0\.3 to 10\.8 works"),
        ("universal joint", {"bores": (8, 12), "arm_width": 20}, r"arm_width 20 cannot be built; [\d.]+ to 17 works"),
        ("double disc", {"bores": (8, 12), "spacer_length": 1}, r"spacer_length 1 cannot be built; at least"),
        ("rigid", {"bores": (8, 12), "legnth": 40}, r"no dimension is called legnth; it has: actuator, .*length"),
        ("jaw", {"bores": (8, 12), "motor": {"screw_offset": 3}}, r"screws\[0\]\.offset 3 cannot be built; 6 to"),
        ("jaw", {"bores": (8, 12), "motor": {"fastening": "glue"}}, r"fastening 'glue' is unknown; there are: clamp"),
        ("gear", {"bores": (8, 12)}, r"coupling family 'gear' is unknown; there are: rigid, slit"),
    ],
)  # fmt: skip
def test_what_cannot_be_built_is_refused_by_name_and_range(family, dimensions, message):
    with pytest.raises(UsageError, match=message):
        build.coupling(family, outside_diameter=34, **dimensions)


def test_a_bore_at_the_limit_that_a_refusal_names_works():
    with pytest.raises(UsageError) as refused:
        build.coupling("rigid", outside_diameter=34, bores=(8, 33))
    most = float(str(refused.value).split(" to ")[1].split(" ")[0])
    build.coupling("rigid", outside_diameter=34, bores=(8, most))
    with pytest.raises(UsageError, match="bore"):
        build.coupling("rigid", outside_diameter=34, bores=(8, most + 0.05))


def test_one_piece_clamp_has_one_slit():
    screws = tuple(
        HubScrew(size="M4", kind="cap screw", station=7, offset=side * 9.5, head_end=10.5, length=16)
        for side in (1, -1)
    )
    with pytest.raises(UsageError, match=r"the clamp screws lie on 2 sides of the bore"):
        default_hub(bore=8, outside_diameter=34, screws=screws)
    default_hub(bore=8, outside_diameter=34, fastening="clamp two-piece", screws=screws)


def test_plain_data_loads_no_kernel():
    code = (
        "import sys, json\n"
        "from parametric_models.couplings import build, from_job\n"
        "p = build.coupling('double disc', outside_diameter=34, bores=(8, 12)).profile()\n"
        "json.dumps(p.as_dict()); p.outline()\n"
        "print(json.dumps([m for m in ('OCP', 'cadquery') if m in sys.modules]))\n"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert json.loads(run.stdout) == []
