"""A trial on the bench: the readings of a file with their fit, as data, as text, and as lines for a job file."""

from __future__ import annotations

import codecs
import os
from dataclasses import dataclass
from math import degrees
from typing import Any

from fitcheck.checks.work_units import nm, three
from fitcheck.errors import FitcheckError, JobError, UsageError
from fitcheck.mechanics.bench import BenchFit, fit_bench
from fitcheck.mechanics.bench_readings import Readings, read_readings
from fitcheck.report.cautions import CAUTION, CAUTIONS
from fitcheck.report.page import clean, wrapped

FORMAT = "fitcheck.bench/1"
WIDE = 0.2
"""Width of the interval, as a share of the stiffness, from which on more readings are asked for."""
MOST_BYTES = 16 * 1024 * 1024


class UndecidedError(FitcheckError, ValueError):
    """The readings were read, and no stiffness can be told from them."""


@dataclass(frozen=True, kw_only=True)
class Trial:
    """Readings and what they say. `rated_torque` in N·m, None where not given."""

    taken: Readings
    fit: BenchFit
    rated_torque: float | None

    @property
    def backlash_most(self) -> float | None:
        """Backlash with its error added, degrees: what a job should reckon with; None where it is not told."""
        if self.fit.backlash is None or self.fit.backlash_error is None:
            return None
        return degrees(max(0.0, self.fit.backlash + self.fit.backlash_error))

    @property
    def stiffness_range(self) -> tuple[float, float]:
        """What a job should reckon with, N·m/rad: the interval, widened where the readings bend."""
        ends = (self.fit.stiffness.low, self.fit.stiffness.high, *(self.fit.bend or ()))
        return min(ends), max(ends)

    @property
    def held(self) -> float | None:
        """The greatest torque below the onset of slip that was read before it, N·m; None where no slip was seen."""
        onset = self.fit.slip_onset
        if onset is None:
            return None
        before = (abs(torque) for torque in self.taken.torques[: self.fit.slipped[0]])
        return max((torque for torque in before if torque < onset), default=None)

    def job_lines(self) -> str:
        """The result as it stands in a job file, ending in a newline."""
        stiffness, (low, high) = self.fit.stiffness, self.stiffness_range
        lines = [
            "coupling:",
            "  ratings:",
            f"    torsional_stiffness: {stiffness.nominal:.6g} N*m/rad",
            f"    torsional_stiffness_range: [{low:.6g} N*m/rad, {high:.6g} N*m/rad]",
        ]
        if self.backlash_most is not None:
            lines.append(f"    backlash: {self.backlash_most:.6g} deg")
        if self.held is not None:
            lines += [
                f"# slip was seen at {self.fit.slip_onset:.6g} N*m; if a hub slipped on its shaft, to its holding:",
                f"#   slip_torque: {self.held:.6g} N*m",
            ]
        return "\n".join(lines) + "\n"

    def to_dict(self) -> dict[str, Any]:
        """The object that `fitcheck bench --format json` prints; angles degrees, torques N·m."""
        fit = self.fit

        def angle(value: float | None) -> float | None:
            return None if value is None else degrees(value)

        return {
            "format": FORMAT,
            "file": self.taken.file,
            "readings": len(self.taken.torques),
            "used": fit.used,
            "confidence": fit.confidence,
            "torsional_stiffness": {
                "low": fit.stiffness.low, "nominal": fit.stiffness.nominal, "high": fit.stiffness.high,
                "unit": "N·m/rad",
            },
            "backlash": {"value": angle(fit.backlash), "error": angle(fit.backlash_error), "unit": "deg"},
            "hysteresis": {"value": angle(fit.hysteresis), "error": angle(fit.hysteresis_error), "unit": "deg"},
            "scatter": {"value": angle(fit.scatter), "unit": "deg"},
            "slip_onset": fit.slip_onset,
            "held_below_slip": self.held,
            "rated_torque": self.rated_torque,
            "bend": None if fit.bend is None else {
                "at_no_torque": fit.bend[0], "at_greatest": fit.bend[1], "unit": "N·m/rad",
            },
            "turning": [self.taken.lines[index] for index in fit.turning],
            "outliers": [self.taken.lines[index] for index in fit.outliers],
            "slipped": [self.taken.lines[index] for index in fit.slipped],
            "above_rating": [self.taken.lines[index] for index in fit.above_rating],
            "job": self.job_lines(),
            "cautions": list(CAUTIONS),
        }  # fmt: skip


def load_readings(path: str) -> Readings:
    """The readings of a CSV file.

    Raises:
        JobError: the file cannot be read, or something in it is wrong; with its line.
    """
    try:
        with open(path, "rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise JobError("there is no such file; needed is a CSV file of torque and twist", path) from None
    except IsADirectoryError:
        raise JobError("this is a folder; needed is a CSV file of torque and twist", path) from None
    except OSError as error:
        raise JobError(f"the readings cannot be read: {error.strerror or error}", path) from None
    if len(data) > MOST_BYTES:
        raise JobError(f"the file is larger than {MOST_BYTES} bytes; readings of a bench are a few kilobytes", path)
    return read_readings(_text(data, path), os.fspath(path))


def _text(data: bytes, path: str) -> str:
    """The text of a table as spreadsheets save it: UTF-8, UTF-16 with its mark, or Windows' western letters.

    Raises:
        JobError: it is none of these.
    """
    try:
        if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            return data.decode("utf-16")
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        try:
            # A wrong letter can only stand in a remark or make a unit unknown, never change a number.
            text = data.decode("cp1252")
        except UnicodeDecodeError:
            text = "\0"
        if "\0" in text:
            raise JobError("the file is no text; save the table as CSV in UTF-8", path, line) from None
        return text


def trial_of(taken: Readings, rated_torque: float | None, confidence: float, free_torque: float) -> Trial:
    """Fit readings.

    Args:
        taken: in order of time.
        rated_torque: N·m.
        confidence: of the intervals.
        free_torque: N·m; readings below it lie in the play.

    Raises:
        UndecidedError: too few readings, or too scattered; says how many there are and how many are needed.
    """
    try:
        fit = fit_bench(taken, rated_torque, confidence, free_torque)
    except UsageError as error:
        raise UndecidedError(f"{taken.file}: {error}") from error
    return Trial(taken=taken, fit=fit, rated_torque=rated_torque)


def trial_text(trial: Trial) -> str:
    """The report as a page, at most 100 columns wide, ending in a newline."""
    fit, taken = trial.fit, trial.taken
    sure = f"{100.0 * fit.confidence:g} %"
    stiffness = fit.stiffness
    lines = wrapped(clean(f"Bench readings {taken.file}: {len(taken.torques)} readings, {fit.used} of them in the fit"))
    rows = [
        f"torsional stiffness: {stiffness.nominal:.4g} N·m/rad, with {sure} confidence {stiffness.low:.4g} to "
        f"{stiffness.high:.4g}",
        _interval("backlash", fit.backlash, fit.backlash_error, sure, "only one direction was loaded"),
        _interval("hysteresis", fit.hysteresis, fit.hysteresis_error, sure, "only loading or only unloading was read"),
        f"scatter about the fit: {degrees(fit.scatter):.3g}°",
        "slip: none seen" if fit.slip_onset is None else f"slip: begins at {nm(fit.slip_onset)}; readings from "
        "there on "
        f"({_places(trial, fit.slipped)}) are left out",
    ]  # fmt: skip
    if fit.bend is not None:
        rows.append(
            f"not linear: {three(fit.bend[0])} N·m/rad at low torque, {three(fit.bend[1])} at the greatest; the "
            "straight line is their mean, the job's range holds both; read the torques that the drive uses"
        )
    if fit.turning:
        rows.append(f"repeated where the torque turns, loading or unloading, left out: {_places(trial, fit.turning)}")
    if fit.outliers:
        rows.append(f"outliers, left out: {_places(trial, fit.outliers)}")
    if fit.above_rating and trial.rated_torque is not None:
        left = set(fit.outliers) | set(fit.slipped) | set(fit.turning)
        used = tuple(index for index in fit.above_rating if index not in left)
        rows.append(
            f"above the rating of {nm(trial.rated_torque)}: {_places(trial, fit.above_rating)}; {len(used)} of "
            f"{len(fit.above_rating)} are in the fit"
        )
    if stiffness.high - stiffness.low > WIDE * stiffness.nominal:
        rows.append("the interval is wide: take more readings, loading and unloading in both directions, better 20")
    for row in rows:
        lines += wrapped(clean(row), 2, "- ")
    lines += wrapped(
        "The interval covers scatter only, not the lever arm or the dial; the twist of the bench's own shafts is in "
        "it.",
        2,
    )
    lines += ["", "  For the job file (backlash with its error added):", ""]
    lines += [f"  {line}" for line in trial.job_lines().splitlines()]
    return "\n".join([*lines, "", *wrapped(CAUTION)]) + "\n"


def _interval(name: str, value: float | None, error: float | None, sure: str, why: str) -> str:
    if value is None or error is None:
        return f"{name}: not told, as {why}"
    value = 0.0 if abs(value) < 1e-12 else value  # what rounding leaves of none
    words = f"{name}: {degrees(value):.3g}° ± {degrees(error):.2g}° ({sure})"
    return f"{words}, not told apart from none" if abs(value) <= error else words


def _places(trial: Trial, indices: tuple[int, ...]) -> str:
    numbers = [str(trial.taken.lines[index]) for index in indices]
    more = f" and {len(numbers) - 12} more" if len(numbers) > 12 else ""
    return f"line{'s' if len(numbers) > 1 else ''} {', '.join(numbers[:12])}{more}"
