"""The answer to the family question, as data and as a page of text."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from math import isfinite
from typing import Any

from fitcheck.advice.families import NOT, Opinion, opinions, span
from fitcheck.advice.fastening import Choice, choices
from fitcheck.advice.figures import Figures, as_rated, typical
from fitcheck.advice.needs import Needs, needs_of
from fitcheck.checks.drive import drive_of
from fitcheck.checks.sides import Missing
from fitcheck.checks.wording import SIDES
from fitcheck.checks.work_units import nm, three
from fitcheck.checks.working import ratings_of, working_of
from fitcheck.job.model import LoadedJob
from fitcheck.measurement.model import Measurement
from fitcheck.report.cautions import WORK, cautions_for
from fitcheck.report.page import clean, wrapped

FORMAT = "fitcheck.advice/1"
SOURCE = "Typical figures: common practice, no source, unless a source stands with them; the maker's prevail."


@dataclass(frozen=True, kw_only=True)
class Advice:
    """Which families suit a drive.

    Attributes:
        name: the job as the user named it.
        candidate: the family of the job's coupling.
        outside_diameter: mm, that the typical torques are for: the candidate's.
        needs: what the drive asks; None where the job gives no drive.
        missing: why there are none.
        opinions: all families, those that suit first.
        fastenings: by side.
    """

    name: str
    candidate: str
    outside_diameter: float
    needs: Needs | None
    missing: Missing | None
    opinions: tuple[Opinion, ...]
    fastenings: dict[str, tuple[Choice, ...]]

    @property
    def exit_code(self) -> int:
        """0 where a family suits (with care or not), 1 where none does, 3 where the job gives no drive."""
        if self.needs is None:
            return 3
        return 0 if any(one.verdict != NOT for one in self.opinions) else 1

    def to_dict(self) -> dict[str, Any]:
        """The object that `fitcheck advise --format json` prints."""
        return {
            "format": FORMAT,
            "job": self.name,
            "candidate": self.candidate,
            "outside_diameter": self.outside_diameter,
            "needs": None if self.needs is None else _finite(asdict(self.needs)),
            "missing": None if self.missing is None else {"reason": self.missing.reason, "supply": self.missing.supply},
            "families": [
                {
                    "family": one.family,
                    "verdict": one.verdict,
                    "for": list(one.reasons_for),
                    "care": list(one.care),
                    "against": list(one.against),
                    "figures": _finite(asdict(one.figures)),
                    "effects": _finite(asdict(one.effects)),
                }
                for one in self.opinions
            ],
            "fastenings": {side: [asdict(choice) for choice in found] for side, found in self.fastenings.items()},
            "cautions": list(cautions_for(WORK)),
        }


def advise(name: str, loaded: LoadedJob, measurement: Measurement) -> Advice:
    """Weigh every family for a job's drive.

    Args:
        name: of the job, for the report.
        loaded: the job.
        measurement: oriented for the job.
    """
    drive = drive_of(loaded, measurement, remedies=False)
    working, coupling = working_of(drive), loaded.job.coupling
    if isinstance(working, Missing):
        return Advice(
            name=name, candidate=coupling.family, outside_diameter=coupling.outside_diameter, needs=None,
            missing=working, opinions=(), fastenings={},
        )  # fmt: skip
    needs = needs_of(drive, working)
    figures = tuple(
        as_rated(one, ratings_of(drive)) if one.family == coupling.family else one
        for one in typical(coupling.outside_diameter)
    )
    return Advice(
        name=name, candidate=coupling.family, outside_diameter=coupling.outside_diameter, needs=needs, missing=None,
        opinions=opinions(needs, working, figures),
        fastenings={side: choices(drive, side, needs) for side in SIDES},
    )  # fmt: skip


def advice_text(advice: Advice) -> str:
    """The advice as a page, at most 100 columns wide, ending in a newline."""
    lines = wrapped(clean(f"Coupling families for {advice.name}"))
    if advice.needs is None:
        assert advice.missing is not None
        lines += wrapped(f"Not decided: {advice.missing.reason}.", 2)
        lines += wrapped(f"{advice.missing.supply}.", 2, "Supply: ")
        return "\n".join([*lines, "", *wrapped(" ".join(cautions_for(WORK)))]) + "\n"
    lines += ["", "  What the drive asks", *_needs(advice.needs)]
    for one in advice.opinions:
        mark = ""
        if one.family == advice.candidate:
            mark = " (the job's candidate, by its ratings)" if one.figures.given else " (the job's candidate)"
        lines += ["", *wrapped(f"{one.family}: {one.verdict}{mark}", 2)]
        for label, reasons in (("against: ", one.against), ("care: ", one.care), ("for: ", one.reasons_for)):
            for reason in reasons:
                lines += wrapped(clean(reason), 4, label, 13)
        lines += wrapped(_figures(one.figures), 4, "figures: ", 13)
    for side, found in advice.fastenings.items():
        lines += ["", f"  Fastening on the {side} shaft"]
        for choice in found:
            mark = " (the job's)" if choice.candidate else ""
            lines += wrapped(clean(f"{choice.verdict}; {choice.why}"), 4, f"{choice.fastening}{mark}: ", 8)
        if not found:
            lines += wrapped(f"not known: give {side}.shaft", 4)
    diameter = three(advice.outside_diameter)
    size = f"Torques and stiffnesses are for the candidate's outside diameter, {diameter} mm."
    return "\n".join([*lines, "", *wrapped(f"{size} {SOURCE}"), "", *wrapped(" ".join(cautions_for(WORK)))]) + "\n"


def _figures(figures: Figures) -> str:
    """What a family does, typically or as rated, in one sentence."""
    play = "none" if figures.backlash[1] == 0.0 else span(figures.backlash, "°")
    permits = ", ".join(
        f"{name} {span(pair, unit) if pair[1] > 0.0 else 'none'}"
        for name, pair, unit in (
            ("angular", figures.angular, "°"), ("parallel", figures.parallel, " mm"), ("axial", figures.axial, " mm"),
        )
    )  # fmt: skip
    shocks = "does not soften shocks" if figures.shock == "none" else f"softens shocks {figures.shock}"
    return (
        f"torsional stiffness {figures.stiffness_class}, {span(figures.stiffness, ' N·m/rad')}; permits {permits}; "
        f"backlash {play}; {shocks}; "
        f"{span(figures.speed, ' rpm')}; {span(figures.torque, ' N·m')}"
    )


def _needs(needs: Needs) -> list[str]:
    rows = [f"torque: {nm(needs.worst)} ({needs.worst_how})"]
    if needs.lasting is not None:
        rows.append(f"lasting torque: {nm(needs.lasting)}")
    if needs.offsets is not None:
        parallel, angular, axial = needs.offsets.parallel_mm, needs.offsets.angular_deg, needs.offsets.axial_mm
        rows.append(f"misalignment: {three(parallel)} mm parallel, {three(angular)}° angular, {three(axial)} mm axial")
    if needs.stiffness is not None and isfinite(needs.stiffness):
        rows.append(f"stiffness of the coupling: {three(needs.stiffness)} N·m/rad ({needs.stiffness_how})")
    if needs.backlash is not None:
        rows.append(f"backlash: at most {three(needs.backlash)}°")
    if needs.speed is not None:
        rows.append(f"speed: {three(needs.speed)} rpm")
    rows += [f"not known: {text}" for text in needs.open]
    return [line for row in rows for line in wrapped(clean(row), 4, "- ")]


def _finite(value: Any) -> Any:
    """The same data with endless numbers as None, which JSON can hold."""
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(item) for item in value]
    return None if isinstance(value, float) and not isfinite(value) else value
