"""`pilot-fit`: each machine's register enters its pilot bore without too much play."""

from __future__ import annotations

from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.sides import Side
from fitcheck.checks.wording import mm
from fitcheck.job.model import Register

CHECK = "pilot-fit"


def check(drive: Drive) -> tuple[Finding, ...]:
    """For each side with a register: its diametral play in the pilot, and its height against the pilot's depth."""
    return tuple(finding for side in drive.sides for finding in _side(drive, side))


def _side(drive: Drive, side: Side) -> list[Finding]:
    end, register = side.end, side.register
    if end is None or not end.on_adapter:
        reason = f"the adapter has no seat for the {side.name} in this file"
        return [not_checked(CHECK, side.name, reason, "a file with both seats", required=False)]
    if register is None and end.pilot is None and end.register is not None:
        reason = f"the adapter locates the {side.name} by a spigot, and its recess is not in the job"
        supply = f"compare the spigot of {mm(end.register.diameter)} with the {side.name}'s recess"
        return [not_checked(CHECK, side.name, reason, supply, required=False)]
    if register is None:
        reason = side.frame_problem or f"the {side.name}'s register is neither in the job nor in the file"
        supply = f"give {side.name}.register (diameter, height) or {side.name}.frame{side.nearest_frame()}"
        return [not_checked(CHECK, side.name, reason, supply, required=side.frame_problem is not None)]
    bore = end.pilot.diameter if end.pilot is not None else end.opening.diameter if end.opening is not None else None
    if end.pilot is None and end.register is not None:
        reason = (
            f"the adapter locates the {side.name} by a spigot of {mm(end.register.diameter)}, and the {side.name} is "
            f"given a register of {mm(register.diameter)} (from {side.register_source}): both stand out, and do not fit"
        )
        supply = f"leave {side.name}.register out where the {side.name} has a recess, and measure its play by hand"
        return [not_checked(CHECK, side.name, reason, supply)]
    if bore is None:
        reason = f"no pilot bore was found at the {side.name}'s seat, so nothing locates the {side.name}"
        return [not_checked(CHECK, side.name, reason, "a pilot bore in the adapter")]
    if side.register_deviation is None and side.frame_problem is not None:
        return [not_checked(CHECK, side.name, side.frame_problem, f"correct {side.name}.register.tolerance")]
    found = [_play(drive, side, register, bore, end.seat)]
    if end.pilot is not None:
        depth = end.pilot.depth
        found.append(
            compare(
                check=CHECK, subject=f"{side.name} depth", value=register.height, limit=depth, unit="mm",
                at_least=False, at=drive.at(end.seat), path=f"{side.name}.register.height",
                message=f"the {side.name}'s register is {mm(register.height)} high, the pilot {mm(depth)} deep",
                remedy=f"make the pilot {mm(register.height - depth)} deeper, so that the {side.name} meets its seat",
            )
        )  # fmt: skip
    return found


def _play(drive: Drive, side: Side, register: Register, bore: float, seat: float) -> Finding:
    lower, upper = side.register_deviation or (0.0, 0.0)
    least, most = bore - register.diameter - upper, bore - register.diameter - lower
    limit = drive.job.require.pilot_play
    what = f"register {mm(register.diameter)} (from {side.register_source}) in the {side.name}'s pilot of {mm(bore)}"
    at = drive.at(seat)
    if least < -1e-9:
        return compare(
            check=CHECK, subject=side.name, value=least, limit=0.0, unit="mm", at_least=True, at=at,
            path=f"{side.name}.register.diameter", message=f"{what}: the register is up to {mm(-least)} too large",
            remedy=f"a pilot bore of at least {mm(register.diameter + upper)}",
        )  # fmt: skip
    play = mm(most) if side.register_deviation is None else f"{mm(least)} to {mm(most)}"
    return compare(
        check=CHECK, subject=side.name, value=most, limit=limit, unit="mm", at_least=False, at=at,
        path="require.pilot_play", message=f"{what}: play {play}; at most {mm(limit)} allowed",
        remedy=_bore_for(side, register.diameter + upper, register.diameter + lower + limit),
    )  # fmt: skip


def _bore_for(side: Side, least: float, most: float) -> str:
    """The pilot bores that every register of the tolerance enters, and none rattles in; there may be none."""
    if most < least - 1e-9:
        return (
            f"a closer tolerance of the {side.name}'s register, which spreads by {mm(least - most)} more than "
            "require.pilot_play allows in any bore"
        )
    return f"a pilot bore of {mm(least)} to {mm(most)}"
