"""Keyed hubs of a job by hand: DIN 6885 sections, hub materials, shafts at flat and keyseat, key with clamp."""

import re
from math import pi

import pytest

from fitcheck.mechanics.shafts import keyseat_torsion_share

KEYED = [
    ("    shaft: {diameter: 8, tolerance: h6, length: 21}".replace("    ", "  ", 1),
     "  shaft: {diameter: 14, tolerance: h6, length: 21, keyseat: {width: 5, depth: 3, length: 14}}"),
    ("bore: 8", "bore: 14"),
]  # fmt: skip
HINGE = "      holding: {hinge: 13.5}\n"
CLAMP = '{size: M3, station: 5, offset: 9, property_class: "12.9", tightening_torque: 1.8}'
SET = "{size: M4, kind: set screw, station: 5}"
WORST, LENGTH = 1.8, 14 - 2 - 5  # N·m; the bore of 13 begins 9 from the seat, the keyseat at the shaft's end (21)


def keyed(build, holding, *changes, fastening="key with set screw"):
    """The demo with a key of 5 x 5 in a motor shaft of 14 mm, 2 x of its holding replaced."""
    text = build.text
    for old, new in KEYED:
        text = text.replace(old, new)
    cut = text.index(HINGE)
    text = text[:cut] + f"      fastening: {fastening}\n      holding: {holding}\n" + text[cut + len(HINGE) :]
    text = text.replace(CLAMP, SET, 1) if fastening == "key with set screw" else text
    return build.work(build.job(*changes, text=text))


@pytest.mark.parametrize(("material", "pressure"), [("steel", 100), ("cast iron", 70), ("aluminium", 40)])
def test_key_of_din_6885_in_three_hub_materials(build, material, pressure):
    found = keyed(build, f"{{material: {material}, key: {{length: 12}}}}")
    # Force at 7 mm; 12 long with round ends of 5: 7 carry. Shear 5 x 7, hub 5 - 3 = 2 high, shaft 3 high.
    force = WORST / 0.007
    assert found["key-stress", "motor key shear"].value == pytest.approx(force / (5 * 7))
    assert found["key-stress", "motor key in the hub"].value == pytest.approx(force / (2 * 7))
    assert found["key-stress", "motor key in the hub"].limit == pressure
    assert found["key-stress", "motor key in the shaft"].value == pytest.approx(force / (3 * 7))
    # What the hub carries: the least of hub 2 x 7, shaft 3 x 7 at 100 and shear 5 x 7 at 60 MPa.
    carried = min(pressure * 14, 100 * 21, 60 * 35) * 0.007
    assert found["hub-grip", "motor hub"].value == pytest.approx(carried)
    assert "carries" in found["hub-grip", "motor hub"].message


def test_key_length_from_keyseat_and_bore(build):
    # The hub begins at 9, its bore ends at 22; the keyseat reaches from the end (21) to 7: 12 in the bore.
    found = keyed(build, "{material: steel}")
    assert "7 mm of it carrying" in found["key-stress", "motor key shear"].message
    straight = keyed(build, "{material: steel, key: {ends: straight}}")
    assert "12 mm of it carrying" in straight["key-stress", "motor key shear"].message
    two = keyed(build, "{material: steel, key: {count: 2}}")
    one = found["key-stress", "motor key shear"].value
    assert two["key-stress", "motor key shear"].value == pytest.approx(one / 1.5)


def test_shaft_at_its_keyseat_for_the_rare_torque_and_the_frequent_one(build):
    found = keyed(build, "{material: steel}")["key-stress", "motor shaft"]
    plain = 16 * WORST / (pi * 14**3) * 1000  # MPa; the worst torque comes seldom: nominal stress of what is left
    left = plain / keyseat_torsion_share(14, 5, 3)
    assert found.value == pytest.approx(left)
    assert "in the section that its keyseat leaves" in found.message
    # The cycle's torque comes again and again: three times the nominal stress at the corner; here a quick heavy load.
    heavy = keyed(build, "{material: steel}", ("moving_mass: 6", "moving_mass: 150"))
    peak, worst = heavy["torque", "peak"].value, heavy["torque", "blocked carriage"].value
    assert heavy["key-stress", "motor shaft"].value == pytest.approx(
        max(3 * 16 * peak / (pi * 14**3) * 1000, 16 * worst / (pi * 14**3) * 1000 / keyseat_torsion_share(14, 5, 3))
    )
    assert "at the corner of its keyseat" in heavy["key-stress", "motor shaft"].message


def test_a_keyed_hub_has_a_keyseat_also_where_none_is_given(build):
    with_seat = keyed(build, "{material: steel, key: {length: 12}}")["key-stress", "motor shaft"]
    bare = (", keyseat: {width: 5, depth: 3, length: 14}", "")
    without = keyed(build, "{material: steel, key: {length: 12}}", bare)["key-stress", "motor shaft"]
    assert without.value == pytest.approx(with_seat.value)
    # Nor does it matter to the shaft that the key's length is not known.
    unknown = keyed(build, "{material: steel}", bare)
    assert unknown["key-stress", "motor key"].status == "not-checked"
    assert unknown["key-stress", "motor shaft"].value == pytest.approx(with_seat.value)


def test_a_keyseat_that_nobody_gave_softens_the_shaft_and_takes_grip_of_the_clamp(build):
    # Bearing 8 before the seat, hub from 9 on, half of the 12 gripped: round up to the hub, with a keyseat in it.
    bare = (", keyseat: {width: 5, depth: 3, length: 14}", "")
    steel, torsion = 79.3e9, pi / 32 * 0.014**4
    share = keyseat_torsion_share(14, 5, 3)

    def stub(found):
        return float(re.search(r"motor shaft (\S+) \(", found["wind-up", "reversal"].message)[1])

    soft = keyed(build, "{material: steel, key: {length: 12, play: 0}}", bare)
    plain = keyed(build, "{material: steel}", bare, fastening="clamp")
    gripped = steel * torsion / stub(plain) * 1000 - 17  # mm of the grip that wind up
    assert 1 < gripped < 12
    assert stub(soft) == pytest.approx(steel * torsion / (0.017 + gripped / 1000 / share), rel=2e-3)
    # One of two lines of contact may lie on the keyseat: half of the clamp's grip.
    clamp = "{material: steel, hinge: 13.5, key: {length: 12, width: 5, height: 5}}"
    with_key = keyed(build, clamp, bare, fastening="key with clamp")
    assert "flat or keyseat under 100 % of the grip" in with_key["hub-grip", "motor hub"].message


def test_a_slip_torque_of_a_keyed_hub_is_told_as_not_counted(build):
    plain = keyed(build, "{material: steel, key: {length: 12}}")["hub-grip", "motor hub"]
    given = keyed(build, "{material: steel, slip_torque: 90, key: {length: 12}}")["hub-grip", "motor hub"]
    assert given.value == pytest.approx(plain.value)
    assert "its slip_torque is not counted, as the key carries" in given.message


def test_key_with_clamp_is_the_stronger_and_warns_of_play(build):
    # The clamp alone holds less than is needed: the key carries, and the hub is warned about.
    found = keyed(build, "{material: steel, hinge: 13.5, key: {length: 12}}", fastening="key with clamp")
    hub = found["hub-grip", "motor hub"]
    assert hub.value == pytest.approx(100 * 14 * 0.007)
    weak = keyed(
        build, "{material: steel, cross_cut: none, key: {length: 12}}", fastening="key with clamp"
    )["hub-grip", "motor hub"]  # fmt: skip
    assert weak.status == "warn"
    assert "the clamp alone holds 0 N·m: beyond it the key's play is felt" in weak.message


def test_a_shaft_outside_the_key_table_asks_for_the_key(build):
    # DIN 6885 begins over 6 mm.
    thin = [("shaft: {diameter: 10,", "shaft: {diameter: 5,"), ("bore: 10", "bore: 5"), (HINGE, ""), (CLAMP, SET)]
    text = build.text
    for old, new in thin:
        text = text.replace(old, new)
    text = text.replace("bore_length: 13\n", "bore_length: 13\n      fastening: key with set screw\n")
    found = build.work(build.job(text=text))
    grip = found["hub-grip", "actuator hub"]
    assert (grip.status, grip.required) == ("not-checked", True)
    assert "outside the table" in grip.message
    assert "holding.key (width, height, length)" in grip.remedy
    shaft = found["key-stress", "actuator shaft"]
    assert (shaft.status, shaft.remedy) == ("not-checked", "give actuator.shaft.keyseat")


def test_flat_raises_the_stress_of_the_shaft(build):
    # A flat of 0.5 mm on 8: a = 1/16; the fit to Saint-Venant's problem is held in tests/validation/mechanics.
    flat = (
        "diameter: 8, tolerance: h6, length: 21",
        "diameter: 8, tolerance: h6, length: 21, flat: {height: 7.5, length: 12}",
    )
    found = build.work(build.job(flat))["key-stress", "motor shaft"]
    a = 0.5 / 8
    rise = 1 + 1.0226 * a**0.5 + 1.1221 * a - 7.1684 * a**1.5 + 16.3537 * a**2
    assert found.value == pytest.approx(rise * 16 * WORST / (pi * 8**3) * 1000)
    assert "at its flat" in found.message
