"""What all coupling families share: the parameters common to them, their bodies, and how a dimension is refused."""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from fitcheck.errors import UsageError
from parametric_models.couplings.hubs import Hub, HubSeat, hub_pieces
from parametric_models.couplings.limits import above_zero, within
from parametric_models.couplings.profile import Piece, Profile

MOTOR_HUB = "motor hub"
ACTUATOR_HUB = "actuator hub"

METAL_COLOUR = (0.72, 0.75, 0.78)
SCREW_COLOUR = (0.25, 0.25, 0.28)
PLASTIC_COLOUR = (0.93, 0.91, 0.84)
ELASTOMER_COLOUR = (0.36, 0.33, 0.42)
SPRING_COLOUR = (0.85, 0.80, 0.65)


@dataclass(frozen=True, kw_only=True)
class Body:
    """One solid of a coupling.

    Attributes:
        name: its name in the product structure, unique within its group.
        group: the sub-assembly that it belongs to ("motor hub", "disc pack 1"), or None for the top level.
        shape: the solid, a `cadquery.Shape` in the coupling's frame (drive axis +Z, motor hub's outer face at 0).
        material: a name of the material table.
        colour: red, green and blue from 0 to 1.
    """

    name: str
    group: str | None
    shape: Any
    material: str
    colour: tuple[float, float, float]


@dataclass(frozen=True, kw_only=True)
class Coupling(ABC):
    """Dimensions that every family has; lengths mm.

    Attributes:
        outside_diameter: outside diameter of the part between the hubs, and of the hubs unless they say otherwise.
        middle_length: distance between the inner faces of the two hubs.
        motor: the hub on the motor shaft; its outer face is station 0 of the coupling's frame.
        actuator: the hub on the actuator shaft.
        hub_material: material of the hubs, by name of the material table.
    """

    family: ClassVar[str]
    outside_diameter: float
    middle_length: float
    motor: Hub
    actuator: Hub
    hub_material: str = "aluminium 7075"

    def __post_init__(self) -> None:
        above_zero(self.subject, "outside_diameter", self.outside_diameter)
        self.check()

    @property
    def subject(self) -> str:
        """What an error about this coupling begins with."""
        return f"{self.family} coupling"

    @property
    def length(self) -> float:
        """Length over both hubs, mm."""
        return round(self.motor.length + self.middle_length + self.actuator.length, 9)

    @property
    def seats(self) -> tuple[HubSeat, HubSeat]:
        """Where the motor hub and the actuator hub sit in the coupling's frame."""
        return HubSeat(face=0.0, inward=1), HubSeat(face=self.length, inward=-1)

    @property
    def middle(self) -> tuple[float, float]:
        """Stations of the inner faces of the motor hub and of the actuator hub, mm."""
        return self.motor.length, self.motor.length + self.middle_length

    def profile(self) -> Profile:
        """The swept radius along the drive axis, exact, screw heads included; the coupling straight and at rest."""
        motor_seat, actuator_seat = self.seats
        pieces = [*hub_pieces(self.motor, motor_seat), *self.middle_pieces(), *hub_pieces(self.actuator, actuator_seat)]
        return Profile(pieces=tuple(pieces))

    @abstractmethod
    def check(self) -> None:
        """Refuses dimensions that cannot be built together; raises `UsageError`."""

    @abstractmethod
    def middle_pieces(self) -> tuple[Piece, ...]:
        """The profile's pieces between the hubs' inner faces."""

    @abstractmethod
    def bodies(self) -> tuple[Body, ...]:
        """All solids of the detailed coupling; loads the CAD kernel."""


class Given:
    """Dimensions that the caller gave; the families take theirs out, and what is left over is a misspelling."""

    def __init__(self, subject: str, dimensions: Mapping[str, Any]) -> None:
        self.subject = subject
        self._left = dict(dimensions)
        self._known: set[str] = set()

    def take(self, name: str, default: Any) -> Any:
        """The caller's value of a dimension, or the default where the caller gave none (or gave None)."""
        self._known.add(name)
        value = self._left.pop(name, None)
        return default if value is None else value

    def peek(self, name: str, default: Any) -> Any:
        """As `take`, and leaves the value for whoever takes it."""
        value = self._left.get(name)
        return default if value is None else value

    def copy(self) -> Given:
        """The same dimensions, none of them taken yet from the copy that are not taken here."""
        return Given(self.subject, self._left)

    def finish(self) -> None:
        """Refuses dimensions that nobody took; raises `UsageError` with the names that there are."""
        if self._left:
            unknown = ", ".join(sorted(self._left))
            raise UsageError(
                f"{self.subject}: no dimension is called {unknown}; it has: {', '.join(sorted(self._known))}"
            )


def rest_for_middle(
    given: Given, motor: Hub, actuator: Hub, default: float, least: float = 0.0, most: float = math.inf
) -> float:
    """The middle length: given as such, or what the given total `length` leaves, or the default.

    Args:
        given: the caller's dimensions; `length` and `middle_length` are taken out.
        motor: the motor hub.
        actuator: the actuator hub.
        default: middle length where neither is given, mm.
        least: least middle length that the family can be built with, mm.
        most: greatest middle length that the family can be built with, mm.

    Returns:
        The middle length, mm.

    Raises:
        UsageError: both are given, or the length leaves a middle out of range.
    """
    length, middle = given.take("length", None), given.take("middle_length", None)
    hubs = motor.length + actuator.length
    if length is not None and middle is not None:
        raise UsageError(f"{given.subject}: give length or middle_length, not both; the hubs take {hubs:g} mm")
    if length is not None:
        within(given.subject, "length", length, hubs + least, hubs + most, f"the hubs alone take {hubs:g} mm")
        # rounding keeps 42 - 13 - 13.1 from being 15.899999999999999
        return round(float(length) - hubs, 9)
    value = default if middle is None else middle
    within(given.subject, "middle_length", value, least, most, "the part between the hubs must find room")
    return float(value)
