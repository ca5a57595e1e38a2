"""`resonance`: torsional resonances of the drive against the controller's bandwidth and a band to be kept free."""

from __future__ import annotations

from dataclasses import replace
from math import pi

from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.inertia import NO_ROTOR
from fitcheck.checks.modes import Chain, Modes, anti_resonances_of, chain_of, modes_of
from fitcheck.checks.sides import Missing
from fitcheck.checks.step_rate import Held, held_of, step_rate_findings
from fitcheck.checks.train import Train, train_of
from fitcheck.checks.work_units import FREQUENCY, STIFFNESS, open_question, three
from fitcheck.checks.working import Working, working_of
from fitcheck.errors import UsageError
from fitcheck.mechanics.dynamics import two_inertia

CHECK = "resonance"
WORTH_SAYING = 50.0
"""Amplification above which the coupling's damping is as good as none beside that of the guides; common practice, no
source."""


def check(drive: Drive) -> tuple[Finding, ...]:
    """The lowest resonance against the bandwidth, every resonance against the band to be kept free, and step rates."""
    working = working_of(drive)
    if isinstance(working, Missing):
        return (open_question(CHECK, "drive", working, required=drive.job.drive is not None),)
    asked = working.data.asked
    wanted = asked.bandwidth is not None or asked.kept_free is not None
    train, rotor = train_of(drive), working.motor_inertia
    if isinstance(train, Missing):
        return (open_question(CHECK, "drive", train, required=wanted),)
    if rotor is None:
        return (open_question(CHECK, "drive", NO_ROTOR, required=wanted),)
    if working.axis.inertia <= 0.0:
        missing = Missing(
            reason="nothing behind the coupling has any inertia", supply="give the load's mass or inertia"
        )
        return (open_question(CHECK, "drive", missing, required=wanted),)
    whole = chain_of(working, train, rotor)
    try:
        modes, held = modes_of(whole), held_of(working, whole, rotor)
    except UsageError as problem:
        missing = Missing(reason=str(problem), supply="correct coupling.ratings.damping")
        return (open_question(CHECK, "drive", missing, required=wanted),)
    return (*_free(working, train, whole, modes, held, rotor), *step_rate_findings(working, held))


def _free(
    working: Working, train: Train, whole: Chain, modes: Modes, held: Held | None, rotor: float
) -> tuple[Finding, ...]:
    """What bandwidth and band ask for, or one note where the job gives neither."""
    asked = working.data.asked
    two = two_inertia(rotor, working.axis.inertia, train.stiffness.low)
    stiff = two_inertia(rotor, working.axis.inertia, train.stiffness.high)
    still = ", ".join(three(value) for value in anti_resonances_of(whole))
    words = (
        f"as two inertias the drive resonates at {_span(two.resonance, stiff.resonance)} Hz (anti-resonance "
        f"{_span(two.anti_resonance, stiff.anti_resonance)} Hz) on a shaft train of {train.how}; as a chain of "
        f"{whole.parts} from {three(modes.ranges[0][0])} Hz on (anti-resonances {still} Hz)"
    )
    if modes.amplification < WORTH_SAYING:
        words += f", amplified at most {three(modes.amplification)} times there by the coupling's damping"
    lowest = min(two.resonance, modes.ranges[0][0])
    if asked.bandwidth is None and asked.kept_free is None:
        reason = f"the job gives no bandwidth and no band to be kept free; {words}"
        supply = "give drive.asked.bandwidth or drive.asked.kept_free"
        return (not_checked(CHECK, "bandwidth", reason, supply, required=False),)
    found = []
    if asked.bandwidth is not None:
        found.append(_bandwidth(working, train, lowest, words, asked.bandwidth, two.resonance))
        found.append(_still(train, min(two.anti_resonance, anti_resonances_of(whole)[0]), asked.bandwidth))
    if asked.kept_free is not None:
        band, what = (asked.kept_free[0], asked.kept_free[1]), f"resonances of the chain of {whole.parts}"
        if held is not None:
            found.append(_band(held.modes, band, f"{what}, its rotor held in the stepper's field"))
        else:
            found.append(_band(modes, band, what))
    return tuple(found)


def _bandwidth(
    working: Working, train: Train, lowest: float, words: str, bandwidth: float, two_inertias: float
) -> Finding:
    ratio = working.data.asked.resonance_ratio
    limit = ratio * bandwidth
    rotor, driven = working.motor_inertia or 0.0, working.axis.inertia
    stiffness = (2.0 * pi * limit) ** 2 * rotor * driven / (rotor + driven)
    spare = 1.0 / stiffness - sum(1.0 / spring.stiffness.low for spring in train.stubs)
    way = f"a coupling of at least {three(1.0 / spare)} {STIFFNESS} (as two inertias), " if spare > 0.0 else ""
    way += "shorter or thicker shaft ends"
    if two_inertias >= limit:
        # Coupling and shaft ends alone would do; what is soft lies behind them.
        way = "a stiffer screw, nut and bearings" if working.data.axis_kind == "screw" else "a stiffer gear or belt"
        way += " (the coupling is not what is soft)"
    finding = compare(
        check=CHECK, subject="bandwidth", value=lowest, limit=limit, unit=FREQUENCY, at_least=True,
        path="drive.asked.bandwidth",
        message=f"{words}; the bandwidth of {three(bandwidth)} Hz asks for {three(limit)} Hz, {three(ratio)} times "
        "as much (common practice, no source)",
        remedy=f"{way}, or a bandwidth of at most {three(lowest / ratio)} Hz",
    )  # fmt: skip
    return train.warned(finding)


def _still(train: Train, lowest: float, bandwidth: float) -> Finding:
    """The lowest anti-resonance, at which the load swings and the motor stands still, against the bandwidth."""
    finding = compare(
        check=CHECK, subject="anti-resonance", value=lowest, limit=bandwidth, unit=FREQUENCY, at_least=True,
        path="drive.asked.bandwidth",
        message=f"the lowest anti-resonance is at {three(lowest)} Hz, where the load swings, the motor stands still; "
        f"the bandwidth, {three(bandwidth)} Hz, is to stay below it (common practice, no source)",
        remedy=f"a bandwidth of at most {three(lowest)} Hz, a stiffer coupling and drive, or less inertia behind them",
    )  # fmt: skip
    # The controller may be steady all the same, so it is no fail.
    return replace(finding, status="warn") if finding.status == "fail" else train.warned(finding)


def _band(modes: Modes, band: tuple[float, float], what: str) -> Finding:
    """The resonance that comes nearest to the band, at the worse end of its range."""
    low, high = band

    def clearance(mode: tuple[float, float]) -> tuple[float, float, float]:
        under, over = low - mode[1], mode[0] - high
        return (under, mode[1], low) if under >= over else (over, mode[0], high)

    margin, value, limit = min(clearance(mode) for mode in modes.ranges)
    shown = ", ".join(_span(*one) for one in modes.ranges)
    return compare(
        check=CHECK, subject="band", value=value, limit=limit, unit=FREQUENCY, at_least=limit == high,
        path="drive.asked.kept_free",
        message=f"{what}: {shown} Hz; the band from {three(low)} to {three(high)} Hz is to be kept free, and the "
        f"nearest one is {three(abs(margin))} Hz {'outside' if margin >= 0 else 'inside'}",
        remedy="a stiffer coupling (above the band), or a softer one with damping (below it)",
    )  # fmt: skip


def _span(low: float, high: float) -> str:
    return three(low) if high - low < 1e-6 * high else f"{three(low)} to {three(high)}"
