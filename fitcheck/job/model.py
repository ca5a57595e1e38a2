"""The job: what the designer asks. Every field documents itself; lengths are mm, angles degrees.

A job file is a mapping whose keys are the field names of `Job`, nested groups are mappings of the group's fields,
and groups in a tuple are lists. Fields named here are the job file's contract.
"""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.job.coupling import ACROSS as ACROSS
from fitcheck.job.coupling import FAMILIES as FAMILIES
from fitcheck.job.coupling import FASTENINGS as FASTENINGS
from fitcheck.job.coupling import METRIC_SCREWS as METRIC_SCREWS
from fitcheck.job.coupling import NUMBERS_FROM as NUMBERS_FROM
from fitcheck.job.coupling import SCREW_DIRECTIONS as SCREW_DIRECTIONS
from fitcheck.job.coupling import TO_OTHER_HUB as TO_OTHER_HUB
from fitcheck.job.coupling import TO_OUTER_FACE as TO_OUTER_FACE
from fitcheck.job.coupling import Coupling as Coupling
from fitcheck.job.coupling import Hub as Hub
from fitcheck.job.coupling import Hubs as Hubs
from fitcheck.job.coupling import Screw as Screw
from fitcheck.job.drive import DriveData
from fitcheck.job.fields import above_zero, at_least_zero, described
from fitcheck.job.ratings import Bearings
from fitcheck.job.sizes import SizeTolerances as SizeTolerances
from fitcheck.job.tools import TOOLS as TOOLS
from fitcheck.job.tools import OwnTool as OwnTool
from fitcheck.job.tools import ToolArm as ToolArm
from fitcheck.job.tools import ToolSection as ToolSection

CHECKS = (
    "pilot-alignment", "pilot-fit", "bolt-pattern", "insertion", "radial-clearance", "axial-room", "engagement",
    "shaft-gap", "bore-fit", "wrench-access", "assembly-order", "torque", "hub-grip", "key-stress", "misalignment",
    "wind-up", "backlash", "resonance", "speed", "inertia",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Bodies:
    """Which bodies of the STEP file are what; patterns with * and ?, upper and lower case alike.

    "#2" is the second body in the list of `fitcheck measure`, for bodies that share a name.
    """

    adapter: tuple[str, ...] = described(
        "Name patterns of the adapter's bodies; without one, found by name and geometry.",
        default=(),
        example="bracket*",
    )
    motor: tuple[str, ...] = described("Name patterns of the motor's bodies.", default=(), example="motor*")
    actuator: tuple[str, ...] = described("Name patterns of the actuator's bodies.", default=(), example="actuator*")
    coupling: tuple[str, ...] = described(
        "Name patterns of the coupling's bodies; they are left out of the obstacles.",
        default=(),
        example="coupling*",
    )
    ignore: tuple[str, ...] = described(
        "Name patterns of bodies that are left out altogether.", default=(), example="bolt*"
    )


@dataclass(frozen=True, kw_only=True)
class Axis:
    """Settles which line is the drive axis, where the file offers more than one, or none."""

    near: tuple[float, ...] | None = described(
        "A point in the file's frame, mm; the candidate line that passes nearest to it is taken.",
        default=None, quantity="length", positional=(3,), example="[0, 0, 0]",
    )  # fmt: skip
    body: str | None = described(
        "Name pattern of a body whose bores or shaft lie on the axis.", default=None, example="bracket*"
    )
    point: tuple[float, ...] | None = described(
        "A point of the drive axis in the file's frame, mm; with 'direction' it overrides what was found. Bores or "
        "shafts within 0.6 mm of the line give its exact place. Without a seat on it the point is station 0.",
        default=None, quantity="length", positional=(3,), example="[0, 0, 0]",
    )  # fmt: skip
    direction: tuple[float, ...] | None = described(
        "Direction of the drive axis in the file's frame, from motor to actuator, of any length; needs 'point'.",
        default=None, positional=(3,), example="[0, 0, 1]",
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class ShaftFlat:
    """A flat ground on a round shaft."""

    length: float = above_zero("Length of the flat from the shaft end.", example="15")
    height: float = above_zero("Distance from the flat to the opposite side of the shaft.", example="7.5")


@dataclass(frozen=True, kw_only=True)
class Keyseat:
    """A keyseat milled into a shaft."""

    width: float = above_zero("Width of the keyseat.", example="3")
    depth: float = above_zero("Depth of the keyseat in the shaft.", example="1.8")
    length: float = above_zero("Length of the keyseat.", example="14")
    from_end: float = at_least_zero("Distance from the shaft end to where the keyseat begins.", default=0.0)


@dataclass(frozen=True, kw_only=True)
class Shaft:
    """A shaft end that the coupling sits on."""

    diameter: float = above_zero("Nominal diameter.", example="8")
    tolerance: str | None = described("ISO 286 tolerance class of the diameter.", default=None, example="h6")
    length: float = above_zero("Length of the shaft from the seat to its end.", example="24")
    full_from: float = at_least_zero(
        "Distance from the seat at which the full diameter begins. A collar or a fillet before it does not grip, and "
        "no hub goes over it, unless the machine's body in the file shows that it is no wider than the hub's bore.",
        default=0.0,
    )
    chamfer: float = at_least_zero(
        "Length of the chamfer at the shaft end; it does not grip.", default=0.0, report_default=True
    )
    flat: ShaftFlat | None = described("A flat on the shaft.", default=None)
    keyseat: Keyseat | None = described("A keyseat in the shaft.", default=None)
    surface: str | None = described(
        "Whether a set screw bites: soft, or hard (above about 35 HRC); for the advice on fastenings.",
        default=None, choices=("soft", "hard"), example="soft",
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Register:
    """The boss of a motor or actuator that locates in the adapter's pilot bore."""

    diameter: float = above_zero("Diameter of the register.", example="38.1")
    height: float = at_least_zero("Height of the register above the seat.", example="1.6")
    tolerance: str | None = described("ISO 286 tolerance class of the diameter.", default=None, example="h7")


@dataclass(frozen=True, kw_only=True)
class Flange:
    """The body of a machine that is not in the STEP file, behind its seat: what tools have to keep clear of."""

    size: float = above_zero("Side of the square, or diameter, of the largest cross-section.", example="56.4")
    shape: str = described(
        "Shape of the cross-section; a square may be turned any way.", default="square", choices=("square", "round")
    )
    length: float | None = described(
        "How far the body reaches back from its seat. Without it, without end.",
        default=None, quantity="length", least=0.0, exclusive=True, example="76",
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Bolts:
    """A bolt pattern on the motor or the actuator."""

    layout: str = described("Layout of the holes.", choices=("circle", "square", "rectangle"), example="square")
    size: tuple[float, ...] = described(
        "Bolt circle diameter, or side of the square, or both sides of the rectangle.",
        quantity="length", least=0.0, exclusive=True, positional=(1, 2), example="47.14",
    )  # fmt: skip
    count: int = described("Number of holes.", default=4, least=2, most=48)
    screw: str | None = described("Screw size that passes the adapter's holes.", default=None, example="M5")


@dataclass(frozen=True, kw_only=True)
class Machine:
    """The motor or the actuator, where the STEP file does not contain it or where the job says it better."""

    frame: str | None = described(
        "A standard frame by name; register and bolts come from its table unless given here.",
        default=None, example="NEMA 23",
    )  # fmt: skip
    near: tuple[float, ...] | None = described(
        "A point in the file's frame, mm; this machine sits at the adapter end whose seat is nearest to it.",
        default=None, quantity="length", positional=(3,), example="[0, 0, 0]",
    )  # fmt: skip
    seat: float | None = described(
        "Station of this machine's seat in mm from the motor seat, where the adapter has no seat for it. "
        "Only for the actuator; the motor seat is station 0.",
        default=None, quantity="length", example="52",
    )  # fmt: skip
    register: Register | None = described("The boss that locates in the adapter's pilot bore.", default=None)
    bolts: Bolts | None = described("The bolt pattern on the seat.", default=None)
    flange: Flange | None = described(
        "The size of its body, where it is not in the STEP file. Without it, the frame's; without a frame, a plane "
        "without end at the seat.",
        default=None,
    )
    shaft: Shaft | None = described("The shaft end.", default=None)
    bearings: Bearings | None = described(
        "The shaft's bearings, for the forces of misalignment and the length that winds up.", default=None
    )
    prefer: str | None = described(
        "Which counts where a size given here contradicts this machine's body in the STEP file: without it that is a "
        "fail; with 'job' the job's size counts, with a warning.",
        default=None, choices=("job",), example="job",
    )  # fmt: skip
    removed: str = described(
        "How often the hub comes off this shaft again; for the advice on fastenings.", default="seldom",
        choices=("seldom", "often"),
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where the coupling sits along the drive axis."""

    motor_hub_face: float | None = described(
        "Station of the motor hub's outer face, mm from the motor seat. Without it the coupling is centred between "
        "the shaft ends.",
        default=None, quantity="length", example="8.5",
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Require:
    """What is required; every default is printed with the result."""

    radial_clearance: float = at_least_zero(
        "Least radial clearance of the turning coupling.", default=0.5, report_default=True
    )
    insertion_clearance: float = at_least_zero(
        "Least radial clearance while the coupling is put in.", default=0.1, report_default=True
    )
    insertion_from: str = described(
        "The side that the coupling enters the adapter by.", default="either", choices=("motor", "actuator", "either"),
        report_default=True,
    )  # fmt: skip
    orbit: float = at_least_zero(
        "Radial movement of the turning coupling by misalignment and runout, taken off the clearance.", default=0.1,
        report_default=True,
    )  # fmt: skip
    axial_clearance: float = at_least_zero(
        "Least distance along the axis between the coupling and what closes the chamber.",
        default=0.3,
        report_default=True,
    )
    engagement: float = described(
        "Least engagement length as a multiple of the shaft diameter; common practice, no source: 1.0 to 1.5.",
        default=1.0, quantity="number", least=0.0, most=10.0, report_default=True,
    )  # fmt: skip
    engagement_rule: str = described(
        "What the least engagement is: the multiple of the shaft diameter, the hub's bore length, "
        "or the lesser of both.",
        default="lesser", choices=("diameters", "bore length", "lesser"), report_default=True,
    )  # fmt: skip
    gap_loss: float = at_least_zero(
        "Thermal growth and tolerances that may close the shaft gap.", default=0.2, report_default=True
    )
    parallel_misalignment: float = at_least_zero("Greatest pilot to pilot offset.", default=0.05, report_default=True)
    angular_misalignment: float = described(
        "Greatest pilot to pilot tilt, degrees.",
        default=0.1,
        quantity="angle",
        least=0.0,
        most=45.0,
        report_default=True,
    )
    bolt_position: float = at_least_zero(
        "Greatest distance of a hole from its place in the motor's or the actuator's pattern.",
        default=0.2,
        report_default=True,
    )
    pilot_play: float = at_least_zero(
        "Greatest diametral play of a register in its pilot bore.", default=0.1, report_default=True
    )
    bore_play: float = at_least_zero(
        "Greatest diametral play of a shaft in its hub's bore.", default=0.05, report_default=True
    )
    tools: tuple[str, ...] = described(
        "Tools at hand; a screw passes when one of them reaches it.",
        default=("hex key",),
        choices=TOOLS,
        report_default=True,
    )
    own_tools: tuple[OwnTool, ...] = described("Tools of your own, at hand as well.", default=())
    key_swing: float = described(
        "How far a tool with an arm must turn before it is put on anew; 60 is one side of a hexagon.",
        default=60.0, quantity="angle", least=0.0, exclusive=True, most=360.0, report_default=True,
    )  # fmt: skip
    ball_end_tilt: float = described(
        "Greatest tilt of a ball-end key against the screw; common practice, no source: 25.",
        default=25.0, quantity="angle", least=0.0, most=45.0,
    )  # fmt: skip
    access: str = described(
        "When every screw must be reachable: once all is assembled (so that it can be taken apart again), or when "
        "its turn comes in the order of assembly.",
        default="assembled", choices=("assembled", "in order"), report_default=True,
    )  # fmt: skip
    checks: tuple[str, ...] = described(
        "Checks whose answer is required: one that cannot be made leaves the job incomplete. "
        "Without the list, every check that the job gives data for.",
        default=(),
        choices=CHECKS,
        example="[insertion, radial-clearance, engagement, shaft-gap]",
    )


@dataclass(frozen=True, kw_only=True)
class Job:
    """One question: this adapter, these machines, this coupling."""

    step: str = described(
        "The STEP file of the adapter or the assembly, relative to the job file.", example="z-adapter.step"
    )
    title: str | None = described("A title for the report.", default=None, example="Soil-core gantry, Z drive")
    unit: str | None = described(
        "Length unit of the STEP file's numbers, where the file declares a wrong one.", default=None,
        choices=("mm", "cm", "m", "inch"), example="inch",
    )  # fmt: skip
    bodies: Bodies = described("Which bodies of the file are what.", default=Bodies())
    axis: Axis = described("Which line is the drive axis, where that is in doubt.", default=Axis())
    motor: Machine = described("The motor.", default=Machine())
    actuator: Machine = described("The actuator.", default=Machine())
    coupling: Coupling = described("The coupling candidate.")
    place: Place = described("Where the coupling sits.", default=Place())
    tolerances: SizeTolerances | None = described(
        "Tolerances of sizes; without them clearance, shaft gap and engagement are told as drawn.", default=None
    )
    drive: DriveData | None = described(
        "What the coupling has to do; without it, only geometry is asked.", default=None
    )
    require: Require = described("What is required.", default=Require())


MARK = "TO BE FILLED IN"
"""What the starting file writes behind its examples."""


@dataclass(frozen=True, kw_only=True)
class LoadedJob:
    """A job with where it came from.

    Attributes:
        job: the typed job.
        file: the job file as the user named it, or None for a job made in code.
        step_path: the STEP file, resolved against the job file's folder.
        lines: 1-based line of every key given, by dotted path ("coupling.hubs.motor.bore",
            "coupling.hubs.motor.screws.0.size").
        defaults: "path = value unit" of every default with `report_default` that the job left to fitcheck.
        to_measure: dotted paths of the coupling's numbers that the job leaves to the STEP file; 0 until they are
            measured (`fitcheck.checks.from_file`).
        unfilled: lines that still hold a number of the starting file, which knows nothing of the coupling.
    """

    job: Job
    file: str | None
    step_path: str
    lines: dict[str, int]
    defaults: tuple[str, ...]
    to_measure: tuple[str, ...] = ()
    unfilled: tuple[int, ...] = ()
