"""The drive at work: axis, motion, inertias and torques of a job, in SI, for the checks of the mechanics."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import pi, radians

from fitcheck.checks.drive import Drive
from fitcheck.checks.sides import Missing
from fitcheck.checks.work_units import RPM, nm, three
from fitcheck.errors import UsageError
from fitcheck.job.drive import DriveData, Move, RotaryDrive, ScrewDrive, Turn
from fitcheck.job.ratings import Ratings
from fitcheck.mechanics.axis import RotaryAxis, ScrewAxis, solid_cylinder_inertia
from fitcheck.mechanics.demand import Demand, demand
from fitcheck.mechanics.motion import Phase, cycle, there_and_back, trapezoid
from fitcheck.mechanics.overload import emergency_stop

ELASTOMER = ("jaw",)
"""Families whose torque passes an elastomer, for which starts and temperature count."""

NO_DRIVE = Missing(
    reason="the job does not say what turns behind the coupling",
    supply="give drive.screw (lead, moving_mass, moves) or drive.rotary (inertia, turns)",
)


NO_PEAK = Missing(
    reason="the motor's peak torque is not given",
    supply="give drive.motor.peak_torque, or a stepper's drive.motor.holding_torque",
)


@dataclass(frozen=True, kw_only=True)
class MotorPeak:
    """The greatest torque of a motor, N·m, what it is, and the job's line."""

    torque: float
    name: str
    path: str


@dataclass(frozen=True, kw_only=True)
class Case:
    """A torque that the coupling must carry: N·m, size, without service factor, and how it comes about.

    `warning` says what else is wrong with the case, however much the coupling carries, and what to do about it.
    """

    subject: str
    torque: float
    how: str
    path: str
    warning: tuple[str, str] | None = None


@dataclass(frozen=True, kw_only=True)
class Working:
    """The drive at work.

    Attributes:
        drive: job and measurement, joined.
        data: the job's group `drive`.
        axis: the driven side; half of the coupling's inertia is in it.
        motor_inertia: rotor and the other half of the coupling, kg·m²; None where not given.
        demand: of the cycle; None where the job gives no motion.
        scale: travel that a radian at the coupling makes: µm for a screw, degrees for a turning load.
        unit: unit of that travel.
    """

    drive: Drive
    data: DriveData
    axis: ScrewAxis | RotaryAxis
    motor_inertia: float | None
    demand: Demand | None
    scale: float
    unit: str

    @property
    def lead_mm(self) -> float:
        """The lead by which `mechanics.stiffness` turns an angle at the coupling into travel in `unit`.

        Its functions give µm for a lead in mm; for a turning load the "lead" is 0.36/i, so that they give degrees.
        """
        return self.scale * 2.0 * pi / 1000.0

    @property
    def where(self) -> str:
        """Where the travel is seen."""
        return f"at the {self.moved}"

    @property
    def moved(self) -> str:
        """What the drive moves, in words."""
        return "carriage" if self.data.axis_kind == "screw" else "load"

    @property
    def less_travel(self) -> str:
        """What makes the moved part go less far in a turn of the coupling, in words."""
        return "a screw of less lead" if self.data.axis_kind == "screw" else "a larger ratio"

    @property
    def more_travel(self) -> str:
        """What makes the moved part go farther in a turn of the coupling, in words."""
        return "a screw of more lead" if self.data.axis_kind == "screw" else "a smaller ratio"

    @property
    def friction_torque(self) -> float:
        """Friction behind the coupling in one direction, N·m: half of what reversal changes."""
        return 0.5 * abs(self.axis.torque(1) - self.axis.torque(-1))

    @cached_property
    def top_speed(self) -> float | None:
        """Greatest speed at the coupling, rad/s: of the cycle, and what the controller allows; None if unknown."""
        given = self.data.motor.top_speed
        speeds = [] if given is None else [given / RPM]
        if self.demand is not None:
            speeds.append(self.demand.top_speed)
        return max(speeds) if speeds else None

    @property
    def motor_peak(self) -> MotorPeak | None:
        """The motor's greatest torque; of a stepper without one its holding torque; None where neither is given."""
        motor = self.data.motor
        if motor.peak_torque is not None:
            return MotorPeak(torque=motor.peak_torque, name="the motor's peak torque", path="drive.motor.peak_torque")
        if motor.holding_torque is not None:
            return MotorPeak(
                torque=motor.holding_torque, name="the stepper's holding torque, as no peak torque is given",
                path="drive.motor.holding_torque",
            )  # fmt: skip
        return None

    @cached_property
    def starts_per_hour(self) -> float:
        """Given, or counted from the cycle: each time that the axis leaves rest."""
        given = self.data.service.starts_per_hour
        if given is not None:
            return given
        if self.demand is None:
            return 0.0
        starts = sum(part.start_speed == 0.0 and part.end_speed != 0.0 for part in self.demand.segments)
        return starts * 3600.0 / self.demand.period

    @cached_property
    def cases(self) -> tuple[Case | tuple[str, Missing], ...]:
        """The short torques: of cycle, blocked carriage, emergency stop, and a collision where the job names it."""
        if self.collision_speed is None:
            return self._cycle_peak(), self._blocked(), self._stop()
        # It needs the shaft train, which is built on this module.
        from fitcheck.checks.collision import collision_case

        return self._cycle_peak(), self._blocked(), self._stop(), collision_case(self, self.collision_speed)

    @property
    def collision_speed(self) -> float | None:
        """Speed at the coupling, rad/s, with which the carriage may run into a stop; None where the job names none."""
        group = self.data.screw if self.data.axis_kind == "screw" else self.data.rotary
        if group is None or group.collision_speed is None:
            return None
        travel = group.collision_speed / (1000.0 if isinstance(group, ScrewDrive) else RPM)
        return travel / self.axis.travel_per_radian

    @cached_property
    def worst(self) -> Case:
        """The greatest torque that is known; at least the one at rest."""
        known = [case for case in self.cases if isinstance(case, Case)]
        rest = Case(
            subject="rest", torque=abs(self.axis.holding_torque), how="at rest", path=f"drive.{self.data.axis_kind}"
        )
        return max([rest, *known], key=lambda case: case.torque)

    def _cycle_peak(self) -> Case | tuple[str, Missing]:
        if self.demand is None:
            return "peak", no_motion(self.data)
        how = f"greatest torque of the cycle, {nm(self.demand.peak)} (root mean square {nm(self.demand.rms)}"
        how += f", at rest {nm(self.demand.holding)})" if self.demand.holding > 0.0 else ")"
        path, left = f"drive.{self.data.axis_kind}", self.demand.segments[-1].end_speed
        # Speeds that were given in mm/s or rpm come back to rest but for rounding.
        running = None
        if abs(left) > 1e-9 * self.demand.top_speed:
            words = f"the cycle begins at rest and ends at {three(abs(left) * RPM)} rpm of the coupling"
            running = f"{words}, so what stops it is not in it", f"end {path}.phases at rest"
        return Case(subject="peak", torque=self.demand.peak, how=how, path=path, warning=running)

    def _turning(self) -> set[tuple[int, float]]:
        """Direction of each part of the cycle, and the torque through the coupling in that direction; steady turns."""
        found = {(way, way * self.axis.torque(way)) for way in (1, -1)}
        for part in () if self.demand is None else self.demand.segments:
            if part.angle != 0.0:
                way = 1 if part.angle > 0.0 else -1
                found.add((way, way * part.coupling_torque))
        return found

    def _blocked(self) -> Case | tuple[str, Missing]:
        peak, onset = self.motor_peak, self.data.motor.onset
        if peak is None:
            return "blocked carriage", NO_PEAK
        how = (
            f"{peak.name}, {nm(peak.torque)}, against a blocked {self.moved}, times {three(onset)} for its sudden onset"
        )
        return Case(subject="blocked carriage", torque=peak.torque * onset, how=how, path=peak.path)

    def _stop(self) -> Case | tuple[str, Missing]:
        motor, peak = self.data.motor, self.motor_peak
        braking = max(motor.brake_torque or 0.0, 0.0 if peak is None else peak.torque)
        if braking == 0.0:
            return "emergency stop", Missing(
                reason="no braking torque is given", supply="give drive.motor.peak_torque or drive.motor.brake_torque"
            )
        if self.motor_inertia is None:
            return "emergency stop", Missing(
                reason="the motor's inertia is not given, so the share that passes the coupling is not known",
                supply="give drive.motor.inertia",
            )
        stops = [
            emergency_stop(
                braking, load, self.motor_inertia, self.axis.inertia, motor.onset, before,
                way * self.axis.holding_torque,
            )
            for way, before in sorted(self._turning())
            # Friction helps to brake; so it is counted and not counted.
            for load in (way * self.axis.torque(way), way * self.axis.holding_torque)
        ]  # fmt: skip
        passing = max(stops, key=lambda found: found.peak)
        how = (
            f"{nm(braking)} braking at the motor, of which the driven inertia's share {three(passing.share)} passes, "
            f"with {three(motor.onset)} for the sudden onset, from the worst moment of the cycle, the swing not "
            "died away when the rotor stands"
        )
        pull = abs(self.axis.holding_torque)
        weak = f"it does not stop a load of {nm(pull)}, friction not counted", "a stronger brake, or a counterbalance"
        warning = None if all(found.acceleration < 0.0 for found in stops) else weak
        return Case(subject="emergency stop", torque=passing.peak, how=how, path="drive.motor", warning=warning)


def no_motion(data: DriveData) -> Missing:
    """Said where the motion is needed and not given."""
    moves = "turns" if data.axis_kind == "rotary" else "moves"
    return Missing(
        reason="the job gives no motion", supply=f"give drive.{data.axis_kind}.{moves} or drive.{data.axis_kind}.phases"
    )


def ratings_of(drive: Drive) -> Ratings:
    """The coupling's ratings; without the group, none is known."""
    return drive.job.coupling.ratings or Ratings()


def working_of(drive: Drive) -> Working | Missing:
    """The drive at work, or what is missing for it.

    A motion whose phases do not join comes out as missing, with the reason.
    """
    data = drive.job.drive
    if data is None or data.axis_kind is None:
        return NO_DRIVE
    half = ratings_of(drive).inertia / 2.0
    if data.axis_kind == "screw":
        assert data.screw is not None
        axis: ScrewAxis | RotaryAxis = _screw_axis(data.screw, half)
        scale, unit = data.screw.lead * 1000.0 / (2.0 * pi * data.screw.ratio), "µm"
        phases = _screw_phases(data.screw)
    else:
        assert data.rotary is not None
        axis = _rotary_axis(data.rotary, half)
        scale, unit = 180.0 / pi / data.rotary.ratio, "deg"
        phases = _rotary_phases(data.rotary)
    rotor = None if data.motor.inertia is None else data.motor.inertia + half
    made = Working(
        drive=drive, data=data, axis=axis, motor_inertia=rotor, demand=None, scale=scale, unit=unit
    )  # fmt: skip
    if not phases:
        return made
    try:
        return replace(made, demand=demand(axis, phases, rotor or 0.0))
    except UsageError as error:
        return Missing(reason=f"the motion is not possible: {error}", supply=f"correct drive.{data.axis_kind}.phases")


def _screw_axis(screw: ScrewDrive, half: float) -> ScrewAxis:
    inertia = screw.inertia
    if inertia is None:
        assert screw.diameter is not None
        assert screw.length is not None
        inertia = solid_cylinder_inertia(screw.diameter, screw.length)
    return ScrewAxis(
        lead_mm=screw.lead,
        moving_mass=screw.moving_mass,
        screw_inertia=inertia,
        efficiency=screw.efficiency,
        back_efficiency=screw.back_efficiency,
        guide_friction=screw.guide_friction,
        seal_friction=screw.seal_friction,
        nut_preload=screw.nut_preload,
        nut_friction=screw.nut_friction,
        bearing_drag=screw.bearing_drag,
        external_force=screw.external_force,
        incline_deg=screw.incline,
        counterbalance_mass=screw.counterbalance_mass,
        counterbalance_force=screw.counterbalance_force,
        driven_inertia=screw.driven_inertia + half,
        ratio=screw.ratio,
    )


def _rotary_axis(rotary: RotaryDrive, half: float) -> RotaryAxis:
    return RotaryAxis(
        load_inertia=rotary.inertia,
        ratio=rotary.ratio,
        efficiency=rotary.efficiency,
        back_efficiency=rotary.back_efficiency,
        load_torque=rotary.torque,
        friction_torque=rotary.friction_torque,
        bearing_drag=rotary.bearing_drag,
        driven_inertia=rotary.driven_inertia + half,
    )


def _screw_phases(screw: ScrewDrive) -> tuple[Phase, ...]:
    found: list[Phase] = []
    for move in screw.moves:
        brake = None if move.deceleration is None else move.deceleration / 1000.0
        found += _moved(move, move.stroke / 1000.0, move.speed / 1000.0, move.acceleration / 1000.0, brake)
    return _followed(found, [(phase.duration, phase.end_speed / 1000.0) for phase in screw.phases])


def _rotary_phases(rotary: RotaryDrive) -> tuple[Phase, ...]:
    found: list[Phase] = []
    for turn in rotary.turns:
        found += _moved(turn, radians(turn.angle), turn.speed / RPM, turn.acceleration, turn.deceleration)
    return _followed(found, [(phase.duration, phase.end_speed / RPM) for phase in rotary.phases])


def _moved(
    move: Move | Turn, stroke: float, speed: float, acceleration: float, brake: float | None
) -> tuple[Phase, ...]:
    made = there_and_back if move.then == "returns" else trapezoid
    return made(stroke, speed, acceleration, brake, move.pause)


def _followed(moves: list[Phase], given: list[tuple[float, float]]) -> tuple[Phase, ...]:
    speed = 0.0
    for duration, end_speed in given:
        moves.append(Phase(duration=duration, start_speed=speed, end_speed=end_speed))
        speed = end_speed
    return cycle(moves) if moves else ()
