"""Rows typed a second time, from the pages and packages that the sidecars name, against the tables."""

from __future__ import annotations

from math import atan, degrees, tan

import pytest

from fitcheck.standards.frames import frame
from fitcheck.standards.keys import bit_holder, hex_key, parallel_key
from fitcheck.standards.runout import flange_runout, machine_runout, nema_runout, shaft_runout
from fitcheck.standards.screws import cap_screw, clearance_hole, set_screw
from fitcheck.standards.strength import key_torque, set_screw_holding

# ISO 4762 (geartoolkit.com, boltport.com): knurled head, plain head, k, s, s min, s max, t, dw, pitch.
CAP_SCREWS = {
    "M1.6": (3.14, 3.0, 1.6, 1.5, 1.52, 1.58, 0.7, 2.72, 0.35),
    "M2": (3.98, 3.8, 2, 1.5, 1.52, 1.58, 1, 3.48, 0.4),
    "M2.5": (4.68, 4.5, 2.5, 2, 2.02, 2.08, 1.1, 4.18, 0.45),
    "M3": (5.68, 5.5, 3, 2.5, 2.52, 2.58, 1.3, 5.07, 0.5),
    "M4": (7.22, 7, 4, 3, 3.02, 3.08, 2, 6.53, 0.7),
    "M5": (8.72, 8.5, 5, 4, 4.02, 4.095, 2.5, 8.03, 0.8),
    "M6": (10.22, 10, 6, 5, 5.02, 5.14, 3, 9.38, 1),
    "M8": (13.27, 13, 8, 6, 6.02, 6.14, 4, 12.33, 1.25),
    "M10": (16.27, 16, 10, 8, 8.025, 8.175, 5, 15.33, 1.5),
    "M12": (18.27, 18, 12, 10, 10.025, 10.175, 6, 17.23, 1.75),
}


@pytest.mark.parametrize(("size", "row"), CAP_SCREWS.items())
def test_iso_4762(size: str, row: tuple[float, ...]) -> None:
    found = cap_screw(size)
    assert row == (
        found.head_diameter, found.head_diameter_plain, found.head_height, found.key_size, found.socket_min,
        found.socket_max, found.socket_depth, found.bearing_diameter, found.pitch,
    )  # fmt: skip


# The sharp corners of the socket, e min of ISO 4762 (geartoolkit.com): 1.14 times s min.
SOCKET_CORNERS = {"M3": 2.873, "M4": 3.443, "M5": 4.583, "M6": 5.723, "M8": 6.863, "M10": 9.149, "M12": 11.429}


@pytest.mark.parametrize(("size", "corners"), SOCKET_CORNERS.items())
def test_socket_corners_are_under_those_of_a_sharp_hexagon(size: str, corners: float) -> None:
    found = cap_screw(size)
    assert found.socket_min * 1.14 == pytest.approx(corners, abs=0.001)
    assert corners < found.socket_min * hex_key(found.key_size).across_corners / found.key_size


# ISO 273 (engineeringhardware.com, reference data ISO 273): fine, medium, coarse.
HOLES = {
    "M1.6": (1.7, 1.8, 2.0), "M2": (2.2, 2.4, 2.6), "M2.5": (2.7, 2.9, 3.1), "M3": (3.2, 3.4, 3.6),
    "M4": (4.3, 4.5, 4.8), "M5": (5.3, 5.5, 5.8), "M6": (6.4, 6.6, 7.0), "M8": (8.4, 9.0, 10.0),
    "M10": (10.5, 11.0, 12.0), "M12": (13.0, 13.5, 14.5),
}  # fmt: skip


@pytest.mark.parametrize(("size", "row"), HOLES.items())
def test_iso_273(size: str, row: tuple[float, ...]) -> None:
    assert tuple(clearance_hole(size, series) for series in ("fine", "medium", "coarse")) == row


# ISO 4026 (open fastener data, FsData/iso4026def.csv): s, t min; cup diameter (joshuanava.biz, table 16.5).
SET_SCREWS = {
    "M2": (0.9, 1.25, 1.0), "M2.5": (1.3, 1.6, 1.2), "M3": (1.5, 1.6, 1.4), "M4": (2, 2, 2), "M5": (2.5, 2.5, 2.5),
    "M6": (3, 2.75, 3), "M8": (4, 4, 5), "M10": (5, 5, 6), "M12": (6, 6.4, 8),
}  # fmt: skip


@pytest.mark.parametrize(("size", "row"), SET_SCREWS.items())
def test_iso_4026(size: str, row: tuple[float, ...]) -> None:
    found = set_screw(size)
    assert (found.key_size, found.socket_depth, found.cup_diameter) == row


# ISO 2936:2014 (open fastener data, FsData/iso2936def.csv): short arm, long arm, long, extra long.
HEX_KEYS = {
    0.7: (7, 33), 0.9: (11, 33), 1.3: (13, 41, 63.5, 81), 1.5: (15.5, 46.5, 63.5, 91.5), 2: (18, 52, 77, 102),
    2.5: (20.5, 58.5, 87.5, 114.5), 3: (23, 66, 93, 129), 4: (29, 74, 104, 144), 5: (33, 85, 120, 165),
    6: (38, 96, 141, 186), 7: (41, 102, 147, 197), 8: (44, 108, 158, 208), 10: (50, 122, 180, 234),
    12: (57, 137, 202, 262),
}  # fmt: skip


@pytest.mark.parametrize(("size", "row"), HEX_KEYS.items())
def test_iso_2936(size: float, row: tuple[float, ...]) -> None:
    found = hex_key(size)
    assert (found.short_arm, *found.long_arms) == row


def test_din_iso_1173_drive() -> None:
    # 6.3 mm across flats and the forms are read; all other values are from memory and say so.
    assert bit_holder().drive == 6.3
    assert bit_holder().confidence == "memory"


# ASME B18.3.2M keys (practicalmaintenance.net): shear and yield torque, N.m; from 2 mm from memory.
KEY_TORQUES = {0.7: (0.12, 0.10), 0.9: (0.26, 0.23), 1.3: (0.73, 0.63), 1.5: (1.19, 1.02)}


@pytest.mark.parametrize(("size", "row"), KEY_TORQUES.items())
def test_asme_b18_3_2m(size: float, row: tuple[float, float]) -> None:
    assert (key_torque(size).shearing, key_torque(size).yielding) == row


@pytest.mark.parametrize("size", [0.71, 0.89, 1.27, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10])
def test_key_torque_goes_with_the_cube_of_the_size(size: float) -> None:
    # Torque over key size cubed of one material is constant: rows read 0.33 to 0.37 and 0.28 to 0.33 N.m/mm3.
    found = key_torque({0.71: 0.7, 0.89: 0.9, 1.27: 1.3}.get(size, size))
    assert 0.325 <= found.shearing / size**3 <= 0.375
    assert 0.275 <= found.yielding / size**3 <= 0.335


@pytest.mark.parametrize(("size", "torque"), [("#0", 1.5), ("#1", 2.0), ("#2", 2.6)])
def test_cup_point_holding_against_torsional_holding(size: str, torque: float) -> None:
    # studylib.net/doc/18241577: torsional holding power, lbf.in, on a 1/16 in shaft; T = F*d/2. The forces of the
    # table are rounded to 5 lbf.
    force = torque / (1.0 / 16.0 / 2.0)
    assert set_screw_holding(size).holding_force / 4.4482216152605 == pytest.approx(force, abs=2.5)


# ficientdesign.com/set-screw-torque-chart: seating torque, lbf.in.
SEATING = {"#6": 10, "#8": 20, "#10": 36, "1/4": 87, "5/16": 165, "3/8": 290, "1/2": 620, "5/8": 1325, "3/4": 2400}


@pytest.mark.parametrize(("size", "torque"), SEATING.items())
def test_seating_torque(size: str, torque: float) -> None:
    assert set_screw_holding(size).seating_torque == pytest.approx(torque * 0.112984829, rel=1e-7)


# DIN 6885-1 (engineeringhardware.com): d over, to; b, h, l from, to, t1, t2.
PARALLEL_KEYS = [
    (6, 8, 2, 2, 6, 20, 1.2, 1.0), (8, 10, 3, 3, 6, 36, 1.8, 1.4), (10, 12, 4, 4, 8, 45, 2.5, 1.8),
    (12, 17, 5, 5, 10, 56, 3.0, 2.3), (17, 22, 6, 6, 14, 70, 3.5, 2.8), (22, 30, 8, 7, 18, 90, 4.0, 3.3),
    (30, 38, 10, 8, 22, 110, 5.0, 3.3), (38, 44, 12, 8, 28, 140, 5.0, 3.3), (44, 50, 14, 9, 36, 160, 5.5, 3.8),
    (50, 58, 16, 10, 45, 180, 6.0, 4.3),
]  # fmt: skip


@pytest.mark.parametrize("row", PARALLEL_KEYS)
def test_din_6885(row: tuple[float, ...]) -> None:
    over, to, width, height, shortest, longest, shaft_depth, hub_depth = row
    for diameter in (over + 0.01, (over + to) / 2.0, to):
        key = parallel_key(diameter)
        assert (key.width, key.height, key.length_range) == (width, height, (shortest, longest))
        assert (key.shaft_depth, key.hub_depth) == (shaft_depth, hub_depth)


# NEMA ICS 16 metric shafts (engineersedge, read): D, key b x h, keyseat depth. An independent print of the same keys.
NEMA_KEYS = {
    7: (2, 2, 1.2), 8: (2, 2, 1.2), 9: (3, 3, 1.8), 10: (3, 3, 1.8), 11: (4, 4, 2.5), 14: (5, 5, 3), 16: (5, 5, 3),
    18: (6, 6, 3.5), 19: (6, 6, 3.5), 22: (6, 6, 3.5), 24: (8, 7, 4), 28: (8, 7, 4), 32: (10, 8, 5), 38: (10, 8, 5),
    42: (12, 8, 5), 48: (14, 9, 5.5),
}  # fmt: skip


@pytest.mark.parametrize(("diameter", "row"), NEMA_KEYS.items())
def test_nema_metric_shaft_keys_are_din_6885(diameter: float, row: tuple[float, ...]) -> None:
    key = parallel_key(diameter)
    assert (key.width, key.height, key.shaft_depth) == row


# piclist.com, nemasizes.htm, inches: bolt square, pilot diameter, bolt circle (None where not printed).
NEMA_INCHES = {
    "NEMA 8": (0.630, 0.590, 0.891), "NEMA 11": (0.905, 0.866, 1.280), "NEMA 14": (1.024, 0.866, 1.448),
    "NEMA 17": (1.220, 0.866, 1.725), "NEMA 23": (1.854, 1.500, 2.625), "NEMA 34": (2.744, 2.875, 3.875),
    "NEMA 42": (3.500, 2.186, 4.950),
}  # fmt: skip


@pytest.mark.parametrize(("name", "row"), NEMA_INCHES.items())
def test_nema_frames_in_inches(name: str, row: tuple[float, float, float]) -> None:
    side, pilot, circle = (value * 25.4 for value in row)
    found = frame(name)
    # Inches of three digits are 0.013 mm; millimetres of one digit are 0.05 mm; the square of frame 34 is disputed.
    assert found.size[0] == pytest.approx(side, abs=0.11 if name == "NEMA 34" else 0.06)
    assert found.register_diameter == pytest.approx(pilot, abs=0.015)
    assert found.bolt_circle == pytest.approx(circle, abs=0.06)


# IEC 60072-1 flanges that an open transcription of a published motor table has too: M, N, P, T and S or the thread.
IEC_FLANGES = {
    "FF100": (100, 80, 120, 3, 7), "FF115": (115, 95, 140, 3, 10), "FF130": (130, 110, 160, 3.5, 10),
    "FF165": (165, 130, 200, 3.5, 12), "FF215": (215, 180, 250, 4, 14.5), "FF265": (265, 230, 300, 4, 14.5),
    "FT65": (65, 50, 80, 2.5, "M5"), "FT85": (85, 70, 105, 2.5, "M6"), "FT100": (100, 80, 120, 3, "M6"),
    "FT115": (115, 95, 140, 3, "M8"), "FT130": (130, 110, 160, 3.5, "M8"), "FT165": (165, 130, 200, 3.5, "M10"),
    "FT215": (215, 180, 250, 4, "M12"),
}  # fmt: skip


@pytest.mark.parametrize(("name", "row"), IEC_FLANGES.items())
def test_iec_flanges_from_memory_agree_with_a_transcription(name: str, row: tuple[float | str, ...]) -> None:
    found = frame(name)
    last = found.screw if found.tapped else found.hole
    assert (*found.size, found.register_diameter, found.outside, found.register_height, last) == row
    assert found.register_tolerance == "j6"


# Shaft run-out: EASA AR100-2015, table 2-4 (IEC), and DIN 42955 (scribd.com 66716031), N and R.
SHAFT_RUNOUT = {8: (0.030, 0.015), 14: (0.035, 0.018), 24: (0.040, 0.021), 38: (0.050, 0.025), 60: (0.060, 0.030),
                100: (0.070, 0.035)}  # fmt: skip
# Spigot concentricity and face run-out: EASA AR100-2020, table 2-11 (IEC), and DIN 42955, N and R.
FLANGE_RUNOUT = {20: (0.05, 0.025), 30: (0.06, 0.03), 80: (0.08, 0.04), 110: (0.10, 0.05), 250: (0.125, 0.063)}


def test_din_42955() -> None:
    for diameter, row in SHAFT_RUNOUT.items():
        assert (shaft_runout(diameter).reading, shaft_runout(diameter, "reduced").reading) == row
    for diameter, row in FLANGE_RUNOUT.items():
        assert (flange_runout(diameter).reading, flange_runout(diameter, "reduced").reading) == row


@pytest.mark.parametrize(("diameter", "edge"), [(10, 0.030), (18, 0.035), (30, 0.040), (50, 0.050), (80, 0.060)])
def test_run_out_ranges_include_their_upper_edge(diameter: float, edge: float) -> None:
    assert shaft_runout(diameter).reading == edge
    assert shaft_runout(diameter + 0.001).reading > edge


def test_nema_mg_1() -> None:
    # Condensed MG 1-2011, 4.9.7: 0.002 in from 0.1875 to 1.625 in, 0.003 in to 6.5 in. EASA table 2-9: 0.004 in.
    assert nema_runout("shaft", 0.1875 * 25.4).reading == pytest.approx(0.002 * 25.4)
    assert nema_runout("shaft", 1.625 * 25.4).reading == pytest.approx(0.002 * 25.4)
    assert nema_runout("shaft", 2.0 * 25.4).reading == pytest.approx(0.003 * 25.4)
    assert nema_runout("type P face", 200).reading == pytest.approx(0.102, abs=0.0005)
    assert nema_runout("type P face", 400).reading == pytest.approx(0.178, abs=0.0005)


def test_misalignment_of_a_flange_motor() -> None:
    # Geometry: e = TIR/2, tilt = TIR of the face over its diameter. N 110, P 160, D 14, normal grade.
    found = machine_runout(frame("FF130"), 14)
    assert found.concentricity.eccentricity == pytest.approx(0.050)
    assert found.shaft.eccentricity == pytest.approx(0.0175)
    assert found.offset == pytest.approx(0.0675)
    assert tan(found.tilt * 3.141592653589793 / 180.0) * 1000.0 == pytest.approx(0.625)
    assert found.tilt == pytest.approx(degrees(atan(0.100 / 160.0)))
    assert found.tilt == pytest.approx(0.036, abs=0.0005)


# bd_warehouse 0.4.0, setscrew_parameters.csv, iso4026:t: the deeper sockets.
DEEP_SOCKETS = {"M1.6": 1.5, "M2": 1.7, "M2.5": 2, "M3": 2, "M4": 2.5, "M5": 3, "M6": 3.5, "M8": 5, "M10": 6, "M12": 8}


@pytest.mark.parametrize(("size", "depth"), DEEP_SOCKETS.items())
def test_deep_sockets_of_set_screws(size: str, depth: float) -> None:
    assert set_screw(size).socket_depth_full == depth


# Shigley, 9th ed., table 7-4 (memory, the page was not seen with its rows): holding force, lbf.
HOLDING = {
    "#3": 120, "#4": 160, "#5": 200, "#6": 250, "#8": 385, "#10": 540, "1/4": 1000, "5/16": 1500, "3/8": 2000,
    "7/16": 2500, "1/2": 3000, "5/8": 4000, "3/4": 5000,
}  # fmt: skip


@pytest.mark.parametrize(("size", "force"), HOLDING.items())
def test_cup_point_holding_from_memory(size: str, force: float) -> None:
    assert set_screw_holding(size).holding_force == pytest.approx(force * 4.4482216152605)
    assert set_screw_holding(size).confidence == "memory"


@pytest.mark.parametrize("size", ["#0", "#1", "#2", *HOLDING])
def test_inch_screw_diameters(size: str) -> None:
    # ASME B1.1: a numbered screw is 0.060 in thick and 0.013 in more for each number (memory); others are fractions.
    top, _, bottom = size.lstrip("#").partition("/")
    inches = int(top) / int(bottom) if bottom else 0.060 + 0.013 * int(top)
    assert set_screw_holding(size).diameter == pytest.approx(inches * 25.4)


# ASME B18.3.2M keys from 2 mm (memory): shear and yield torque, N.m.
KEY_TORQUES_FROM_MEMORY = {
    2: (2.9, 2.4), 2.5: (5.4, 4.4), 3: (9.3, 8.0), 4: (22.2, 18.8), 5: (42.7, 36.8), 6: (74, 64), 8: (183, 158),
    10: (345, 296),
}  # fmt: skip


@pytest.mark.parametrize(("size", "row"), KEY_TORQUES_FROM_MEMORY.items())
def test_key_torque_from_memory(size: float, row: tuple[float, float]) -> None:
    assert (key_torque(size).shearing, key_torque(size).yielding) == row
    assert key_torque(size).confidence == "memory"


# BOSL2 (nema_motor_info) and, for 8 and 42, our notes: side of the body, register height, shafts.
NEMA_BODIES = {
    "NEMA 8": (20.3, 1.5, (4,)), "NEMA 11": (28.2, 2.0, (5,)), "NEMA 14": (35.2, 2.0, (5,)),
    "NEMA 17": (42.3, 2.0, (5,)),
    "NEMA 23": (57.0, 1.6, (6.35,)), "NEMA 34": (86.0, 2.0, (9.525, 14)), "NEMA 42": (110.0, 1.6, (15.875, 16, 19)),
}  # fmt: skip


@pytest.mark.parametrize(("name", "row"), NEMA_BODIES.items())
def test_nema_bodies(name: str, row: tuple[float, float, tuple[float, ...]]) -> None:
    found = frame(name)
    assert (found.outside, found.register_height, found.shaft_diameters) == row


# BOSL2: screws of the frames; 42 from the inches of piclist.com (0.281 in).
@pytest.mark.parametrize(("name", "hole"), [("NEMA 23", 5.1), ("NEMA 34", 5.5), ("NEMA 42", 7.1)])
def test_nema_holes(name: str, hole: float) -> None:
    assert frame(name).hole == hole


# Usual frames of IEC machines (memory): shaft, FF flange, FT flange.
IEC_SHAFTS = [
    (9, "FF100", "FT65"), (11, "FF115", "FT75"), (14, "FF130", "FT85"), (19, "FF165", "FT100"), (24, "FF165", "FT115"),
    (28, "FF215", "FT130"), (38, "FF265", "FT165"),
]  # fmt: skip


@pytest.mark.parametrize(("shaft", "through", "tapped"), IEC_SHAFTS)
def test_iec_shafts_from_memory(shaft: float, through: str, tapped: str) -> None:
    assert shaft in frame(through).shaft_diameters
    assert shaft in frame(tapped).shaft_diameters
    # NEMA ICS 16 has the same metric shafts.
    assert shaft in NEMA_KEYS


# DIN 911 and ISO 2936:1983 (memory): long arm, short arm.
OLD_KEYS = {1.5: (45, 14), 2: (50, 16), 2.5: (56, 18), 3: (63, 20), 4: (70, 25), 5: (80, 28), 6: (90, 32), 8: (100, 36),
            10: (112, 40)}  # fmt: skip


@pytest.mark.parametrize(("size", "row"), OLD_KEYS.items())
def test_keys_of_1983_from_memory(size: float, row: tuple[float, float]) -> None:
    assert (hex_key(size).old_long_arm, hex_key(size).old_short_arm) == row
