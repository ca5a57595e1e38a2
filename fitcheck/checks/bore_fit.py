"""`bore-fit`: each shaft enters its hub's bore, without too much play."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.sides import ShaftEnd
from fitcheck.checks.wording import SIDES, mm
from fitcheck.errors import TableError
from fitcheck.job.model import Hub
from fitcheck.standards.fits import limits

CHECK = "bore-fit"


def check(drive: Drive) -> tuple[Finding, ...]:
    """For each hub: least and greatest diametral play by the ISO 286 classes given; without classes the nominal one."""
    return tuple(_hub(drive, side) for side in SIDES)


def _hub(drive: Drive, side: str) -> Finding:
    shaft, hub = drive.side(side).shaft, getattr(drive.job.coupling.hubs, side)
    if shaft is None:
        # The station of the shaft does not matter here, so a shaft from the job counts without a seat.
        given = drive.side(side).machine.shaft
        if given is None:
            missing = drive.side(side).no_shaft()
            return not_checked(CHECK, f"{side} hub", missing.reason, missing.supply)
        shaft = ShaftEnd(diameter=given.diameter, tolerance=given.tolerance, end=0.0, full_from=0.0, full_to=0.0)
    try:
        bore_low, bore_high = _deviations(hub.bore, hub.bore_tolerance)
        shaft_low, shaft_high = _deviations(shaft.diameter, shaft.tolerance)
    except TableError as error:
        supply = f"correct coupling.hubs.{side}.bore_tolerance or {side}.shaft.tolerance"
        return not_checked(CHECK, f"{side} hub", str(error), supply)
    nominal = hub.bore - shaft.diameter
    return _judged(drive, side, hub, shaft, nominal + bore_low - shaft_high, nominal + bore_high - shaft_low)


def _deviations(nominal: float, tolerance: str | None) -> tuple[float, float]:
    if tolerance is None:
        return 0.0, 0.0
    found = limits(nominal, tolerance)
    return found.lower, found.upper


def _judged(drive: Drive, side: str, hub: Hub, shaft: ShaftEnd, least: float, most: float) -> Finding:
    limit = drive.job.require.bore_play
    unknown = [
        path
        for path, given in ((f"coupling.hubs.{side}.bore_tolerance", hub.bore_tolerance),
                            (f"{side}.shaft.tolerance", shaft.tolerance))
        if given is None
    ]  # fmt: skip
    what = (
        f"shaft {mm(shaft.diameter)} {shaft.tolerance or '(no tolerance)'} in the {side} hub's bore "
        f"{mm(hub.bore)} {hub.bore_tolerance or '(no tolerance)'}"
    )
    placed = drive.placed
    at = drive.at(placed.hub(side).outer) if placed is not None else None
    keyed = hub.fastening.startswith("key")
    if least < -1e-9:
        finding = compare(
            check=CHECK, subject=f"{side} hub", value=least, limit=0.0, unit="mm", at_least=True, at=at,
            path=f"coupling.hubs.{side}.bore",
            message=f"{what}: the shaft is up to {mm(-least)} larger than the bore",
            remedy=f"a bore of {mm(shaft.diameter)} with a class that always leaves play, or the {side} shaft with one "
            "whose greatest size is below the bore's least",
        )  # fmt: skip
        if keyed and most >= 0.0 and hub.bore >= shaft.diameter - 1e-9:
            # Transition fits are usual for keyed hubs (IEC motor shafts are k6 or j6): they are driven on.
            message = f"{finding.message}; a transition fit, usual for keyed hubs: the hub may have to be driven on"
            return replace(finding, status="warn", message=message, remedy=None)
        return finding
    finding = compare(
        check=CHECK, subject=f"{side} hub", value=most, limit=limit, unit="mm", at_least=False, at=at,
        path="require.bore_play",
        message=f"{what}: play {mm(least)} to {mm(most)}; at most {mm(limit)} allowed",
        remedy=f"a bore of {mm(shaft.diameter)} with a closer class (H7), or a closer shaft class (h6)"
        if most - least > limit or abs(hub.bore - shaft.diameter) < 1e-9
        else f"a hub with a bore of {mm(shaft.diameter)}",
    )  # fmt: skip
    if unknown and finding.status == "pass":
        message = f"{finding.message}; compared by nominal sizes where no tolerance is given"
        return replace(finding, status="warn", message=message, remedy=f"give {' and '.join(unknown)}")
    return finding
