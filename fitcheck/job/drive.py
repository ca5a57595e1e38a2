"""The drive: what turns behind the coupling, how it moves, what drives it, and what is asked of it.

All of it is optional. Without the group `drive` a job asks about geometry only.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fitcheck.job.fields import above_zero, at_least_zero, described
from fitcheck.job.ratings import HUB_MATERIALS

LOAD_CLASSES = ("uniform", "moderate shock", "heavy shock")
AXIS_KINDS = ("screw", "rotary")
RETURNS = ("returns", "stays")
REVERSING = "reversing"


def _share(doc: str, **kw: Any) -> Any:
    """An efficiency: over 0, at most 1."""
    return described(doc, quantity="number", least=0.0, exclusive=True, most=1.0, **kw)


def _size(doc: str, quantity: str, **kw: Any) -> Any:
    """A number of any quantity that is at least 0."""
    return described(doc, quantity=quantity, least=0.0, **kw)


def _over_zero(doc: str, quantity: str, **kw: Any) -> Any:
    """A number of any quantity that must be greater than 0."""
    return described(doc, quantity=quantity, least=0.0, exclusive=True, **kw)


def _factor(doc: str, example: str) -> Any:
    """A service factor, at least 1, in place of the table's."""
    return described(
        f"{doc}; in place of what the tables give.", quantity="number", least=1.0, most=20.0, default=None,
        example=example,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Move:
    """A move of the carriage from rest to rest."""

    stroke: float = described("Travel; negative goes the other way.", quantity="length", example="300")
    speed: float = _over_zero("Greatest speed of the carriage.", "velocity", example="300")
    acceleration: float = _over_zero("Acceleration.", "acceleration", example="3000")
    deceleration: float | None = _over_zero(
        "Deceleration. Without it, as the acceleration.", "acceleration", default=None, example="3000"
    )
    pause: float = _size("Rest after the move, and after its return.", "time", default=0.0)
    then: str = described(
        "Whether the axis comes back by the same move.", default="returns", choices=RETURNS, report_default=True
    )


@dataclass(frozen=True, kw_only=True)
class Phase:
    """A time of constant acceleration of the carriage; the first one begins at rest."""

    duration: float = _over_zero("How long it lasts.", "time", example="0.1")
    end_speed: float = described("Speed at its end; negative goes the other way.", quantity="velocity", example="0")


@dataclass(frozen=True, kw_only=True)
class ScrewDrive:
    """A carriage on a ball screw or lead screw behind the coupling."""

    lead: float = above_zero("Travel of the carriage in one turn of the screw.", example="5")
    diameter: float | None = above_zero(
        "Nominal diameter of the screw; with its length it gives inertia and torsion.", default=None, example="16"
    )
    length: float | None = above_zero("Length of the screw.", default=None, example="400")
    inertia: float | None = _size(
        "Inertia of the screw. Without it, that of a steel cylinder of the screw's diameter and length.", "inertia",
        default=None, example="2e-5",
    )  # fmt: skip
    ratio: float = _over_zero(
        "Turns of the coupling for one turn of the screw, where a gear or belt lies between.", "number", default=1.0
    )
    driven_inertia: float = _size(
        "Inertia of what else turns behind the coupling (gear, pulley, encoder), seen from the coupling.", "inertia",
        default=0.0,
    )  # fmt: skip
    efficiency: float = _share("Efficiency of the screw when it drives the load.", default=0.9, report_default=True)
    back_efficiency: float | None = _share(
        "Efficiency when the load drives the screw. Without it, 2 - 1/efficiency.", default=None, example="0.85"
    )
    nut_preload: float = _size("Preload of the nut.", "force", default=0.0, report_default=True)
    nut_friction: float = described(
        "Friction of the preloaded nut, 0.1 to 0.3.", quantity="number", least=0.0, most=1.0, default=0.3
    )
    bearing_drag: float = _size("Drag of the screw's bearings, at the screw.", "torque", default=0.0)
    moving_mass: float = _size("Carriage with everything on it.", "mass", example="8")
    guide_friction: float = described(
        "Coefficient of friction of the guide.", quantity="number", least=0.0, most=1.0, default=0.01,
        report_default=True,
    )  # fmt: skip
    seal_friction: float = _size("Friction of seals and wipers, whatever the load.", "force", default=0.0)
    external_force: float = described(
        "Force along the travel, positive against positive travel.", quantity="force", default=0.0
    )
    incline: float = described(
        "Slope of positive travel above the horizontal; 90 is vertical, up.", quantity="angle", least=-90.0, most=90.0,
        default=0.0, report_default=True,
    )  # fmt: skip
    counterbalance_mass: float = _size("Counterweight that moves with the carriage.", "mass", default=0.0)
    counterbalance_force: float = described(
        "Force up the slope of a spring or a gas cylinder.", quantity="force", default=0.0
    )
    axial_stiffness: float | None = _over_zero(
        "Axial stiffness of screw, nut and bearings together; counts in the resonance of the whole chain and in the "
        "screw's share of what is lost at reversal.",
        "spring-rate", default=None, example="80000",
    )  # fmt: skip
    collision_speed: float | None = _over_zero(
        "Speed of the carriage with which it may run into a hard stop while the motor pushes; coupling and hubs must "
        "then hold. Without it a collision is told and not judged.",
        "velocity", default=None, example="100",
    )  # fmt: skip
    moves: tuple[Move, ...] = described("Moves of one cycle, in order.", default=())
    phases: tuple[Phase, ...] = described("Phases of given speed, after the moves of the cycle.", default=())


@dataclass(frozen=True, kw_only=True)
class Turn:
    """A turn of the load from rest to rest."""

    angle: float = described("How far the load turns; negative the other way.", quantity="angle", example="90")
    speed: float = _over_zero("Greatest speed of the load.", "speed", example="30")
    acceleration: float = _over_zero("Angular acceleration of the load.", "angular-acceleration", example="10")
    deceleration: float | None = _over_zero(
        "Angular deceleration. Without it, as the acceleration.", "angular-acceleration", default=None, example="10"
    )
    pause: float = _size("Rest after the turn, and after its return.", "time", default=0.0)
    then: str = described(
        "Whether the load comes back by the same turn.", default="returns", choices=RETURNS, report_default=True
    )


@dataclass(frozen=True, kw_only=True)
class TurnPhase:
    """A time of constant angular acceleration of the load; the first one begins at rest."""

    duration: float = _over_zero("How long it lasts.", "time", example="0.1")
    end_speed: float = described("Speed of the load at its end; negative turns back.", quantity="speed", example="0")


@dataclass(frozen=True, kw_only=True)
class RotaryDrive:
    """A turning load behind the coupling, through a ratio or direct."""

    inertia: float = _size("Inertia of the load about its own axis.", "inertia", example="0.02")
    ratio: float = _over_zero("Turns of the coupling for one turn of the load.", "number", default=1.0)
    driven_inertia: float = _size(
        "Inertia of what else turns behind the coupling, seen from the coupling.", "inertia", default=0.0
    )
    efficiency: float = _share("Efficiency of the gear when it drives the load.", default=1.0, report_default=True)
    back_efficiency: float | None = _share(
        "Efficiency when the load drives the gear. Without it, 2 - 1/efficiency.", default=None, example="0.9"
    )
    torque: float = described(
        "Torque at the load, positive against positive turning (a weight on an arm at its worst place).",
        quantity="torque", default=0.0,
    )  # fmt: skip
    friction_torque: float = _size("Friction at the load.", "torque", default=0.0)
    stiffness: float | None = _over_zero(
        "Torsional stiffness of gear, belt or shaft between coupling and load, seen from the load; counts in the "
        "resonance of the whole chain and in the gear's share of what is lost at reversal.",
        "stiffness", default=None, example="8000",
    )  # fmt: skip
    bearing_drag: float = _size("Drag at the coupling.", "torque", default=0.0)
    collision_speed: float | None = _over_zero(
        "Speed of the load with which it may run into a hard stop while the motor pushes; coupling and hubs must then "
        "hold. Without it a collision is told and not judged.",
        "speed", default=None, example="10",
    )  # fmt: skip
    turns: tuple[Turn, ...] = described("Turns of one cycle, in order.", default=())
    phases: tuple[TurnPhase, ...] = described("Phases of given speed, after the turns of the cycle.", default=())


@dataclass(frozen=True, kw_only=True)
class MotorData:
    """The motor's figures."""

    inertia: float | None = _over_zero("Inertia of rotor and brake.", "inertia", default=None, example="3e-5")
    rated_torque: float | None = _over_zero("Rated torque.", "torque", default=None, example="0.6")
    peak_torque: float | None = _over_zero(
        "Greatest torque that motor and controller together can give.", "torque", default=None, example="1.9"
    )
    top_speed: float | None = _over_zero(
        "Greatest speed that the controller allows.", "speed", default=None, example="3000"
    )
    brake_torque: float | None = _over_zero(
        "Greatest torque of the holding brake when it closes in motion. Without it the motor's peak torque stops.",
        "torque", default=None, example="2",
    )  # fmt: skip
    holding_torque: float | None = _over_zero(
        "Of a stepper: holding torque at the current used; gives its resonance, and stands for a peak torque that is "
        "not given.", "torque", default=None, example="1.2",
    )  # fmt: skip
    steps: float = _over_zero("Of a stepper: full steps in a turn.", "number", default=200.0)
    phases: int = described("Of a stepper: phases.", default=2, least=2, most=10)
    onset: float = described(
        "How suddenly the motor's torque comes against the drive's oscillation: 1 slowly, 2 at once.",
        quantity="number", least=1.0, most=2.0, default=2.0, report_default=True,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Service:
    """How the drive is used."""

    load_class: str = described(
        "Unevenness of the load: uniform (positioning with limited jerk), moderate shock (starts and stops at the "
        "torque limit), heavy shock.",
        default="uniform", choices=LOAD_CLASSES, report_default=True,
    )  # fmt: skip
    direction: str = described(
        "Whether the torque changes direction in the cycle.", default=REVERSING, choices=(REVERSING, "one way"),
        report_default=True,
    )  # fmt: skip
    starts_per_hour: float | None = _size(
        "Starts in an hour; counts for elastomers. Without it, from the cycle.", "number", default=None, example="600"
    )
    temperature: float = described(
        "Greatest temperature at the coupling; counts for elastomers.", quantity="temperature", least=-60.0, most=200.0,
        default=30.0, report_default=True,
    )  # fmt: skip
    load_factor: float | None = _factor("Factor on the lasting torque, from the coupling's maker", "1.5")
    start_factor: float | None = _factor("Factor on short torques for the starts, from the coupling's maker", "2")
    temperature_factor: float | None = _factor("Factor for the temperature, from the coupling's maker", "1.4")
    warming: float = described(
        "By how many kelvin the shafts get warmer than the adapter; lengthens them towards each other.",
        quantity="number", least=-100.0, most=200.0, default=0.0, report_default=True,
    )  # fmt: skip
    adapter_warming: float = described(
        "By how many kelvin the adapter gets warmer than it was when it was put together, the shafts with it.",
        quantity="number", least=-100.0, most=200.0, default=0.0,
    )  # fmt: skip
    adapter_material: str = described(
        "Material of the adapter; counts for its growth.", default="aluminium", choices=HUB_MATERIALS
    )
    axial_play: float = at_least_zero("Axial play of the shafts in their bearings, together.", default=0.0)


@dataclass(frozen=True, kw_only=True)
class Tolerances:
    """How far the adapter as made, and the machines, may be off; added to what is modelled."""

    pilot_offset: float = at_least_zero(
        "Offset of the pilots as made, beside what is modelled; common practice, no source.", default=0.02,
        report_default=True,
    )  # fmt: skip
    pilot_tilt: float = described(
        "Tilt of the seats as made, beside what is modelled; common practice, no source.", quantity="angle", least=0.0,
        most=45.0, default=0.02, report_default=True,
    )  # fmt: skip
    runout_grade: str = described(
        "Grade of the machines' run-out by DIN 42955, which is also taken for machines without a frame; NEMA frames "
        "have one grade.",
        default="normal", choices=("normal", "reduced"), report_default=True,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Alignment:
    """Misalignment of the shafts as set up and measured; takes the place of what adapter and tolerances would give."""

    parallel: float | None = at_least_zero(
        "Parallel offset of the shafts. Without it, from adapter, frames and tolerances.", default=None, example="0.03"
    )
    angular: float | None = described(
        "Angle between the shafts. Without it, from adapter, frames and tolerances.", quantity="angle", least=0.0,
        most=45.0, default=None, example="0.1",
    )  # fmt: skip
    axial: float = at_least_zero("Axial movement of the shafts against each other, to either side.", default=0.0)


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What the drive must reach; what is not given is not judged, unless it has a default."""

    repeatability: float | None = described(
        "Repeatability of the carriage from both sides, whole width; give it with its unit, such as 10 um. Common "
        "practice, no source: standard ball-screw actuators reach about 5 um, the best about 3 um.",
        quantity="length", least=0.0, exclusive=True, most=5.0, default=None, example="0.02",
    )  # fmt: skip
    angular_repeatability: float | None = described(
        "Repeatability of a turning load from both sides, whole width.", quantity="angle", least=0.0, exclusive=True,
        most=45.0, default=None, example="0.05",
    )  # fmt: skip
    following_error: float | None = described(
        "Greatest lag of the carriage behind the motor in acceleration.", quantity="length", least=0.0, exclusive=True,
        most=50.0, default=None, example="0.05",
    )  # fmt: skip
    feedback: str = described(
        "Where the position is measured: at the motor, or at the carriage by a scale.", default="motor",
        choices=("motor", "carriage"), report_default=True,
    )  # fmt: skip
    backlash: float | None = described(
        "Greatest backlash of coupling and hubs, at the coupling. Without it, what the repeatability leaves.",
        quantity="angle", least=0.0, most=45.0, default=None, example="0.1",
    )  # fmt: skip
    bandwidth: float | None = _over_zero("Bandwidth of the speed controller.", "frequency", default=None, example="60")
    resonance_ratio: float = described(
        "Least ratio of the lowest resonance to the bandwidth; common practice, no source: 2 to 5.", quantity="number",
        least=1.0, most=20.0, default=3.0, report_default=True,
    )  # fmt: skip
    kept_free: tuple[float, ...] | None = described(
        "A band of frequencies that must hold no resonance, such as the step rates that a stepper starts and runs "
        "with, from and to.",
        quantity="frequency", least=0.0, exclusive=True, positional=(2,), default=None, example="[60, 160]",
    )  # fmt: skip
    inertia_ratio: float = _over_zero(
        "Greatest ratio of the inertia behind the coupling to the motor's; common practice, no source: 3 for quick "
        "positioning, 10 for most axes.",
        "number", default=10.0, report_default=True,
    )  # fmt: skip
    slip_safety: float = described(
        "Least ratio of a hub's low slip torque, or of the screw, to the torque it must hold.", quantity="number",
        least=1.0, most=20.0, default=1.0, report_default=True,
    )  # fmt: skip
    set_screw_safety: float | None = described(
        "Least ratio of what set screws hold to the torque. Without it 4 where the torque reverses, 1.5 where it "
        "does not (Shigley, 9th ed., p. 390).",
        quantity="number", least=1.0, most=20.0, default=None, example="4",
    )  # fmt: skip
    shaft_stress: float | None = _over_zero(
        "Greatest shear stress of the shafts. Without it that of plain carbon steel: 40 MPa with a keyseat (memory), "
        "53.3 MPa without (the ASME code of shafts takes 25 % off for keyseats).",
        "pressure", default=None, example="80",
    )  # fmt: skip
    misalignment_sum: str = described(
        "How tolerances add up: all at their worst, or as the root of the sum of squares.", default="worst case",
        choices=("worst case", "root sum square"), report_default=True,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class DriveData:
    """What the coupling has to do."""

    kind: str | None = described(
        "What turns behind the coupling, needed only where both groups are given.", default=None, choices=AXIS_KINDS,
        example="screw",
    )  # fmt: skip
    screw: ScrewDrive | None = described("A carriage on a screw.", default=None)
    rotary: RotaryDrive | None = described("A turning load.", default=None)
    motor: MotorData = described("The motor's figures.", default=MotorData())
    service: Service = described("How the drive is used.", default=Service())
    tolerances: Tolerances = described("How far adapter and machines may be off.", default=Tolerances())
    alignment: Alignment | None = described(
        "Misalignment as measured; without it, from adapter, frames and tolerances.", default=None
    )
    asked: Asked = described("What the drive must reach.", default=Asked())

    @property
    def axis_kind(self) -> str | None:
        """Which of both groups counts; None where neither is given."""
        if self.kind is not None:
            return self.kind
        return "screw" if self.screw is not None else "rotary" if self.rotary is not None else None
