"""Motor frames: names, consistency of the rows, and the search for the closest frame."""

from __future__ import annotations

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.errors import TableError
from fitcheck.standards.fits import limits
from fitcheck.standards.frames import closest_frame, frame, frame_names, named_frame, register_limits
from fitcheck.standards.screws import clearance_hole
from fitcheck.standards.table import table

NAMES = frame_names()


@pytest.mark.parametrize(
    ("spelling", "name"),
    [
        ("NEMA 23", "NEMA 23"), ("nema23", "NEMA 23"), ("Nema-17", "NEMA 17"), ("nema  8", "NEMA 8"),
        ("IEC FF130", "IEC FF130"), ("iec ff 130", "IEC FF130"), ("FT85", "IEC FT85"), ("ft-85", "IEC FT85"),
    ],
)  # fmt: skip
def test_spellings(spelling: str, name: str) -> None:
    assert frame(spelling).name == name


@pytest.mark.parametrize(
    ("wanted", "near"),
    [
        ("NEMA 24", "nearest: NEMA 17 and NEMA 23"),
        ("FF120", "nearest: IEC FF115 and IEC FF130"),
        ("IEC FT300", "nearest: IEC FT215 and IEC FT265"),
        ("23", "nearest: NEMA 17 and NEMA 23"),
    ],
)
def test_unknown_frames(wanted: str, near: str) -> None:
    with pytest.raises(TableError, match=f"there is no frame '{wanted}' in the tables; {near}") as caught:
        frame(wanted)
    assert "They have 27 frames: NEMA 8 to NEMA 42, IEC FF55 to FF265 and IEC FT55 to FT265" in str(caught.value)


@pytest.mark.parametrize("name", NAMES)
def test_bolt_square_and_bolt_circle_agree(name: str) -> None:
    found = frame(name)
    if found.layout == "square":
        # The published squares and circles are rounded to 0.1 mm and 0.001 in: 0.05*sqrt(2) + 0.05 mm.
        assert found.size[0] * sqrt(2.0) == pytest.approx(found.bolt_circle, abs=0.05 * sqrt(2.0) + 0.05)
    else:
        assert found.size == (found.bolt_circle,)


@pytest.mark.parametrize("name", NAMES)
def test_holes_lie_between_register_and_outside(name: str) -> None:
    found = frame(name)
    across = found.outside * (sqrt(2.0) if found.layout == "square" else 1.0)
    assert found.register_diameter < found.bolt_circle < across
    assert found.count == 4
    assert found.tapped == (found.hole is None)
    assert all(diameter < found.register_diameter for diameter in found.shaft_diameters)


@pytest.mark.parametrize("name", NAMES)
def test_screw_passes_the_hole(name: str) -> None:
    found = frame(name)
    assert found.screw is not None
    if found.hole is not None:
        assert float(found.screw[1:]) < found.hole
    if found.name.startswith("IEC FF"):
        # The holes of IEC flanges, from memory, are the coarse series of ISO 273.
        assert found.hole == clearance_hole(found.screw, "coarse")


def test_ff_and_ft_of_one_number_have_one_register_and_circle() -> None:
    for name in NAMES:
        if name.startswith("IEC FF"):
            through, tapped = frame(name), frame(name.replace("FF", "FT"))
            assert (through.register_diameter, through.bolt_circle, through.outside, through.screw) == (
                tapped.register_diameter, tapped.bolt_circle, tapped.outside, tapped.screw,
            )  # fmt: skip


def test_flange_number_is_its_bolt_circle_and_sizes_rise() -> None:
    for kind in ("FF", "FT"):
        series = [frame(name) for name in NAMES if name.startswith(f"IEC {kind}")]
        assert [found.bolt_circle for found in series] == [float(found.name[6:]) for found in series]
        for column in ("register_diameter", "outside", "register_height"):
            values = [getattr(found, column) for found in series]
            assert values == sorted(values), column


def test_disagreeing_sources_are_noted() -> None:
    for name in ("NEMA 8", "NEMA 11", "NEMA 23", "NEMA 34", "NEMA 42"):
        note = frame(name).note
        assert note is not None
        assert "(E" in note, name


def test_confidence() -> None:
    assert frame("NEMA 17").confidence == "read"
    assert frame("IEC FF130").confidence == "memory"
    assert table("nema_frames").columns["screw"].confidence == "memory"


def test_register_limits() -> None:
    assert register_limits(frame("FF130")) == limits(110, "j6")
    nema = register_limits(frame("NEMA 23"))
    assert (nema.lower, nema.upper) == (pytest.approx(-0.002 * 25.4), 0.0)
    assert nema.confidence == "memory"


@pytest.mark.parametrize("name", [name for name in NAMES if not name.startswith("IEC FT")])
def test_a_frame_is_its_own_closest(name: str) -> None:
    found = frame(name)
    assert closest_frame(found.register_diameter, found.layout, found.size, 4) == (found, 0.0)
    assert closest_frame(None, found.layout, found.size, 4) == (found, 0.0)


def test_closest_across_layouts() -> None:
    # 31*sqrt(2) = 43.8406: a bolt circle of that diameter is the square of NEMA 17.
    found, deviation = closest_frame(22.0, "circle", (31.0 * sqrt(2.0),), 4)
    assert found.name == "NEMA 17"
    assert deviation == pytest.approx(0.0, abs=1e-12)
    found, deviation = closest_frame(None, "square", (130.0 / sqrt(2.0),), 4)
    assert (found.name, deviation) == ("IEC FF130", pytest.approx(0.0, abs=1e-12))


def test_worst_deviation_decides() -> None:
    # The pilot is 0.15 mm wide, each hole 0.2/2*sqrt(2) = 0.1414 mm off its place: the pilot is worse.
    found, deviation = closest_frame(38.25, "square", (47.34,), 4)
    assert (found.name, deviation) == ("NEMA 23", pytest.approx(0.15))
    found, deviation = closest_frame(38.2, "square", (47.34,), 4)
    assert (found.name, deviation) == ("NEMA 23", pytest.approx(0.1 * sqrt(2.0)))
    # A rectangle is no square: its holes are off by half the difference of its sides.
    found, deviation = closest_frame(None, "rectangle", (47.14, 49.14), 4)
    assert (found.name, deviation) == ("NEMA 23", pytest.approx(1.0))
    # Registers of 22 mm are shared by three frames; the holes tell them apart.
    assert closest_frame(22.0, "square", (26.1,), 4)[0].name == "NEMA 14"


def test_nothing_to_compare() -> None:
    assert closest_frame(None, None, (), 0) is None
    assert closest_frame(None, "irregular", (), 5) is None
    assert closest_frame(22.0, "circle", (43.8,), 3) is None
    found, deviation = closest_frame(110.2, "irregular", (), 7)
    assert (found.name, deviation) == ("IEC FF130", pytest.approx(0.2))


@given(st.floats(5.0, 300.0), st.floats(10.0, 400.0))
def test_no_frame_is_closer_than_the_closest(pilot: float, circle: float) -> None:
    _, least = closest_frame(pilot, "circle", (circle,), 4)
    for name in NAMES:
        found = frame(name)
        exact = found.size[0] * (sqrt(2.0) if found.layout == "square" else 1.0)
        worst = max(abs(pilot - found.register_diameter), abs(circle - exact) / 2.0)
        assert least <= worst + 1e-9


class TestTheNamedFrame:
    """Which frame is named for an end; register and bolt square of NEMA 23 and 17 as printed (PicList, BOSL2)."""

    def test_pilot_and_bolts_together(self):
        found = named_frame(38.15, [("square", (66.0,), 4), ("square", (47.14,), 4)])
        assert (found.frame.name, found.bolts_alone) == ("NEMA 23", False)
        assert found.deviation == pytest.approx(0.05)
        assert found.words() == "NEMA 23, 0.05 mm off at most (NEMA ICS 16, read)"

    def test_bolts_alone_where_the_pilot_is_another(self):
        found = named_frame(30.0, [("square", (31.2,), 4)])
        assert (found.frame.name, found.bolts_alone) == ("NEMA 17", True)
        # A corner of the square is off by half the difference of the sides, times root 2.
        assert found.deviation == pytest.approx(0.1 * 2**0.5)
        assert "NEMA 17 by its bolts alone" in found.words()

    def test_a_pilot_alone(self):
        assert named_frame(38.1, []).frame.name == "NEMA 23"

    def test_a_table_from_memory_says_so(self):
        found = named_frame(110.0, [("square", (130.0 / 2**0.5,), 4)])
        assert found.frame.name == "IEC FF130"
        assert "typed from memory" in found.words()

    @pytest.mark.parametrize(("pilot", "patterns"), [(None, []), (30.0, []), (38.1, [("square", (40.0,), 4)])])
    def test_none_where_nothing_is_near(self, pilot, patterns):
        assert named_frame(pilot, patterns) is None

    def test_irregular_patterns_tell_nothing(self):
        assert named_frame(None, [("irregular", (), 5)]) is None
