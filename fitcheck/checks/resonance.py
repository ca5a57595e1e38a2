"""`resonance`: torsional resonances of the drive against the controller's bandwidth and a band to be kept free."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from fitcheck.checks.drive import Drive
from fitcheck.checks.driven_side import driven_side
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.inertia import NO_ROTOR
from fitcheck.checks.sides import Missing
from fitcheck.checks.train import Train, train_of
from fitcheck.checks.work_units import FREQUENCY, STIFFNESS, open_question, three
from fitcheck.checks.working import Working, ratings_of, working_of
from fitcheck.mechanics.dynamics import chain, two_inertia

CHECK = "resonance"


@dataclass(frozen=True, kw_only=True)
class Modes:
    """Resonances in Hz, each at the least and the greatest stiffness, and the first one's amplification."""

    ranges: tuple[tuple[float, float], ...]
    amplification: float
    parts: str


def check(drive: Drive) -> tuple[Finding, ...]:
    """The lowest resonance against the bandwidth, and every resonance against the band to be kept free."""
    working = working_of(drive)
    if isinstance(working, Missing):
        return (open_question(CHECK, "drive", working, required=drive.job.drive is not None),)
    asked = working.data.asked
    wanted = asked.bandwidth is not None or asked.kept_free is not None
    train = train_of(drive)
    if isinstance(train, Missing):
        return (open_question(CHECK, "drive", train, required=wanted),)
    if working.motor_inertia is None:
        return (open_question(CHECK, "drive", NO_ROTOR, required=wanted),)
    if working.axis.inertia <= 0.0:
        missing = Missing(
            reason="nothing behind the coupling has any inertia", supply="give the load's mass or inertia"
        )
        return (open_question(CHECK, "drive", missing, required=wanted),)
    two = two_inertia(working.motor_inertia, working.axis.inertia, train.stiffness.low)
    modes = modes_of(working, train, working.motor_inertia)
    words = (
        f"as two inertias the drive resonates at {three(two.resonance)} Hz (anti-resonance "
        f"{three(two.anti_resonance)} Hz) "
        f"on a shaft train of {train.how}; as a chain of {modes.parts} from {three(modes.ranges[0][0])} Hz on"
    )
    if modes.amplification != float("inf"):
        words += f", amplified at most {three(modes.amplification)} times there by the coupling's damping"
    lowest = min(two.resonance, modes.ranges[0][0])
    if not wanted:
        reason = f"the job gives no bandwidth and no band to be kept free; {words}"
        supply = "give drive.asked.bandwidth or drive.asked.kept_free"
        return (not_checked(CHECK, "bandwidth", reason, supply, required=False),)
    found = []
    if asked.bandwidth is not None:
        found.append(_bandwidth(working, train, lowest, words, asked.bandwidth))
    if asked.kept_free is not None:
        found.append(_band(modes, (asked.kept_free[0], asked.kept_free[1])))
    return tuple(found)


def modes_of(working: Working, train: Train, rotor: float) -> Modes:
    """The chain's resonances: motor, coupling halves, screw, load, each between the springs that are known.

    An inertia of nothing (a coupling without one given) is no link of the chain; its springs are put in series.
    """
    half = ratings_of(working.drive).inertia / 2.0
    psi = ratings_of(working.drive).damping
    names = ["motor"]
    stubs = {spring.name: spring.stiffness for spring in train.stubs}
    coupling = train.coupling.stiffness
    links: list[
        tuple[str, float, float, float, float]
    ] = []  # name, inertia, low, high, damping of the spring before it
    inertias = [rotor - half if half > 0.0 and "motor shaft" in stubs else rotor]
    if half > 0.0 and "motor shaft" in stubs:
        stub = stubs["motor shaft"]
        links.append(("motor hub", half, stub.low, stub.high, 0.0))
        links.append(("actuator hub", half, coupling.low, coupling.high, psi))
        rest = [stubs["actuator shaft"]] if "actuator shaft" in stubs else []
    else:
        rest = list(stubs.values())
        low = 1.0 / sum(1.0 / part.low for part in (coupling, *rest))
        high = 1.0 / sum(1.0 / part.high for part in (coupling, *rest))
        links.append(("actuator hub", half, low, high, psi * low / coupling.low))
        rest = []
    behind = driven_side(working)
    driven, load, twist = behind.near - half, behind.load, behind.stiffness
    turned = "screw" if working.data.axis_kind == "screw" else "driven side"
    if rest:
        links.append((turned, driven, rest[0].low, rest[0].high, 0.0))
    else:
        name, inertia, low, high, loss = links.pop()
        links.append((turned if inertia == 0.0 else f"{name} with {turned}", inertia + driven, low, high, loss))
    if load > 0.0 and twist is not None:
        links.append(("load", load, twist, twist, 0.0))
    else:
        name, inertia, low, high, loss = links.pop()
        links.append((f"{name} with load", inertia + load, low, high, loss))
    names += [link[0] for link in links]
    inertias += [link[1] for link in links]
    kept = [max(value, 1e-12) for value in inertias]
    soft = chain(kept, [link[2] for link in links], [link[4] for link in links])
    stiff = chain(kept, [link[3] for link in links])
    ranges = tuple((low.frequency, high.frequency) for low, high in zip(soft, stiff, strict=True))
    return Modes(ranges=ranges, amplification=soft[0].amplification, parts=", ".join(names))


def _bandwidth(working: Working, train: Train, lowest: float, words: str, bandwidth: float) -> Finding:
    ratio = working.data.asked.resonance_ratio
    limit = ratio * bandwidth
    rotor, driven = working.motor_inertia or 0.0, working.axis.inertia
    stiffness = (2.0 * pi * limit) ** 2 * rotor * driven / (rotor + driven)
    spare = 1.0 / stiffness - sum(1.0 / spring.stiffness.low for spring in train.stubs)
    way = f"a coupling of at least {three(1.0 / spare)} {STIFFNESS} (as two inertias), " if spare > 0.0 else ""
    return compare(
        check=CHECK, subject="bandwidth", value=lowest, limit=limit, unit=FREQUENCY, at_least=True,
        path="drive.asked.bandwidth",
        message=f"{words}; the bandwidth of {three(bandwidth)} Hz asks for {three(limit)} Hz, {three(ratio)} times "
        "as much "
        "(common practice, no source)",
        remedy=f"{way}shorter or thicker shaft ends, or a bandwidth of at most {three(lowest / ratio)} Hz",
    )  # fmt: skip


def _band(modes: Modes, band: tuple[float, float]) -> Finding:
    """The resonance that comes nearest to the band, at the worse end of its range."""
    low, high = band

    def clearance(mode: tuple[float, float]) -> tuple[float, float, float]:
        under, over = low - mode[1], mode[0] - high
        return (under, mode[1], low) if under >= over else (over, mode[0], high)

    margin, value, limit = min(clearance(mode) for mode in modes.ranges)
    shown = ", ".join(three(a) if b - a < 1e-6 * b else f"{three(a)} to {three(b)}" for a, b in modes.ranges)
    return compare(
        check=CHECK, subject="band", value=value, limit=limit, unit=FREQUENCY, at_least=limit == high,
        path="drive.asked.kept_free",
        message=f"resonances of the chain of {modes.parts}: {shown} Hz; the band from {three(low)} to {three(high)} "
        "Hz is "
        f"to be kept free, and the nearest one is {three(abs(margin))} Hz {'outside' if margin >= 0 else 'inside'}",
        remedy="a stiffer coupling (above the band), or a softer one with damping (below it)",
    )  # fmt: skip
