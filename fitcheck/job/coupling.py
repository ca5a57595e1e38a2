"""The coupling candidate as a job gives it: hubs, fastenings and screws. Every field documents itself."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.job.fields import above_zero, at_least_zero, described
from fitcheck.job.ratings import PROPERTY_CLASSES, Holding, Ratings

FAMILIES = (
    "rigid", "slit", "double slit", "oldham", "jaw", "bellows", "disc", "double disc",
    "universal joint", "double universal joint",
)  # fmt: skip
FASTENINGS = ("clamp", "clamp two-piece", "set screw", "key with set screw", "key with clamp")
NUMBERS_FROM = ("job", "step file")
SCREW_DIRECTIONS = ("across", "to outer face", "to other hub")
ACROSS, TO_OUTER_FACE, TO_OTHER_HUB = SCREW_DIRECTIONS
METRIC_SCREWS = ("M1.6", "M2", "M2.5", "M3", "M4", "M5", "M6", "M8", "M10", "M12")


@dataclass(frozen=True, kw_only=True)
class Screw:
    """A clamp screw, set screw or flange screw of a hub, as it lies when the coupling is assembled."""

    size: str = described("Thread size.", choices=METRIC_SCREWS, example="M3")
    kind: str = described(
        "Cap screw (ISO 4762) or set screw (ISO 4026 to 4029).",
        default="cap screw", choices=("cap screw", "set screw"),
    )  # fmt: skip
    station: float = at_least_zero(
        "Distance of the screw's axis from the hub's outer face (where the shaft enters); of a screw along the drive "
        "axis, the distance of the outer end of its head. A head towards the other hub may stand out between the hubs.",
        example="4.5",
    )
    offset: float = described(
        "Distance of the screw's axis from the drive axis; positive to the left, seen from the drive axis along "
        "the direction towards the tool, with the drive axis (motor to actuator) pointing up. "
        "0 for a radial set screw; of a screw along the drive axis, the radius of its bolt circle.",
        default=0.0, quantity="length",
    )  # fmt: skip
    angle: float = described(
        "Shaft angle of the direction from the screw towards the tool, in degrees, counted in the coupling's own "
        "frame; screws at equal angles are reached from the same side. Of a screw along the drive axis, the angle at "
        "which it lies.",
        default=0.0, quantity="angle",
    )  # fmt: skip
    head_end: float | None = described(
        "Distance along the screw's direction from the plane through the drive axis to the outer end of the head. "
        "Without it the head is taken to end at the hub's outside diameter.",
        default=None, quantity="length", example="13.4",
    )  # fmt: skip
    direction: str = described(
        "Which way the screw lies: across the drive axis (clamp and set screws), or along it (flange screws) with "
        "its head towards the hub's outer face or towards the other hub.",
        default="across", choices=SCREW_DIRECTIONS,
    )  # fmt: skip
    property_class: str = described("Property class (ISO 898-1).", default="8.8", choices=PROPERTY_CLASSES)
    tightening_torque: float | None = described(
        "Torque that the screw is tightened with.", quantity="torque", least=0.0, exclusive=True, default=None,
        example="1.2",
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Hub:
    """One hub of the coupling."""

    bore: float = above_zero("Nominal bore diameter.", example="8", measurable=True)
    bore_tolerance: str | None = described("ISO 286 tolerance class of the bore.", default=None, example="H7")
    bore_length: float = above_zero(
        "Length of the bore that grips the shaft, from the hub's outer face.", example="12", measurable=True
    )
    insertion_limit: float | None = described(
        "Greatest depth that the shaft may enter from the hub's outer face; beyond it the shaft runs into the "
        "flexing part. Without it, the bore length.",
        default=None, quantity="length", least=0.0, exclusive=True, example="13",
    )  # fmt: skip
    outside_diameter: float | None = described(
        "Outside diameter of this hub. Without it, the coupling's.",
        default=None, quantity="length", least=0.0, exclusive=True, example="30",
    )  # fmt: skip
    length: float | None = described(
        "Length of this hub along the axis. Without it, the bore length.", default=None, quantity="length", least=0.0,
        exclusive=True, example="18",
    )  # fmt: skip
    fastening: str = described("How the hub holds on the shaft.", default="clamp", choices=FASTENINGS)
    screws: tuple[Screw, ...] = described("The hub's clamp screws and set screws.", default=())
    holding: Holding | None = described("How the hub holds on the shaft, for what it may carry.", default=None)


@dataclass(frozen=True, kw_only=True)
class Hubs:
    """The two hubs, named by the shaft that they sit on."""

    motor: Hub = described("The hub on the motor shaft.", measurable=True)
    actuator: Hub = described("The hub on the actuator shaft.", measurable=True)


@dataclass(frozen=True, kw_only=True)
class Coupling:
    """The coupling candidate."""

    name: str | None = described("A name for the report.", default=None, example="jaw 30 x 42")
    family: str = described("Coupling family.", choices=FAMILIES, example="jaw")
    numbers_from: str = described(
        "Where the numbers come from that are not given here: 'job' gives all of them itself; with 'step file' the "
        "coupling's bodies in the STEP file are measured: swept radius, outside diameter, length, bores and place.",
        default=NUMBERS_FROM[0], choices=NUMBERS_FROM,
    )  # fmt: skip
    outside_diameter: float = above_zero(
        "Outside diameter, screw heads not counted.", example="30", measurable=True
    )  # fmt: skip
    length: float = above_zero("Length over both hubs, as assembled.", example="42", measurable=True)
    element_diameter: float | None = described(
        "Outside diameter of the element between the hubs: spacer, bellows, disc or spider, with all that stands out "
        "of it; disc packs and flanges as wide as the hubs count to the hubs' lengths. Without it the outside diameter "
        "counts, and whether tools come to flange screws from between the hubs is not known.",
        default=None, quantity="length", least=0.0, exclusive=True, example="18",
    )  # fmt: skip
    axial_float: float = at_least_zero(
        "How far the coupling may move along the axis to either side, in use.", default=0.0
    )
    shaft_gap: float = at_least_zero(
        "Least distance between the shaft ends that the coupling needs.", default=0.5, report_default=True
    )
    hubs: Hubs = described("The two hubs.", measurable=True)
    ratings: Ratings | None = described("The coupling's ratings.", default=None)
