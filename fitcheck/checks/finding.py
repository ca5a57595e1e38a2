"""A finding, and the verdict and exit code that findings add up to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

Status = Literal["pass", "warn", "fail", "not-checked"]
Verdict = Literal["pass", "fail", "incomplete", "error"]

RESULT_FORMAT = "fitcheck.result/1"


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where: a station (mm), a point in the file frame (mm), a body's name; each None where it does not apply."""

    station: float | None = None
    point: tuple[float, float, float] | None = None
    body: str | None = None


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One answer of one check.

    `margin` is how far `value` lies on the good side of `limit`; negative for a fail. `required` is False for a check
    that may stay not-checked without leaving the job incomplete. `path` is the job field that set the limit.
    `steps` say what to do, in order, where the answer is a way of doing it; `orders` are all ways that were tried, and
    `tools` what each tool does at a screw, each as plain data. `cause` is check and subject of the finding of the same
    job that this one follows from.
    """

    check: str
    subject: str
    status: Status
    value: float | None = None
    limit: float | None = None
    unit: str | None = None
    margin: float | None = None
    at: Place | None = None
    message: str
    remedy: str | None = None
    required: bool = True
    path: str | None = None
    steps: tuple[str, ...] = ()
    orders: tuple[dict[str, Any], ...] = ()
    tools: tuple[dict[str, Any], ...] = ()
    cause: tuple[str, str] | None = None

    def to_dict(self) -> dict[str, Any]:
        """The finding by the contract's names; numbers rounded to 1e-6."""

        def number(value: float | None) -> float | None:
            return None if value is None else round(value, 6)

        at = None
        if self.at is not None:
            point = None if self.at.point is None else [round(v, 6) for v in self.at.point]
            at = {"station": number(self.at.station), "point": point, "body": self.at.body}
        return {
            "check": self.check,
            "subject": self.subject,
            "status": self.status,
            "value": number(self.value),
            "limit": number(self.limit),
            "unit": self.unit,
            "margin": number(self.margin),
            "at": at,
            "message": self.message,
            "remedy": self.remedy,
            **({"steps": list(self.steps)} if self.steps else {}),
            **({"orders": list(self.orders)} if self.orders else {}),
            **({"tools": list(self.tools)} if self.tools else {}),
            **({"cause": {"check": self.cause[0], "subject": self.cause[1]}} if self.cause else {}),
        }


def compare(
    *, check: str, subject: str, value: float, limit: float, unit: str, at_least: bool, message: str,
    remedy: str | None, at: Place | None = None, path: str | None = None,
) -> Finding:  # fmt: skip
    """A pass or fail by one number; the remedy is kept only for a fail.

    Args:
        at_least: True where `value` must reach `limit`, False where it must not exceed it.
    """
    margin = value - limit if at_least else limit - value
    passed = margin >= -1e-9
    return Finding(
        check=check, subject=subject, status="pass" if passed else "fail", value=value, limit=limit, unit=unit,
        margin=margin, at=at, message=message, remedy=None if passed else remedy, path=path,
    )  # fmt: skip


def not_checked(check: str, subject: str, reason: str, supply: str, *, required: bool = True) -> Finding:
    """What could not be decided: why, and what to supply."""
    return Finding(check=check, subject=subject, status="not-checked", message=reason, remedy=supply, required=required)


def verdict_of(findings: Iterable[Finding], *, strict: bool = False) -> Verdict:
    """The verdict of one job: incomplete before fail before pass; no findings at all is incomplete."""
    found = list(findings)
    if not found or any(f.status == "not-checked" and f.required for f in found):
        return "incomplete"
    bad = ("fail", "warn") if strict else ("fail",)
    return "fail" if any(f.status in bad for f in found) else "pass"
