"""What a check of strength may say while a bad case is not known: it may fail, and it may not pass."""

from __future__ import annotations

from fitcheck.checks.finding import Finding
from fitcheck.checks.sides import Missing
from fitcheck.checks.work_units import open_question
from fitcheck.checks.working import Case, Working


def unknown_case(working: Working) -> Missing | None:
    """The bad cases that could ask for more than those that are known, and what to supply; None where all are known.

    A cycle that is not given is no such case where the motor's peak torque is known: it drives no more than that.
    """
    known = {case.subject for case in working.cases if isinstance(case, Case)}
    lacking = [
        case for case in working.cases if not isinstance(case, Case) and not _covered(case[0], known)
    ]  # fmt: skip
    if not lacking:
        return None
    names = " and ".join(name for name, _ in lacking)
    supplies = dict.fromkeys(missing.supply for _, missing in lacking)
    return Missing(reason=f"what passes in {names} is not known", supply="; ".join(supplies))


def decided(finding: Finding, working: Working) -> Finding:
    """The finding, or not-checked where it passes by the known torques only."""
    missing = unknown_case(working)
    if missing is None or finding.status not in ("pass", "warn"):
        return finding
    reason = f"{missing.reason}; by the torques that are known it would {finding.status}: {finding.message}"
    return open_question(
        finding.check, finding.subject, Missing(reason=reason, supply=missing.supply), required=finding.required
    )  # fmt: skip


def _covered(name: str, known: set[str]) -> bool:
    return name == "peak" and "blocked carriage" in known
