"""Fit of bench readings: torsional stiffness with its confidence interval, backlash, hysteresis, onset of slip."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

from fitcheck.errors import UsageError
from fitcheck.mechanics.bench_branches import branches
from fitcheck.mechanics.bench_readings import Readings
from fitcheck.mechanics.bounds import Bounds, above_zero
from fitcheck.mechanics.student_t import t_quantile

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]
    Indices = NDArray[np.intp]

LEAST_READINGS = 6
"""Readings that a fit needs at least, after outliers and slip are left out."""

OUTLIER = 5.0
"""A reading is an outlier where it is off the fit of the others by more than this many standard deviations."""

SLIP_CONFIDENCE = 0.99999
"""Slip has begun in a loading run where this and every later reading of the run, two at least, lies beyond the
prediction interval of the line through those before, at this confidence."""

BENT = (0.9999, 0.05)
"""The readings bend where a term with the square of the torque differs from none at this confidence, and changes the
stiffness by more than this share from no torque to the greatest."""

RUN_START = 4
"""Readings of a loading run that its line needs before slip can be told."""


@dataclass(frozen=True, kw_only=True)
class BenchFit:
    """What the readings say.

    Attributes:
        stiffness: N·m/rad: low and high ends of the confidence interval, and the estimate.
        confidence: of the interval, as 0.95.
        backlash: rad, whole play between both directions, extrapolated to no torque; None with one direction only.
        backlash_error: half width of its confidence interval, rad; None likewise.
        hysteresis: rad, difference of twist between unloading and loading at the same torque; None with one branch.
        hysteresis_error: half width of its confidence interval, rad; None likewise.
        scatter: standard deviation of the twist about the fit, rad.
        slip_onset: torque of the first reading after slip began, N·m, size; None where none was seen.
        outliers: indices of readings left out one by one.
        slipped: indices of readings left out from the onset of slip on.
        turning: indices of readings left out that may be loading or unloading (`bench_branches.branches`).
        bend: tangent stiffness at no torque and at the greatest torque used, N·m/rad, where the readings bend for sure;
            None where they are straight.
        above_rating: indices of readings taken above the coupling's rating; they are used.
        used: number of readings in the fit.
    """

    stiffness: Bounds
    confidence: float
    backlash: float | None
    backlash_error: float | None
    hysteresis: float | None
    hysteresis_error: float | None
    scatter: float
    slip_onset: float | None
    outliers: tuple[int, ...]
    slipped: tuple[int, ...]
    turning: tuple[int, ...]
    bend: tuple[float, float] | None
    above_rating: tuple[int, ...]
    used: int


def fit_bench(
    taken: Readings, rated_torque: float | None = None, confidence: float = 0.95, free_torque: float = 0.0
) -> BenchFit:
    """Fit twist = T/k + c(direction) - h/2 loading, by least squares.

    c differs between positive and negative torque by the backlash; loading (the torque grows in size) lies h/2 to one
    side of the middle, unloading to the other, both towards the torque's sign. One outlier after the other is left
    out while the worst reading is off the fit of the others by more than `OUTLIER` standard deviations. Slip shifts
    every later reading, so it is looked for first, in order of time, and all readings from its onset on are left out.

    Args:
        taken: readings in order of time.
        rated_torque: of the coupling, N·m; readings above it are allowed and marked.
        confidence: of the intervals, over 0 and below 1.
        free_torque: readings of less torque in size lie in the play and are left out, N·m.

    Returns:
        The fit.

    Raises:
        UsageError: too few readings, all at one torque, or the twist does not grow with the torque; the message says
            how many there are and how many are needed.

    Notes:
        The interval covers scatter only, not a wrong lever arm or a dial's own error. The torsion of the bench's shafts
        is in the readings. Elastomers are not linear: `bend` tells it; fit the range of torque that the drive uses. A
        coupling that softens towards high torque looks like slip; slip in the last reading of a run alone is not seen.

    Source: linear regression, textbook (computed); Student's t by `student_t`. Checked in the tests against scipy's
    regression.
    """
    import numpy as np

    torque, twist = np.asarray(taken.torques), np.asarray(taken.twists)
    if not 0.0 < confidence < 1.0:
        raise UsageError(f"a confidence must lie between 0 and 1; found {confidence}")
    if rated_torque is not None:
        above_zero(rated_torque=rated_torque)
    keep = (np.abs(torque) >= free_torque) & (torque != 0.0)
    _enough(int(keep.sum()), torque[keep], 0, 0)
    design = _design(torque)
    either = keep & (design[:, LOADING] == 0.0)
    keep = keep & ~either
    onset = _slip_onset(design, twist, keep)
    slipped: tuple[int, ...] = ()
    if onset is not None:
        slipped = tuple(range(onset, len(torque)))
        keep = keep & (np.arange(len(torque)) < onset)
    outliers = _outliers(design, twist, keep)
    keep[list(outliers)] = False
    _enough(int(keep.sum()), torque[keep], len(slipped), len(outliers))
    above = () if rated_torque is None else tuple(int(i) for i in np.nonzero(np.abs(torque) > rated_torque)[0])
    columns = _present(design[keep])
    values, covariance, scatter, freedom = _regression(design[keep][:, columns], twist[keep])
    t = t_quantile(confidence, freedom)
    errors = t * np.sqrt(np.diag(covariance))
    stiffness = _stiffness(float(values[0]), float(errors[0]))
    bend = None
    curved = _curved(design[keep][:, columns], twist[keep])
    if curved is not None:
        # Play and loop are extrapolated to no torque, for which a straight line through a bent loop is no good.
        bend, values, covariance, scatter, freedom = curved
        t = t_quantile(confidence, freedom)
        errors = t * np.sqrt(np.diag(covariance))
    where = {column: number for number, column in enumerate(columns)}
    play = play_error = loop = loop_error = None
    if POSITIVE in where and NEGATIVE in where:
        one, two = where[POSITIVE], where[NEGATIVE]
        play = float(values[one] - values[two])
        play_error = t * sqrt(covariance[one, one] + covariance[two, two] - 2.0 * covariance[one, two])
    if LOADING in where:
        loop = -2.0 * float(values[where[LOADING]])
        loop_error = 2.0 * float(errors[where[LOADING]])
    return BenchFit(
        stiffness=stiffness,
        confidence=confidence,
        backlash=play,
        backlash_error=play_error,
        hysteresis=loop,
        hysteresis_error=loop_error,
        scatter=scatter,
        slip_onset=None if onset is None else float(abs(torque[onset])),
        outliers=outliers,
        slipped=slipped,
        turning=tuple(int(index) for index in np.nonzero(either)[0]),
        bend=bend,
        above_rating=above,
        used=int(keep.sum()),
    )


COMPLIANCE, POSITIVE, NEGATIVE, LOADING = range(4)
"""Columns of the regression: torque, offset of each direction, the torque's sign for loading and against it for
unloading."""


def _design(torque: Floats) -> Floats:
    import numpy as np

    sign = np.sign(torque)
    return np.column_stack([torque, sign > 0.0, sign < 0.0, sign * np.array(branches(list(torque)))]).astype(float)


def _present(design: Floats) -> list[int]:
    import numpy as np

    columns = [COMPLIANCE]
    columns.extend(column for column in (POSITIVE, NEGATIVE) if np.any(design[:, column]))
    branch = design[:, LOADING] * (design[:, POSITIVE] - design[:, NEGATIVE])
    if np.any(branch > 0.0) and np.any(branch < 0.0):
        columns.append(LOADING)
    return columns


def _regression(design: Floats, twist: Floats) -> tuple[Floats, Floats, float, int]:
    import numpy as np

    values, _, rank, _ = np.linalg.lstsq(design, twist, rcond=None)
    freedom = len(twist) - design.shape[1]
    if rank < design.shape[1] or freedom < 1:
        raise UsageError(
            f"{len(twist)} readings do not settle {design.shape[1]} unknowns: needed are readings at several torques "
            "in each direction and branch"
        )
    residual = twist - design @ values
    variance = float(residual @ residual) / freedom
    covariance: Floats = variance * np.linalg.inv(design.T @ design)
    return np.asarray(values, dtype=float), covariance, sqrt(variance), freedom


def _outliers(design: Floats, twist: Floats, keep: Flags) -> tuple[int, ...]:
    import numpy as np

    left, found = keep.copy(), []
    if not twist.any():
        return ()  # nothing twists, so nothing stands out
    while int(left.sum()) > LEAST_READINGS:
        index = np.nonzero(left)[0]
        part = design[index][:, _present(design[index])]
        values, _, rank, _ = np.linalg.lstsq(part, twist[index], rcond=None)
        freedom = len(index) - part.shape[1] - 1
        if rank < part.shape[1] or freedom < 2:
            break
        residual = twist[index] - part @ values
        leverage = np.einsum("ij,ji->i", part, np.linalg.pinv(part))
        spare = np.maximum(1.0 - leverage, 1e-9)
        others = np.maximum(residual @ residual - residual**2 / spare, 0.0) / freedom
        floor = (1e-12 * float(np.abs(twist).max())) ** 2
        deviation = np.abs(residual) / np.sqrt(np.maximum(others, floor) * spare)
        worst = int(np.argmax(deviation))
        if deviation[worst] <= max(OUTLIER, t_quantile(0.9999, freedom)):
            break
        found.append(int(index[worst]))
        left[index[worst]] = False
    return tuple(sorted(found))


def _slip_onset(design: Floats, twist: Floats, keep: Flags) -> int | None:
    for run in _loading_runs(design, keep):
        sense = 1.0 if design[run[0], POSITIVE] else -1.0
        for number in range(RUN_START, len(run) - 1):
            before, after = run[:number], run[number:]
            if _all_beyond(design[:, COMPLIANCE], twist, before, after, sense):
                return int(after[0])
    return None


def _loading_runs(design: Floats, keep: Flags) -> list[Indices]:
    """Indices of each run of loading readings in one direction, in order of time."""
    import numpy as np

    loading = keep & (design[:, LOADING] * (design[:, POSITIVE] - design[:, NEGATIVE]) > 0.0)
    index = np.nonzero(loading)[0]
    # A run ends where a reading of another branch or direction lies between, or the torque's sign changes.
    number = np.arange(len(design))
    other = np.cumsum(keep & ~loading)[index]
    ends = np.nonzero((np.diff(other) > 0) | (np.diff(design[index, POSITIVE]) != 0.0))[0] + 1
    return [run for run in np.split(number[index], ends) if len(run) > RUN_START + 1]


def _all_beyond(torque: Floats, twist: Floats, before: Indices, after: Indices, sense: float) -> bool:
    """Whether every later reading of a run lies beyond the line through the first ones."""
    import numpy as np

    part = np.column_stack([torque[before], np.ones(len(before))])
    rows = np.column_stack([torque[after], np.ones(len(after))])
    if np.linalg.matrix_rank(part) < 2:
        return False
    values, covariance, scatter, freedom = _regression(part, twist[before])
    floor = 1e-9 * float(np.abs(twist).max())
    spread = np.sqrt(scatter**2 + np.einsum("ij,jk,ik->i", rows, covariance, rows)) + floor
    off = (twist[after] - rows @ values) * sense / spread
    return bool(np.all(off > t_quantile(SLIP_CONFIDENCE, freedom)))


def _curved(design: Floats, twist: Floats) -> tuple[tuple[float, float], Floats, Floats, float, int] | None:
    """Tangent stiffness at no torque and at the greatest, and the fit with a term T |T|, where both surely differ."""
    import numpy as np

    torque = design[:, COMPLIANCE]
    if len(twist) < design.shape[1] + 4 or len(np.unique(np.abs(torque))) < 4:
        return None
    values, covariance, scatter, freedom = _regression(np.column_stack([design, torque * np.abs(torque)]), twist)
    start, bent = float(values[0]), float(values[-1])
    end = start + 2.0 * bent * float(np.abs(torque).max())
    if abs(bent) <= t_quantile(BENT[0], freedom) * sqrt(covariance[-1, -1]) or min(start, end) <= 0.0:
        return None
    ends = (1.0 / start, 1.0 / end)
    return (ends, values, covariance, scatter, freedom) if abs(end / start - 1.0) > BENT[1] else None


def _stiffness(compliance: float, error: float) -> Bounds:
    if compliance <= 0.0:
        raise UsageError("the twist does not grow with the torque: check the signs and the columns of the readings")
    if error >= compliance:
        raise UsageError(
            f"the readings scatter too much to tell a stiffness: compliance {compliance:.3g} rad/(N*m), error "
            f"{error:.3g}; take more readings, or up to a higher torque"
        )
    return Bounds(low=1.0 / (compliance + error), nominal=1.0 / compliance, high=1.0 / (compliance - error))


def _enough(count: int, torque: Floats, slipped: int, outliers: int) -> None:
    if count < LEAST_READINGS:
        lost = f", after {slipped} from the onset of slip on and {outliers} outliers" if slipped or outliers else ""
        raise UsageError(
            f"found {count} usable reading{'' if count == 1 else 's'}{lost}; needed are at least {LEAST_READINGS}, "
            "loading and unloading in both directions, better 20"
        )
    if float(torque.max() - torque.min()) <= 0.0:
        raise UsageError("all readings are at one torque; needed are several torques to tell a stiffness")
