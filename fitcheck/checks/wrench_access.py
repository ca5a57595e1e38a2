"""`wrench-access`: the shaft angles at which a tool comes to each screw of the hubs and turns it far enough."""

from __future__ import annotations

from dataclasses import replace
from functools import reduce
from typing import Any

from fitcheck.checks.access import LEAST_ANGLE, Reach, best_of, reaches, screws_of
from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.finding import Finding, Place, compare, not_checked
from fitcheck.checks.together import fewest_angles
from fitcheck.checks.wording import SIDES, degrees, mm, shaft_angle
from fitcheck.errors import TableError
from fitcheck.job.model import ACROSS, Screw
from fitcheck.measurement.intervals import Gap, common, united
from fitcheck.measurement.toolgap import LARGEST

CHECK = "wrench-access"


def check(drive: Drive) -> tuple[Finding, ...]:
    """For each screw the widest range of shaft angles at which an allowed tool works; then both hubs together."""
    placed = drive.placed
    screws = list(screws_of(drive))
    if not screws:
        supply = "give coupling.hubs.motor.screws and coupling.hubs.actuator.screws"
        return (not_checked(CHECK, "screws", "the job gives no screws of the hubs", supply, required=False),)
    if placed is None or drive.measurement.obstacles is None:
        if placed is None and drive.unplaced is not None:
            reason, supply = drive.unplaced.reason, drive.unplaced.supply
        else:
            reason, supply = "the measurement holds no obstacles", "measure the STEP file again"
        return tuple(not_checked(CHECK, screw_name(side, i), reason, supply) for side, i, _ in screws)
    found: list[Finding] = []
    reached: dict[str, dict[str, tuple[Gap, ...]]] = {"motor": {}, "actuator": {}}
    for side, position, screw in screws:
        try:
            every = reaches(drive, placed, side, position)
        except TableError as error:
            supply = f"correct coupling.hubs.{side}.screws.{position - 1}.size"
            found.append(not_checked(CHECK, screw_name(side, position), str(error), supply))
            continue
        found.append(_judged(drive, placed, side, position, screw, every))
        free = united(gap for reach in every if reach.works for gap in reach.free)
        reached[side][screw_name(side, position)] = free
    if all(finding.status == "pass" for finding in found) and all(reached.values()):
        found.append(_together(reached))
    return tuple(found)


def screw_name(side: str, position: int) -> str:
    """The subject of a screw's finding."""
    return f"{side} hub screw {position}"


def ranges_text(free: tuple[Gap, ...]) -> str:
    """Free ranges in words."""
    if len(free) == 1 and free[0].width >= 360.0:
        return "at every shaft angle"
    shown = sorted(free, key=lambda gap: -gap.width)[:6]
    text = ", ".join(f"{shaft_angle(gap.start)} to {shaft_angle(gap.stop)}" for gap in sorted(shown, key=_start))
    return f"at shaft angles {text}" + (f" and {len(free) - 6} narrower ranges" if len(free) > 6 else "")


def _start(gap: Gap) -> float:
    return gap.start


def _middle(gap: Gap) -> float:
    return (gap.start + gap.width / 2) % 360.0


def blocked_text(drive: Drive, reach: Reach) -> str:
    """What is in a tool's way, in words."""
    what = reach.hindered_by or drive.body_name(reach.blocker) or "material"
    return f"{what} is in the way of {'the arm of ' if reach.by_arm else ''}a {reach.tool.name}"


def _judged(drive: Drive, placed: Placed, side: str, position: int, screw: Screw, every: tuple[Reach, ...]) -> Finding:
    best = best_of(every)
    missing = None if best.works else _unknown(drive, placed, side, position, every)
    if missing is not None:
        return replace(missing, tools=tuple(_data(drive, reach) for reach in every))
    station = placed.hub(side).inwards(screw.station)
    subject, path = screw_name(side, position), f"coupling.hubs.{side}.screws.{position - 1}"
    if best.works:
        message = f"a {best.tool.name} ({mm(best.tool.width)} across) reaches the {screw.size} screw at station "
        message += f"{mm(station)}{_way_text(best)} {ranges_text(best.free)}; {_best_text(best)}"
        message += "".join(_other_text(drive, reach) for reach in every if reach is not best)
        at, remedy = drive.at(station), None
    else:
        body = drive.body_name(best.blocker)
        message = (
            f"no allowed tool reaches the {screw.size} screw at station {mm(station)}: {blocked_text(drive, best)}"
        )
        message += f" ({mm(best.tool.width)} across) at every shaft angle"
        message += "".join(_other_text(drive, reach) for reach in every if reach is not best)
        at = Place(station=station, point=drive.at(station).point, body=None if best.hindered_by else body)
        remedy = None
        if not drive.trial:
            from fitcheck.checks.access_remedies import access_remedy

            remedy = access_remedy(drive, placed, side, position, best)
    if screw.head_end is None and screw.direction == ACROSS:
        message += "; the head is taken to end at the hub's outside diameter"
    finding = compare(
        check=CHECK, subject=subject, value=best.widest if best.works else 0.0, limit=LEAST_ANGLE, unit="deg",
        at_least=True, message=message, remedy=remedy, at=at, path=path,
    )  # fmt: skip
    finding = replace(finding, tools=tuple(_data(drive, reach) for reach in every))
    return finding if best.works else _in_order(drive, side, position, finding)


def _unknown(drive: Drive, placed: Placed, side: str, position: int, every: tuple[Reach, ...]) -> Finding | None:
    """Where no tool is known to reach a screw, and one may: what is missing. None where a later turn is soon enough."""
    may = list(dict.fromkeys(reach.tool.name for reach in every if reach.unknown and reach.tool.tilt == 0.0))
    if not may:
        return None
    if drive.job.require.access == "in order":
        from fitcheck.checks.assembly_order import tightened_before

        if tightened_before(drive, side, position) is not None:
            return None
    supply = "give coupling.element_diameter"
    if not drive.trial:
        from fitcheck.checks.element_remedies import widest_element

        most = widest_element(drive, side, position)
        supply += "" if most is None else f" (with up to {mm(most)} a tool reaches it)"
    screw = placed.hub(side).hub.screws[position - 1]
    reason = (
        f"whether a {' or a '.join(may)} reaches the {screw.size} screw at station "
        f"{mm(placed.hub(side).inwards(screw.station))} from between the hubs is not known: the job does not tell how "
        "wide the element there is"
    )
    return not_checked(CHECK, screw_name(side, position), reason, supply)


def _way_text(reach: Reach) -> str:
    return ", put in between the hubs along its arm," if reach.beside else ""


def _data(drive: Drive, reach: Reach) -> dict[str, Any]:
    """What a tool does, as plain data: degrees of shaft angle and mm; the best angle of the widest tools alone."""
    best = None if reach.best is None else round(reach.best, 3) % 360.0
    return {
        "tool": reach.tool.name,
        "tightens": reach.tool.tilt == 0.0,
        "free": [[round(gap.start, 3), round(gap.stop, 3)] for gap in reach.free],
        "best": best,
        "margin": None if best is None else round(reach.margin, 3),
        "swing": None if best is None else round(reach.swing, 1),
        "put_in": "between the hubs" if reach.beside else "along the screw",
        "blocked_by": None if reach.free or reach.unknown else reach.hindered_by or drive.body_name(reach.blocker),
    }


def _in_order(drive: Drive, side: str, position: int, finding: Finding) -> Finding:
    """A screw that is out of reach once all is assembled, where the job asks only that its turn comes before."""
    if drive.job.require.access != "in order":
        return finding
    from fitcheck.checks.assembly_order import tightened_before

    when = tightened_before(drive, side, position)
    if when is None:
        return finding
    return replace(finding, status="warn", message=f"{finding.message}; {when}")


def _best_text(reach: Reach) -> str:
    text = f"best {shaft_angle(reach.best or 0.0)}"
    if reach.margin >= LARGEST - 1e-9:
        text += f", with more than {mm(LARGEST)} to spare"
    else:
        text += f", with {mm(reach.margin)} to spare"
    if reach.tool.arm is not None:
        text += f", where the arm swings {degrees(reach.swing)}"
    return text


def _other_text(drive: Drive, reach: Reach) -> str:
    if reach.tool.tilt > 0.0:
        if reach.widest < LEAST_ANGLE:
            return f"; a ball end {'may reach it' if reach.unknown else 'does not reach it'}"
        tilt = f"tilted up to {degrees(reach.tool.tilt)}"
        return f"; a ball end, {tilt}, drives it in {ranges_text(reach.free)} (tighten with the straight end)"
    if reach.works:
        return f"; a {reach.tool.name}{_way_text(reach)} {ranges_text(reach.free)}"
    return f"; a {reach.tool.name} does not: {blocked_text(drive, reach)}"


def _together(reached: dict[str, dict[str, tuple[Gap, ...]]]) -> Finding:
    """Whether all screws of both hubs are reached at one shaft angle."""
    every = {name: gaps for side in SIDES for name, gaps in reached[side].items()}
    shared = reduce(_shared, every.values())
    width = max((gap.width for gap in shared), default=0.0)
    if width >= LEAST_ANGLE:
        best = max(shared, key=lambda gap: gap.width)
        message = f"all screws of both hubs are reached {ranges_text(shared)}; best {shaft_angle(_middle(best))}"
        status, remedy = "pass", None
    else:
        few = [f"{shaft_angle(angle)} ({', '.join(names)})" for angle, names in fewest_angles(every, LEAST_ANGLE)]
        message = "the screws of both hubs are reached at no common shaft angle; turn the shafts between them"
        message += f": {len(few)} shaft angles are enough, {' and '.join(few)}" if few else ""
        apart = any(len(fewest_angles(reached[side], LEAST_ANGLE)) != 1 for side in SIDES)
        which = "screws of each hub that" if apart else "hubs whose screws"
        status, remedy = "warn", f"{which} point the same way, or a second opening"
    return Finding(
        check=CHECK, subject="both hubs", status="pass" if status == "pass" else "warn", value=width,
        limit=LEAST_ANGLE, unit="deg", margin=width - LEAST_ANGLE, message=message, remedy=remedy,
        path="coupling.hubs",
    )  # fmt: skip


def _shared(first: tuple[Gap, ...], second: tuple[Gap, ...]) -> tuple[Gap, ...]:
    return united(Gap(start=a, stop=b, start_owner=-1, stop_owner=-1) for a, b in common(first, second))
