"""What the coupling's maker rates it for, how its hubs hold, and where the machines' bearings sit; all optional."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fitcheck.job.fields import above_zero, at_least_zero, described

HUB_MATERIALS = ("aluminium", "steel", "cast iron")
BODY_MATERIALS = ("aluminium", "steel", "stainless steel")
PRESSURE_LAWS = ("by fit", "two-line", "cosine", "uniform")
PROPERTY_CLASSES = ("8.8", "10.9", "12.9")
CROSS_CUTS = ("whole", "half", "none")
KEY_ENDS = ("round", "straight")
NEAR, FAR = "near", "far"


def _rating(doc: str, quantity: str, example: str) -> Any:
    """A rating that may be left out and is greater than 0."""
    return described(doc, quantity=quantity, least=0.0, exclusive=True, default=None, example=example)


@dataclass(frozen=True, kw_only=True)
class HelicalCut:
    """A helical cut of a slit coupling, for estimating its stiffness."""

    outside_diameter: float = above_zero("Outside diameter of the cut section.", example="25")
    bore: float = above_zero("Bore of the cut section.", example="12")
    beam: float = above_zero("Axial width of the material between cuts of one start.", example="1.5")
    turns: float = described("Turns of each start.", quantity="number", least=0.0, exclusive=True, example="3")
    starts: int = described("Parallel starts.", default=1, least=1, most=6)
    sections: int = described("Cut sections one behind the other.", default=1, least=1, most=4)
    material: str = described("Material of the body.", default="aluminium", choices=BODY_MATERIALS)


@dataclass(frozen=True, kw_only=True)
class RadialSlits:
    """Radial slits of a slit coupling, for estimating its stiffness."""

    outside_diameter: float = above_zero("Outside diameter of the slit section.", example="25")
    bore: float = above_zero("Bore of the slit section.", example="12")
    ring: float = above_zero("Axial thickness of the rings between the slits.", example="2")
    slit: float = above_zero("Width of a slit along the axis.", example="0.6")
    ligament: float = above_zero("Width, along the circumference, of the material left at a slit.", example="4")
    slits: int = described("Number of slits in all.", default=6, least=1, most=40)
    material: str = described("Material of the body.", default="aluminium", choices=BODY_MATERIALS)


@dataclass(frozen=True, kw_only=True)
class Ratings:
    """The coupling's ratings, from its maker or from a bench."""

    nominal_torque: float | None = _rating("Torque that it carries for ever.", "torque", "6")
    maximum_torque: float | None = _rating(
        "Torque that it carries for short peaks. Without it, the nominal torque.", "torque", "12"
    )
    maximum_speed: float | None = _rating("Greatest speed.", "speed", "8000")
    torsional_stiffness: float | None = _rating("Torsional stiffness, hub to hub.", "stiffness", "1500")
    torsional_stiffness_range: tuple[float, ...] | None = described(
        "Least and greatest torsional stiffness, as `fitcheck bench` gives them; the least one is judged.",
        quantity="stiffness", least=0.0, exclusive=True, positional=(2,), default=None, example="[1400, 1600]",
    )  # fmt: skip
    helical_cut: HelicalCut | None = described(
        "Cut of a slit coupling, where its stiffness is not known.", default=None
    )
    radial_slits: RadialSlits | None = described(
        "Slits of a slit coupling, where its stiffness is not known.", default=None
    )
    inertia: float = described("Inertia of the whole coupling.", quantity="inertia", least=0.0, default=0.0)
    mass: float | None = _rating("Mass of the whole coupling.", "mass", "0.06")
    parallel: float | None = at_least_zero("Permitted parallel misalignment, alone.", default=None, example="0.15")
    angular: float | None = described(
        "Permitted angular misalignment, alone.", quantity="angle", least=0.0, most=90.0, default=None, example="1"
    )
    axial: float | None = at_least_zero("Permitted axial movement to either side, alone.", default=None, example="0.3")
    lateral_stiffness: float | None = _rating("Stiffness against parallel offset.", "spring-rate", "400")
    axial_stiffness: float | None = _rating("Stiffness against axial movement.", "spring-rate", "60")
    bending_stiffness: float | None = _rating("Stiffness against an angle between the shafts.", "stiffness", "30")
    backlash: float | None = described(
        "Backlash, whole play between both directions.", quantity="angle", least=0.0, most=45.0, default=None,
        example="0",
    )  # fmt: skip
    damping: float = described(
        "Relative damping psi (share of the strain energy lost in an oscillation; DIN 740-2); 0 for metal.",
        quantity="number", least=0.0, most=3.0, default=0.0,
    )  # fmt: skip
    flexing_span: float | None = above_zero(
        "Distance between the two flexing planes of a double coupling; of another one that bends, the length that "
        "flexes. Without it, from what the bores leave of the coupling.",
        default=None, example="20",
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Key:
    """The key of a keyed hub; what is not given comes from DIN 6885-1."""

    width: float | None = above_zero("Width of the key.", default=None, example="3")
    height: float | None = above_zero("Height of the key.", default=None, example="3")
    length: float | None = above_zero(
        "Length of the key that lies in the hub. Without it, the keyseat inside the bore.", default=None, example="10"
    )
    ends: str = described("Form of the key's ends.", default="round", choices=KEY_ENDS)
    count: int = described("Number of keys.", default=1, least=1, most=2)
    play: float | None = at_least_zero(
        "Play of the key at the shaft's surface, along the circumference.", default=None, example="0.01"
    )


@dataclass(frozen=True, kw_only=True)
class Holding:
    """How a hub holds on its shaft."""

    material: str = described("Material of the hub.", default="aluminium", choices=HUB_MATERIALS)
    friction: tuple[float, ...] = described(
        "Friction of bore on shaft: low, nominal, high. Design values for wiped, lightly oiled faces (memory).",
        quantity="number", least=0.0, most=1.0, positional=(3,), default=(0.1, 0.12, 0.2),
    )  # fmt: skip
    pressure_law: str = described(
        "How the pressure lies round the shaft: two-line for a loose fit, cosine for a close one, uniform for a tight "
        "one; 'by fit' takes two-line as low, cosine as nominal.",
        default="by fit", choices=PRESSURE_LAWS,
    )  # fmt: skip
    cross_cut: str | None = described(
        "How far a cut across frees the clamping part of a slotted one-piece hub from its body: whole (three quarters "
        "of the circumference or more), half or none. Without it, half; whole where hinge is given. A hub that is not "
        "freed hardly closes on its shaft.",
        default=None, choices=CROSS_CUTS, example="half",
    )  # fmt: skip
    hinge: float | None = above_zero(
        "Distance from the drive axis to the middle of a relieved web opposite the slot of a one-piece hub, about "
        "which the clamp turns. Without it the web is taken to be as thick as the hub's wall.",
        default=None, example="9",
    )  # fmt: skip
    slip_torque: float | None = _rating(
        "Slip torque on this bore with this tightening torque, at least, from the hub's maker or from a bench; it "
        "takes the place of what screws and friction would give.",
        "torque", "5",
    )  # fmt: skip
    thread_friction: tuple[float, ...] = described(
        "Friction in thread and under head: low, nominal, high (VDI 2230, class B, memory).",
        quantity="number", least=0.0, exclusive=True, most=1.0, positional=(3,), default=(0.08, 0.12, 0.16),
    )  # fmt: skip
    torque_scatter: float = described(
        "Scatter of the torque wrench to either side, as a share; common practice, no source.", quantity="number",
        least=0.0, most=0.9, default=0.1,
    )  # fmt: skip
    settling: float = described(
        "Share of the preload lost by embedding; common practice, no source.", quantity="number", least=0.0, most=0.9,
        default=0.1,
    )  # fmt: skip
    key: Key = described("The key, where the hub has one.", default=Key())


@dataclass(frozen=True, kw_only=True)
class Bearings:
    """The bearings of a machine's shaft, for the forces that misalignment puts on them."""

    distance: float = at_least_zero("From the middle of the bearing next to the coupling to the seat.", example="10")
    span: float = above_zero("Between that bearing and the next one on the same shaft.", example="50")
    fixed: str = described(
        "Which of the two holds the shaft along its axis: the one near the coupling, or the far one; from there it "
        "grows with heat, a screw over its whole length.",
        default=NEAR, choices=(NEAR, FAR),
    )  # fmt: skip
    radial_load: float | None = described(
        "Radial load that may act on that bearing for good, at the shaft end.", quantity="force", least=0.0,
        exclusive=True, default=None, example="60",
    )  # fmt: skip
    axial_load: float | None = described(
        "Axial load that may act on the shaft.", quantity="force", least=0.0, exclusive=True, default=None,
        example="20",
    )  # fmt: skip
