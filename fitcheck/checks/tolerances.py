"""Radial clearance, shaft gap and engagement as made: the stacks, and what they say in a finding."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.checks.aligned import Aligned, aligned_of
from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding
from fitcheck.checks.stack import Contribution, Stack, loss, plus_minus
from fitcheck.checks.wording import SIDES, mm, rounded_up
from fitcheck.errors import TableError
from fitcheck.job.sizes import SizeTolerances
from fitcheck.standards.fits import limits


def radial_stack(drive: Drive, sizes: SizeTolerances, nominal: float) -> Stack:
    """The radial clearance of the turning coupling: its own size, the chamber's, and how far it sits off the axis."""
    parts = [
        plus_minus("the chamber's diameter", sizes.chamber_diameter / 2),
        plus_minus("the coupling's diameter", sizes.coupling_diameter / 2),
    ]
    aligned = aligned_of(drive)
    parallel = [loss(name, size) for name, size in aligned.parallel] if isinstance(aligned, Aligned) else []
    # What the job allows for and nothing known accounts for counts as well, so that no stack tells more than is drawn.
    rest = drive.job.require.orbit - sum(-part.low for part in parallel)
    parts += [*parallel, loss("the rest of the orbit", max(rest, 0.0))]
    plays = [play for side in SIDES if (play := _bore_play(drive, side)) is not None]
    if plays:
        parts.append(loss("the play of a hub's bore on its shaft", max(plays) / 2))
    return _stack(nominal, parts)


def gap_stack(sizes: SizeTolerances, nominal: float) -> Stack:
    """The shaft gap: the adapter's length less both shafts'."""
    return _stack(
        nominal,
        [
            plus_minus("the adapter's length", sizes.adapter_length),
            plus_minus("the motor shaft's length", sizes.motor_shaft),
            plus_minus("the actuator shaft's length", sizes.actuator_shaft),
        ],
    )


def engagement_stack(sizes: SizeTolerances, side: str, nominal: float) -> Stack:
    """The engagement, or the depth: the shaft against the hub's place; the actuator's hub also moves with what lies
    between.
    """
    parts = [plus_minus("the setting of the coupling", sizes.place)]
    if side == "motor":
        parts.append(plus_minus("the motor shaft's length", sizes.motor_shaft))
    else:
        parts += [
            plus_minus("the actuator shaft's length", sizes.actuator_shaft),
            plus_minus("the adapter's length", sizes.adapter_length),
            plus_minus("the coupling's length", sizes.coupling_length),
        ]
    return _stack(nominal, parts)


def told(finding: Finding, stack: Stack, sizes: SizeTolerances, *, at_most: bool = False) -> Finding:
    """A finding with its stack told, and judged by it where the job asks so.

    Args:
        finding: of a size that has to reach its limit, or with `at_most` to stay below it.
        stack: of the same size.
        sizes: the job's tolerances.
        at_most: whether the limit is an upper one.
    """
    limit, sign = finding.limit, -1.0 if at_most else 1.0
    assert limit is not None
    least, most = stack.turned if at_most else stack, stack.largest
    worst, likely = sign * least.worst, sign * least.root_sum_square
    text = (
        f"{finding.message}; as made {mm(stack.nominal)} nominal, {mm(worst)} worst case, {mm(likely)} root sum square"
    )
    if most is not None:
        text += f"; {most.name} matters most ({mm(most.high - most.low)} wide)"
    if sizes.trials:
        share, low = least.tried(sign * limit, sizes.trials, sizes.seed)
        side = "above" if at_most else "below"
        text += (
            f"; of {sizes.trials} random assemblies {100 * share:.3g} % lie {side} {mm(limit)}, "
            f"0.135 % {side} {mm(sign * low)}"
        )
    finding = replace(finding, message=text)
    if sizes.judge == "as drawn":
        return finding
    value = worst if sizes.judge == "worst case" else likely
    margin = sign * (value - limit)
    passed = margin >= -1e-9
    remedy = finding.remedy
    if not passed and remedy is None:
        remedy = f"{mm(rounded_up(-margin))} {'less' if at_most else 'more'} as drawn" + (
            "" if most is None else f", or a closer tolerance of {most.name}"
        )
    return replace(
        finding, status="pass" if passed else "fail", value=value, margin=margin,
        remedy=None if passed else remedy,
    )  # fmt: skip


def _stack(nominal: float, parts: list[Contribution]) -> Stack:
    return Stack(nominal=nominal, contributions=tuple(part for part in parts if part.half > 0.0))


def _bore_play(drive: Drive, side: str) -> float | None:
    """The greatest diametral play of a hub on its shaft by ISO 286, mm; None where a class is not given or known."""
    hub = drive.job.coupling.hubs.motor if side == "motor" else drive.job.coupling.hubs.actuator
    shaft = drive.side(side).shaft
    if shaft is None or shaft.tolerance is None or hub.bore_tolerance is None:
        return None
    try:
        hole, pin = limits(hub.bore, hub.bore_tolerance), limits(shaft.diameter, shaft.tolerance)
    except TableError:
        # `bore-fit` tells that the class is unknown.
        return None
    return max(hub.bore + hole.upper - shaft.diameter - pin.lower, 0.0)
