"""`misalignment`: what the shafts have against what the coupling permits, singly and combined; forces on bearings."""

from __future__ import annotations

from fitcheck.checks.aligned import Aligned, aligned_of, shown
from fitcheck.checks.bearing_force import restoring_findings, rigid_findings
from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare
from fitcheck.checks.sides import Missing
from fitcheck.checks.work_units import open_question, three
from fitcheck.checks.working import Working, ratings_of, working_of
from fitcheck.job.drive import DriveData
from fitcheck.job.ratings import Ratings
from fitcheck.mechanics.joints import oldham
from fitcheck.mechanics.misalignment import Offsets, flexing_angle, usage

CHECK = "misalignment"
SUM = "the sum of shares is an assumption, linear; the maker's diagram prevails"
ENDLESS = 1e6
DOUBLE = ("double slit", "double disc", "double universal joint")


def check(drive: Drive) -> tuple[Finding, ...]:
    """Parallel, angular and axial against the ratings, their sum of shares, and the forces on the bearings."""
    data, ratings = drive.job.drive or DriveData(), ratings_of(drive)
    required = drive.job.drive is not None
    aligned = aligned_of(drive)
    if isinstance(aligned, Missing):
        return (open_question(CHECK, "coupling", aligned, required=required),)
    actual = aligned.judged(data)
    if drive.job.coupling.family == "rigid":
        return rigid_findings(drive, aligned, actual, required=required)
    unknown = [name for name in ("parallel", "angular", "axial") if getattr(ratings, name) is None]
    found = [
        _single(drive, data, aligned, actual, ratings, kind)
        for kind in ("parallel", "angular", "axial")
        if getattr(ratings, kind) is not None
    ]
    missing = [kind for kind in unknown if kind != "axial" or actual.axial_mm > 0.0]
    if missing:
        lacking = Missing(
            reason=f"the permitted {' and '.join(missing)} misalignment is not given; the shafts have "
            f"{three(actual.parallel_mm)} "
            f"mm parallel, {three(actual.angular_deg)}° angular and {three(actual.axial_mm)} mm axial",
            supply="give " + " and ".join(f"coupling.ratings.{kind}" for kind in missing),
        )
        found.append(open_question(CHECK, " and ".join(missing), lacking, required=required))
    else:
        found.append(_combined(drive, data, actual, ratings))
    return (*found, *restoring_findings(drive, actual))


def _single(drive: Drive, data: DriveData, aligned: Aligned, actual: Offsets, ratings: Ratings, kind: str) -> Finding:
    parts, unit, attribute = {
        "parallel": (aligned.parallel, "mm", "parallel_mm"),
        "angular": (aligned.angular, "deg", "angular_deg"),
        "axial": (aligned.axial, "mm", "axial_mm"),
    }[kind]
    value, limit = getattr(actual, attribute), getattr(ratings, kind)
    worst, likely = getattr(aligned.worst, attribute), getattr(aligned.likely, attribute)
    family = drive.job.coupling.family
    message = (
        f"{kind} misalignment {three(worst)} {unit} at worst, {three(likely)} {unit} as root sum square "
        f"({shown(parts, unit)}), judged as {data.asked.misalignment_sum}; at most {three(limit)} {unit} permitted"
    )
    told = [_consequence(drive, actual, kind) if value > 0.0 else "", _over(family) if value > limit else ""]
    consequence = ". ".join(text for text in told if text)
    ways = {
        "parallel": "closer pilots and registers, or alignment by a dial indicator (drive.alignment)",
        "angular": "seats squarer to the axis, or alignment by a dial indicator (drive.alignment)",
        "axial": "more axial room in the coupling, or less warming",
    }
    return compare(
        check=CHECK, subject=kind, value=value, limit=limit, unit=unit, at_least=False,
        at=None if drive.placed is None else drive.at(0.5 * (drive.placed.start + drive.placed.stop)),
        path=f"coupling.ratings.{kind}", message=message + (f". {consequence}" if consequence else ""),
        remedy=f"a coupling that permits at least {three(value)} {unit}, or {ways[kind]}{_likely(data, likely, limit)}",
    )  # fmt: skip


def _likely(data: DriveData, likely: float, limit: float) -> str:
    """The other way of adding up, where it decides: all tolerances at their worst at once are seldom met."""
    if data.asked.misalignment_sum == "root sum square" or likely > limit:
        return ""
    return (
        f"; as a root sum square it is {three(likely)}, which is permitted (drive.asked.misalignment_sum, where rare "
        "excess is bearable)"
    )


def _combined(drive: Drive, data: DriveData, actual: Offsets, ratings: Ratings) -> Finding:
    permitted = Offsets(
        parallel_mm=ratings.parallel or 0.0, angular_deg=ratings.angular or 0.0, axial_mm=ratings.axial or 0.0
    )
    used = usage(actual, permitted)
    # A kind that is present and not permitted at all has an endless share; its own finding fails. A report takes no
    # endless number, so the sum is stated as large.
    value = float(min(used.combined, ENDLESS))
    shares = ", ".join(f"{kind} {_share(share)}" for kind, share in used.shares.items()) or "none"
    message = f"shares of what is permitted: {shares}; together {_share(value)}, at most 100 % ({SUM})"
    family = drive.job.coupling.family
    if family in DOUBLE and ratings.flexing_span is not None:
        angle = flexing_angle(actual.parallel_mm, actual.angular_deg, ratings.flexing_span)
        message += f". Each flexing plane bends by up to {three(angle)}°"
    if value > 1.0:
        message += f". {_over(family)}" if _over(family) else ""
    return compare(
        check=CHECK, subject="combined", value=value, limit=1.0, unit="share", at_least=False,
        path="coupling.ratings", message=message, remedy=_less(value),
    )  # fmt: skip


def _share(share: float) -> str:
    return f"{three(100.0 * share)} %" if share < ENDLESS else "endless, as none is permitted"


def _less(value: float) -> str:
    if value >= ENDLESS:
        return "a coupling that permits each kind of misalignment that the shafts have"
    # Shafts without any misalignment, as aligned by hand, use no share; nothing is to be remedied then.
    times = f"at most {three(1.0 / value)} times as large" if value > 0.0 else "none"
    return f"misalignment {times}, or a coupling that permits that much more"


def _over(family: str) -> str:
    """What a coupling does beyond its limit, by family."""
    if family in ("slit", "double slit"):
        return "Over its limit a slit coupling breaks by fatigue: its ligaments bend once in every turn"
    if family in ("disc", "double disc", "bellows"):
        return f"Over its limit a {family} coupling breaks by fatigue: its metal bends once in every turn"
    if family == "oldham":
        return "Over its limit the disc of an Oldham coupling wears fast"
    if family == "jaw":
        return "Over its limit the spider of a jaw coupling is kneaded in every turn: it heats and wears"
    return ""


def _consequence(drive: Drive, actual: Offsets, kind: str) -> str:
    """What the misalignment does to this family while it turns."""
    family, working = drive.job.coupling.family, working_of(drive)
    if family != "oldham" or kind != "parallel" or not isinstance(working, Working) or working.top_speed is None:
        return ""
    speed = oldham(actual.parallel_mm, working.top_speed).sliding_speed
    return (
        f"The disc slides with up to {three(1000.0 * speed)} mm/s (speed times offset) and wears by it; its play grows "
        "with the wear"
    )
