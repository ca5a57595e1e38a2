"""Plausible hubs from outside diameter, bore and fastening alone. All proportions here: common practice, no source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fitcheck.errors import TableError, UsageError
from fitcheck.job.model import FASTENINGS
from fitcheck.standards.keys import ParallelKey, parallel_key
from parametric_models.couplings.base import ACTUATOR_HUB, MOTOR_HUB, Given
from parametric_models.couplings.default_screws import (
    clamp_screw,
    clamp_size,
    row_pitch,
    set_screw_size,
    set_screws,
)
from parametric_models.couplings.hubs import CAP, SET, BoreFlat, Hub, HubScrew, Keyway
from parametric_models.couplings.limits import above_zero


def default_hub(
    *, bore: float, outside_diameter: float, fastening: str = "clamp", web: float = 0.0, relief_cut: bool = False,
    cap_web: float = 0.0, name: str = "hub", **dimensions: Any,
) -> Hub:  # fmt: skip
    """A hub whose dimensions, where not given, follow from its outside diameter and bore.

    Args:
        bore: bore diameter, mm.
        outside_diameter: outside diameter, mm.
        fastening: one of the job's fastenings.
        web: what the family needs between the end of the bore and the hub's inner face, mm.
        relief_cut: whether the family joins on to the hub's inner face, so that a clamp must be cut free of it.
        cap_web: what a clamp two-piece needs there, mm: where it is above 0, the cap is cut free before it.
        name: for messages.
        **dimensions: any field of `Hub`; and for the screws, unless `screws` is given: `screw_size`, `screw_count`,
            `screw_angle` (degrees), `screw_station`, `screw_offset`, `screw_head_end`, `screw_length`,
            `set_screw_spread` (angle between two set screws, degrees); `flat_height` (a flat in the bore, under the
            first set screw, or opposite the slit).

    Returns:
        The hub.

    Raises:
        UsageError: the hub cannot be built; the message names the dimension and the range that works.
    """
    given = Given(name, dimensions)
    above_zero(name, "bore", bore)
    above_zero(name, "outside_diameter", outside_diameter)
    if fastening not in FASTENINGS:
        raise UsageError(f"{name}: fastening {fastening!r} is unknown; there are: {', '.join(FASTENINGS)}")
    clamps = "clamp" in fastening
    if fastening == "clamp two-piece" and cap_web > 0:
        web, relief_cut = max(web, cap_web), True
    count = int(given.take("screw_count", 1))
    explicit = given.take("screws", None)
    angle = float(given.take("screw_angle", 0.0 if not explicit else explicit[0].angle))
    # a key or a flat lies opposite the slit, or under the set screw
    beside = explicit[0].offset if explicit else float(given.peek("screw_offset", 1.0))
    away = angle if not clamps else angle + 90.0 if beside < 0 else angle - 90.0
    key = _key(name, bore) if fastening.startswith("key") else None
    keyway = given.take("keyway", None if key is None else Keyway(width=key.width, depth=key.hub_depth, angle=away))
    height = given.take("flat_height", None)
    flat = given.take("flat", None if height is None else BoreFlat(height=float(height), angle=away))
    slit_width = float(given.take("slit_width", min(default_slit_width(outside_diameter), bore) if clamps else 0.0))
    relief_cut = bool(given.take("relief_cut", relief_cut))
    relief = slit_width if clamps and relief_cut else 0.0

    contact = bore / 2
    if not clamps:
        contact = bore / 2 + key.height - key.shaft_depth if key else flat.height - bore / 2 if flat else bore / 2
    size, kind = given.take("screw_size", None), CAP if clamps else SET
    if size is None and explicit is None:
        if clamps:
            size = clamp_size(name, bore, outside_diameter, slit_width)
        else:
            size = set_screw_size(name, bore, outside_diameter / 2 - contact, outside_diameter)
    rows = count if clamps else 1
    pitch = row_pitch(size, kind) if size else 0.0
    grip = round(max(0.4 * outside_diameter, bore, rows * pitch + (rows + 1) * 0.3 + relief), 1)
    length = given.take("length", None)
    bore_length = float(given.take("bore_length", grip if length is None else max(0.1, float(length) - web)))
    length = round(bore_length + web, 9) if length is None else float(length)
    slit_length = float(given.take("slit_length", (bore_length if relief_cut else length) if clamps else 0.0))
    station = given.take("screw_station", None)

    screws: tuple[HubScrew, ...]
    if explicit is not None:
        screws = tuple(explicit)
    elif clamps:
        one = clamp_screw(given, size, bore, outside_diameter, slit_width, angle)
        room = (slit_length - relief) / rows
        stations = [float(station)] if station is not None else [room * (row + 0.5) for row in range(rows)]
        sides = (1, -1) if fastening == "clamp two-piece" else (1,)
        screws = tuple(replace(one, station=at, offset=side * one.offset) for at in stations for side in sides)
    else:
        at = bore_length / 2 if station is None else float(station)
        contacts = (contact, *[bore / 2] * (count - 1))
        screws = set_screws(given, size, outside_diameter, angle, at, contacts)
    hub = Hub(
        bore=bore, bore_length=bore_length, outside_diameter=outside_diameter, length=length, fastening=fastening,
        screws=screws, slit_width=slit_width, slit_length=slit_length, relief_cut=relief > 0, keyway=keyway, flat=flat,
        relief_diameter=float(given.take("relief_diameter", round(bore + 0.4, 3))),
        chamfer=float(given.take("chamfer", round(max(0.2, 0.012 * outside_diameter), 1))), name=name,
    )  # fmt: skip
    for unused in ("screw_offset", "screw_head_end", "screw_length", "set_screw_spread"):
        given.take(unused, None)
    given.finish()
    return hub


def default_slit_width(outside_diameter: float) -> float:
    """Width of a clamp's slit, mm; common practice, no source."""
    return round(max(0.5, 0.03 * outside_diameter), 1)


def _key(name: str, bore: float) -> ParallelKey:
    try:
        return parallel_key(bore)
    except TableError as error:
        raise UsageError(f"{name}: bore {bore:g} has no parallel key, so no keyway can be made: {error}") from error


def hub_pair(
    given: Given, outside_diameter: float, bores: tuple[float, float], *, web: float = 0.0, relief_cut: bool = False,
    cap_web: float = 0.0,
) -> tuple[Hub, Hub]:  # fmt: skip
    """Both hubs of a coupling.

    Args:
        given: the caller's dimensions. Taken out: `motor` and `actuator` (each a `Hub`, or a mapping of what
            `default_hub` takes), and for both hubs alike `fastening` and `hub_outside_diameter`.
        outside_diameter: of the coupling, mm.
        bores: bores of the motor hub and of the actuator hub, mm.
        web: as in `default_hub`.
        relief_cut: as in `default_hub`.
        cap_web: as in `default_hub`.

    Returns:
        The motor hub and the actuator hub.
    """
    fastening = given.take("fastening", "clamp")
    across = given.take("hub_outside_diameter", outside_diameter)
    hubs = []
    for name, key, bore in ((MOTOR_HUB, "motor", bores[0]), (ACTUATOR_HUB, "actuator", bores[1])):
        own = given.take(key, {})
        if isinstance(own, Hub):
            if own.bore != bore:
                raise UsageError(f"{given.subject}: {key} has bore {own.bore:g} mm, and bores says {bore:g} mm")
            hubs.append(replace(own, name=name))
            continue
        if not isinstance(own, Mapping):
            raise UsageError(f"{given.subject}: {key} must be a Hub or a mapping of its dimensions, not {own!r}")
        settings: dict[str, Any] = {"outside_diameter": across, "fastening": fastening, "web": web} | {
            "relief_cut": relief_cut, "cap_web": cap_web, "bore": bore, "name": name,
        } | dict(own)  # fmt: skip
        hubs.append(default_hub(**settings))
    return hubs[0], hubs[1]
