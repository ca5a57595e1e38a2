"""Housings of two pieces: a closed housing parted across the drive axis, located by a spigot."""

from __future__ import annotations

from dataclasses import dataclass

import cadquery as cq

from parametric_models.adapters.features import OVER, carve, cylinder
from parametric_models.adapters.housing import Housing, housing
from parametric_models.refusals import check_range


@dataclass(frozen=True, kw_only=True)
class TwoPiece:
    """A closed housing in two pieces.

    Attributes:
        whole: the housing that the two pieces make together.
        joint: station of the joint's faces, mm.
        spigot_diameter: outside diameter of the spigot on the actuator's piece, mm.
        spigot_length: how far the spigot enters the motor's piece, mm.
        play: diametral play of the spigot in its recess, mm.
        end_gap: how much deeper the recess is than the spigot is long, mm.
    """

    whole: Housing
    joint: float
    spigot_diameter: float
    spigot_length: float
    play: float = 0.02
    end_gap: float = 0.3

    def __post_init__(self) -> None:
        start, stop = self.whole.chamber
        outer = self.whole.size if self.whole.waist is None else self.whole.waist.diameter
        check_range("spigot_length", self.spigot_length, 0.0, (stop - start) / 2 - self.end_gap, open_low=True)
        check_range("joint", self.joint, start + self.spigot_length + self.end_gap + 0.5, stop - 0.5)
        least = self.whole.chamber_diameter + 0.4
        check_range("spigot_diameter", self.spigot_diameter, least, outer - self.play - 0.4)
        check_range("play", self.play, 0.0, 1.0)
        check_range("end_gap", self.end_gap, 0.0, 5.0)


def two_piece(parameters: TwoPiece) -> dict[str, cq.Solid]:
    """The two bodies, in place: "motor piece" and "actuator piece".

    Raises:
        ValueError: the dimensions cut a piece into more than one.
    """
    p = parameters
    whole = housing(p.whole)
    side = 4 * p.whole.size
    box = cq.Solid.makeBox(side, side, side)
    above = box.moved(cq.Location(cq.Vector(-side / 2, -side / 2, p.joint)))
    below = box.moved(cq.Location(cq.Vector(-side / 2, -side / 2, p.joint - side)))
    recess = cylinder(p.spigot_diameter + p.play, p.joint - p.spigot_length - p.end_gap, p.joint + OVER)
    spigot = cylinder(p.spigot_diameter, p.joint - p.spigot_length, p.joint + OVER)
    # The spigot keeps the chamber's bore and the windows: it is cut out of the housing itself.
    tongue = whole.intersect(spigot)
    motor_piece = carve(whole, (above, recess), "two-piece housing's motor piece")
    upper = whole.cut(below).fuse(tongue).clean()
    return {"motor piece": motor_piece, "actuator piece": carve(upper, (), "two-piece housing's actuator piece")}
