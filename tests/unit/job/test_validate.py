"""Impossible geometry, refused with its line; each limit is told and holds on both of its sides."""

import pytest

from fitcheck.errors import JobError
from fitcheck.job import parse_job

HUB = "{bore: 8, bore_length: 12}"
PLAIN = "{size: M3, station: 4.5, offset: 6}"


def job(*, motor="", actuator="", hub=HUB, other=HUB, coupling="outside_diameter: 30, length: 42", family="jaw"):
    return (
        f"step: a.step\nmotor: {{{motor}}}\nactuator: {{{actuator}}}\n"
        f"coupling:\n  family: {family}\n  <: {{}}\n  hubs:\n    motor: {hub}\n    actuator: {other}\n"
    ).replace("  <: {}\n", "".join(f"  {item.strip()}\n" for item in coupling.split(",")))


def shaft(**keys):
    given = {"diameter": 8, "length": 20} | keys
    return "shaft: {" + ", ".join(f"{key}: {value}" for key, value in given.items()) + "}"


def hub(screw=None, **keys):
    given = {"bore": 8, "bore_length": 12} | keys
    if screw is not None:
        given["screws"] = f"[{screw}]"
    return "{" + ", ".join(f"{key}: {value}" for key, value in given.items()) + "}"


def register(diameter=38.1, **keys):
    return f"register: {{diameter: {diameter}, height: 1.6" + "".join(f", {k}: {v}" for k, v in keys.items()) + "}"


def bolts(layout, size, **keys):
    return f"bolts: {{layout: {layout}, size: {size}" + "".join(f", {k}: {v}" for k, v in keys.items()) + "}"


WRONG = {
    "bore as wide as the hub": (
        job(hub=hub(bore=30)), 9,
        "coupling.hubs.motor.bore: found a bore of 30 mm; needed is less than the hub's outside diameter, 30 mm",
    ),
    "bore wider than a stepped hub": (
        job(hub=hub(outside_diameter=20, bore=22)), 9,
        "coupling.hubs.motor.bore: found a bore of 22 mm; needed is less than the hub's outside diameter, 20 mm",
    ),
    "hub wider than the coupling": (
        job(other=hub(outside_diameter=30.1)), 10,
        "coupling.hubs.actuator.outside_diameter: found a hub of 30.1 mm; needed is at most the coupling's outside "
        "diameter, 30 mm",
    ),
    "bore longer than the hub": (
        job(hub=hub(length=11)), 9,
        "coupling.hubs.motor.bore_length: found a bore length of 12 mm; needed is at most the hub's length, 11 mm",
    ),
    "hubs longer than the coupling": (
        job(coupling="outside_diameter: 30, length: 23.9"), 7,
        "coupling.length: found 23.9 mm; needed is at least the length of both hubs, 24 mm",
    ),
    "limit in the other hub": (
        job(hub=hub(insertion_limit=30.1)), 9,
        "coupling.hubs.motor.insertion_limit: found 30.1 mm, which reaches into the other hub or out of the coupling; "
        "needed is at most 30 mm",
    ),
    "limit beyond a rigid sleeve": (
        job(hub=hub(insertion_limit=42.1), family="rigid"), 9,
        "coupling.hubs.motor.insertion_limit: found 42.1 mm, which reaches",
    ),
    "gap as long as the coupling": (
        job(coupling="outside_diameter: 30, length: 42, shaft_gap: 42"), 8,
        "coupling.shaft_gap: found 42 mm; needed is less than the coupling's length, 42 mm",
    ),
    "screw beyond the hub": (
        job(hub=hub(screw="{size: M3, station: 10.6, offset: 6}")), 9,
        "screws.0.station: found 10.6 mm from the hub's outer face; needed is at least half the M3 thread, 1.5 mm, and "
        "at most 10.5 mm, so that the thread lies within the hub's length of 12 mm",
    ),
    "screw in the face": (
        job(hub=hub(screw="{size: M3, station: 1.4, offset: 6}")), 9,
        "screws.0.station: found 1.4 mm from the hub's outer face; needed is at least half the M3 thread, 1.5 mm",
    ),
    "screw through the bore": (
        job(hub=hub(screw="{size: M3, station: 4.5, offset: -5.4}")), 9,
        "screws.0.offset: found an offset of -5.4 mm, where the M3 thread cuts into the bore of 8 mm; needed is at "
        "least 5.5 mm to either side",
    ),
    "screw outside the hub": (
        job(hub=hub(screw="{size: M3, station: 4.5, offset: 13.6}")), 9,
        "screws.0.offset: found an offset of 13.6 mm, where the M3 thread leaves the hub of 30 mm; needed is at most "
        "13.5 mm to either side",
    ),
    "set screw in a clamp hub": (
        job(hub=hub(screw="{size: M3, station: 4.5, kind: set screw}")), 9,
        "screws.0.kind: found a set screw in a hub whose fastening is 'clamp'; needed is kind: cap screw, or another",
    ),
    "cap screw in a set screw hub": (
        job(hub=hub(screw=PLAIN, fastening="key with set screw")), 9,
        "screws.0.kind: found a cap screw in a hub whose fastening is 'key with set screw'; needed is kind: set screw",
    ),
    "set screw beside the bore": (
        job(hub=hub(screw="{size: M3, station: 4.5, kind: set screw, offset: 4}", fastening="set screw")), 9,
        "screws.0.offset: found an offset of 4 mm, where the set screw passes the bore of 8 mm by; needed is less than "
        "4 mm to either side, 0 for a radial one",
    ),
    "set screw within the bore": (
        job(hub=hub(screw="{size: M3, station: 4.5, kind: set screw, head_end: 4}", fastening="set screw")), 9,
        "screws.0.head_end: found 4 mm, which lies inside the bore of 8 mm; needed is the outer end of the set screw",
    ),
    "flat without material": (
        job(motor=shaft(flat="{length: 9, height: 3.9}")), 2,
        "motor.shaft.flat.height: found 3.9 mm from the flat to the opposite side; needed is at least half the shaft's "
        "diameter, 4 mm, and less than the diameter, 8 mm",
    ),
    "flat that is none": (job(motor=shaft(flat="{length: 9, height: 8}")), 2, "motor.shaft.flat.height: found 8 mm"),
    "flat longer than the shaft": (
        job(motor=shaft(flat="{length: 20.1, height: 7}")), 2,
        "motor.shaft.flat.length: found a flat of 20.1 mm; needed is at most the shaft's length, 20 mm",
    ),
    "keyseat too deep": (
        job(actuator=shaft(keyseat="{width: 2, depth: 4, length: 9}")), 3,
        "actuator.shaft.keyseat.depth: found a keyseat 4 mm deep; needed is less than half the shaft's diameter, 4 mm",
    ),
    "keyseat too wide": (
        job(actuator=shaft(keyseat="{width: 8, depth: 1, length: 9}")), 3,
        "actuator.shaft.keyseat.width: found a keyseat 8 mm wide; needed is less than the shaft's diameter, 8 mm",
    ),
    "keyseat too long": (
        job(actuator=shaft(keyseat="{width: 2, depth: 1, length: 15, from_end: 6}")), 3,
        "actuator.shaft.keyseat.length: found a keyseat that ends 21 mm from the shaft end; needed is at most the "
        "shaft's length, 20 mm",
    ),
    "chamfer as long as the shaft": (
        job(motor=shaft(chamfer=20)), 2,
        "motor.shaft.chamfer: found a chamfer of 20 mm; needed is less than the shaft's length, 20 mm",
    ),
    "no full diameter": (
        job(motor=shaft(chamfer=1, full_from=19)), 2,
        "motor.shaft.full_from: found 19 mm; needed is less than 19 mm, where the full diameter ends",
    ),
    "shaft class of a hole": (
        job(motor=shaft(tolerance="H6")), 2,
        "motor.shaft.tolerance: found 'H6'; needed is an ISO 286 tolerance class of a shaft or register, small letters",
    ),
    "shaft class with a grade that is none": (job(motor=shaft(tolerance="h19")), 2, "found 'h19'; needed is an ISO"),
    "register class": (job(motor=register(tolerance="q7")), 2, "register.tolerance: found 'q7'; needed is an ISO"),
    "bore class of a shaft": (
        job(hub=hub(bore_tolerance="h7")), 9,
        "motor.bore_tolerance: found 'h7'; needed is an ISO 286 tolerance class of a bore, capital letters and a grade",
    ),
    "shaft as wide as its register": (
        job(motor=f"{shaft()}, {register(8)}"), 2,
        "motor.shaft.diameter: found a shaft of 8 mm; needed is less than the register's diameter, 8 mm",
    ),
    "holes in the register": (
        job(motor=f"{register()}, {bolts('square', 26.9)}"), 2,
        # side of the square inscribed in the register: 38.1 / sqrt(2) = 26.94; 26.9 * sqrt(2) = 38.0423
        "motor.bolts.size: found holes on a circle of 38.0423 mm; needed is more than the register's diameter, 38.1 mm",
    ),
    "one side of a rectangle": (
        job(motor=bolts("rectangle", 40)), 2,
        "motor.bolts.size: found 1 number for a rectangle; needed is both sides of the rectangle, such as [40, 60]",
    ),
    "two sides of a square": (
        job(motor=bolts("square", "[40, 40]")), 2,
        "motor.bolts.size: found 2 numbers for a square; needed is the side of the square",
    ),
    "two diameters of a circle": (
        job(motor=bolts("circle", "[40, 40]")), 2,
        "motor.bolts.size: found 2 numbers for a circle; needed is the bolt circle diameter",
    ),
    "screw that is none": (
        job(motor=bolts("square", 40, screw="5 mm")), 2,
        "motor.bolts.screw: found '5 mm'; needed is a metric thread size, such as M5",
    ),
    "a seat for the motor": (
        job(motor="seat: 0"), 2,
        "motor.seat: the motor's seat is station 0 by definition; remove the key, or give 'actuator.seat'",
    ),
    "a frame that is none": (job(motor="frame: NEMA 24"), 2, "motor.frame: .*'NEMA 24'.*NEMA 23"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_impossible_jobs(name):
    text, line, message = WRONG[name]
    pattern = message if ".*" in message else None
    with pytest.raises(JobError, match=pattern) as caught:
        parse_job(text, "z.fit.yaml", "")
    assert pattern or message in caught.value.message
    assert caught.value.line == line
    assert len(str(caught.value).splitlines()) == 1


RIGHT = {
    "thin hub": job(hub=hub(bore=29.9)),
    "stepped hub as wide as the coupling": job(hub=hub(outside_diameter=30)),
    "hubs that touch": job(coupling="outside_diameter: 30, length: 24"),
    "limit at the other hub": job(hub=hub(insertion_limit=30)),
    "limit at the end of a rigid sleeve": job(hub=hub(insertion_limit=42), family="rigid"),
    "screw at the edge": job(hub=hub(screw="{size: M3, station: 10.5, offset: 5.5}")),
    "screw at the other edges": job(hub=hub(screw="{size: M3, station: 1.5, offset: -13.5}")),
    "screw in a hub longer than its bore": job(hub=hub(length=20, screw="{size: M3, station: 18, offset: 6}")),
    "two-piece clamp": job(hub=hub(fastening="clamp two-piece", screw=PLAIN)),
    "key with clamp": job(hub=hub(fastening="key with clamp", screw=PLAIN)),
    "radial set screw": job(hub=hub(fastening="set screw", screw="{size: M3, station: 4.5, kind: set screw}")),
    "half shaft": job(motor=shaft(flat="{length: 20, height: 4}")),
    "keyseat to the seat": job(motor=shaft(keyseat="{width: 2, depth: 1.2, length: 14, from_end: 6}")),
    "tolerances": job(motor=shaft(tolerance="js6"), hub=hub(bore_tolerance="JS7")),
    "grade 01": job(motor=f"{shaft(tolerance='k01')}, {register(tolerance='f18')}"),
    "holes outside the register": job(motor=f"{register()}, {bolts('square', 27)}"),
    "rectangle": job(actuator=bolts("rectangle", "[30, 40]", screw="M2.5", count=6)),
    "actuator seat before the motor's": job(actuator="seat: -3"),
    "known frame": job(motor="frame: NEMA 17"),
    "no shafts at all": job(),
    "bore that does not fit its shaft is for the checks": job(motor=shaft(diameter=9)),
}


@pytest.mark.parametrize("name", RIGHT)
def test_possible_jobs(name):
    assert parse_job(RIGHT[name], None, "").job.coupling.length >= 24
