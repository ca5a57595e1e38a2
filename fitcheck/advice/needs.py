"""What a drive asks of any coupling, computed from the job: torque, misalignment, stiffness, backlash, speed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import degrees, pi

from fitcheck.checks.aligned import aligned_of
from fitcheck.checks.drive import Drive
from fitcheck.checks.sides import Missing
from fitcheck.checks.train import stubs_of
from fitcheck.checks.wind_up import asked_travel
from fitcheck.checks.work_units import RPM, nm, three
from fitcheck.checks.working import ELASTOMER, Working
from fitcheck.job.drive import REVERSING
from fitcheck.mechanics.misalignment import Offsets
from fitcheck.mechanics.service import ServiceFactors, service_factors
from fitcheck.mechanics.stiffness import turn_for_travel

BASE_TEMPERATURE = 20.0
"""Inside the table of temperature factors; for a factor that is given and so not looked up."""


@dataclass(frozen=True, kw_only=True)
class Needs:
    """What the drive asks.

    Attributes:
        lasting: torque for ever, N·m, without service factor; None where the job gives no motion.
        worst: greatest short torque that is known, N·m.
        worst_how: how it comes about.
        offsets: misalignment by the job's rule of adding; None where it is not known.
        stiffness: least of the coupling, N·m/rad; None where nothing asks for one, infinite where the shaft ends alone
            are too soft.
        stiffness_how: what asks for it.
        stubs: stiffness of the shaft ends that are known, N·m/rad.
        travel: repeatability asked for, in the unit of the drive's travel; None where none is.
        resonance: least that the bandwidth asks for, Hz; None where none is asked for.
        kept_free: band that must hold no resonance, Hz; None where none is asked for.
        scale_feedback: whether a scale at the carriage takes lost motion out of the position.
        given_backlash: greatest at the coupling that the job itself gives, degrees; None where it gives none.
        backlash: greatest at the coupling, degrees; None where nothing limits it.
        speed: greatest, rpm; None where not known.
        load_class: of the service.
        vertical: whether a weight hangs on the drive at rest.
        reversing: whether the torque changes direction.
        open: what is not known, and what to supply.
    """

    lasting: float | None
    worst: float
    worst_how: str
    offsets: Offsets | None
    stiffness: float | None
    stiffness_how: str
    stubs: tuple[float, ...]
    travel: float | None
    resonance: float | None
    kept_free: tuple[float, float] | None
    scale_feedback: bool
    given_backlash: float | None
    backlash: float | None
    speed: float | None
    load_class: str
    vertical: bool
    reversing: bool
    open: tuple[str, ...]


def needs_of(drive: Drive, working: Working) -> Needs:
    """The needs of a drive.

    Args:
        drive: job and measurement, joined.
        working: the drive at work.
    """
    demand, service, asked = working.demand, working.data.service, working.data.asked
    lasting = None if demand is None else max(demand.rms, demand.running, demand.holding)
    aligned, unknown = aligned_of(drive), []
    if isinstance(aligned, Missing):
        unknown.append(f"{aligned.reason}: {aligned.supply}")
    unknown += [f"{case[1].reason}: {case[1].supply}" for case in working.cases if isinstance(case, tuple)]
    stiffness, how = _stiffness(drive, working)
    backlash, travel = asked.backlash, asked_travel(working)
    if backlash is None and travel is not None:
        backlash = degrees(travel / working.scale)
    if travel is None:
        name = "repeatability" if working.unit == "µm" else "angular_repeatability"
        unknown.append(f"no repeatability is asked for, so neither stiffness nor backlash is: drive.asked.{name}")
    return Needs(
        lasting=lasting,
        worst=working.worst.torque,
        worst_how=working.worst.how,
        offsets=None if isinstance(aligned, Missing) else aligned.judged(working.data),
        stiffness=stiffness,
        stiffness_how=how,
        stubs=tuple(stub.stiffness.low for stub in stubs_of(drive)[0]),
        travel=travel,
        resonance=None if asked.bandwidth is None else asked.resonance_ratio * asked.bandwidth,
        kept_free=None if asked.kept_free is None else (asked.kept_free[0], asked.kept_free[1]),
        given_backlash=asked.backlash,
        scale_feedback=asked.feedback == "carriage",
        backlash=backlash,
        speed=None if working.top_speed is None else working.top_speed * RPM,
        load_class=service.load_class,
        vertical=abs(working.axis.holding_torque) > 0.0,
        reversing=service.direction == REVERSING,
        open=tuple(dict.fromkeys(unknown)),
    )


def factors_for(working: Working, family: str) -> ServiceFactors:
    """Service factors for a family; those that the job gives, from its coupling's maker, for the candidate's only.

    Raises:
        TableError: starts or temperature lie outside the tables.
    """
    service, elastomer = working.data.service, family in ELASTOMER
    load = starts = temperature = None
    if family == working.drive.job.coupling.family:
        load, starts, temperature = service.load_factor, service.start_factor, service.temperature_factor
    made = service_factors(
        service.load_class, service.direction == REVERSING, elastomer,
        working.starts_per_hour if starts is None else 0.0,
        service.temperature if temperature is None else BASE_TEMPERATURE,
    )  # fmt: skip
    return replace(
        made, load=load or made.load, starts=starts or made.starts, temperature=temperature or made.temperature
    )


def _stiffness(drive: Drive, working: Working) -> tuple[float | None, str]:
    """Least stiffness of the coupling by repeatability and bandwidth, the shaft ends' own give taken off."""
    wanted: list[tuple[float, str]] = []
    travel, friction = asked_travel(working), working.friction_torque
    if travel is not None and friction > 0.0:
        wanted.append(
            (
                2.0 * friction / turn_for_travel(travel, working.lead_mm),
                f"{three(travel)} {working.unit} at reversal with {nm(friction)} of friction",
            )
        )
    asked, rotor = working.data.asked, working.motor_inertia
    if asked.bandwidth is not None and rotor is not None and working.axis.inertia > 0.0:
        limit = asked.resonance_ratio * asked.bandwidth
        driven = working.axis.inertia
        wanted.append(
            ((2.0 * pi * limit) ** 2 * rotor * driven / (rotor + driven), f"a resonance of at least {three(limit)} Hz")
        )
    if not wanted:
        return None, ""
    whole, how = max(wanted)
    stubs, _ = stubs_of(drive)
    spare = 1.0 / whole - sum(1.0 / stub.stiffness.low for stub in stubs)
    return (1.0 / spare if spare > 0.0 else float("inf")), how
