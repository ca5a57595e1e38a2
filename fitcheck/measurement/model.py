"""The measurement: plain, versioned data about one STEP file. Lengths mm, angles degrees; no CAD kernel is needed.

"File frame" is the frame of the STEP file, converted to mm. "Axis frame" has the coordinates (s, x, y): the station
along the drive axis and two directions across it, `x` being shaft angle 0.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field, replace
from math import isfinite
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fitcheck.measurement.obstacles import Obstacles

FORMAT = "fitcheck.measurement/1"

Vector = tuple[float, float, float]


def _tidied(value: Any) -> Any:
    """The same data with numbers rounded to 1e-9, without negative zeros."""
    if isinstance(value, float):
        return round(value, 9) + 0.0
    if isinstance(value, dict):
        return {key: _tidied(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_tidied(item) for item in value]
    return value


@dataclass(frozen=True, kw_only=True)
class Body:
    """One solid or shell of the file. Volume mm³; role adapter, motor, actuator, coupling, ignored or other.

    `box` are the least and the greatest corner (file frame, mm), `distance` the least one from the drive axis, mm, and
    `touches` the indices of the bodies that it lies on.
    """

    name: str
    role: str
    volume: float
    box: tuple[Vector, Vector] | None = None
    distance: float | None = None
    touches: tuple[int, ...] = ()


def _body(body: Body) -> dict[str, Any]:
    """A body by the contract's roles: one that is left out altogether is an "other", and is marked."""
    found = asdict(body)
    if body.role == "ignored":
        found.update(role="other", ignored=True)
    return found


@dataclass(frozen=True, kw_only=True)
class AxisLine:
    """A directed line in the file frame, mm; `across` is the direction of shaft angle 0."""

    origin: Vector
    direction: Vector
    across: Vector


@dataclass(frozen=True, kw_only=True)
class Pilot:
    """A pilot bore: diameter, depth from the seat to its floor, its own axis (file frame, as the drive axis points)."""

    diameter: float
    depth: float
    origin: Vector
    direction: Vector


@dataclass(frozen=True, kw_only=True)
class Opening:
    """The bore that opens at a seat without being a pilot: diameter, length along the axis, and its own axis as
    `Pilot` has it.
    """

    diameter: float
    length: float
    origin: Vector | None = None
    direction: Vector | None = None


@dataclass(frozen=True, kw_only=True)
class Register:
    """A boss that stands proud of a seat and locates: diameter, height above the seat, and its own axis as `Pilot` has
    it.
    """

    diameter: float
    height: float
    origin: Vector | None = None
    direction: Vector | None = None


@dataclass(frozen=True, kw_only=True)
class Locator:
    """What locates a machine on its end of the adapter: `what` it is, its diameter, its own axis as `Pilot` has it."""

    what: str
    diameter: float
    origin: Vector
    direction: Vector


@dataclass(frozen=True, kw_only=True)
class BoltPattern:
    """Holes on a seat. `holes` are their centres in the axis frame's (x, y), mm; `hole` is their diameter.

    Where they are slots, `hole` is their width and `slots` has for each the shaft angle that it runs along (0 to 180
    degrees) and its travel, from one end's centre to the other's, mm; empty for round holes. `depth` is that of the
    part that opens on the seat, mm, without a drill's point; `through` whether it is open at its end.

    `size` is the bolt circle diameter (circle), the side (square), both sides (rectangle), or empty (irregular);
    `bolt_circle` is given wherever all holes lie on one circle about the pattern's centre.
    """

    layout: str
    size: tuple[float, ...]
    count: int
    hole: float
    threaded: bool | None = None
    bolt_circle: float | None = None
    holes: tuple[tuple[float, float], ...] = ()
    slots: tuple[tuple[float, float], ...] = ()
    depth: float | None = None
    through: bool | None = None


@dataclass(frozen=True, kw_only=True)
class Flat:
    """A flat on a shaft: its length along the axis, from the flat to the opposite side, and its end stations."""

    length: float
    height: float
    start: float
    stop: float


@dataclass(frozen=True, kw_only=True)
class Keyseat:
    """A keyseat in a shaft: width, depth, length, and its end stations."""

    width: float
    depth: float
    length: float
    start: float
    stop: float


@dataclass(frozen=True, kw_only=True)
class Shaft:
    """A shaft end. `length` is from the seat to the end; the full diameter runs from station `full_from` to `full_to`.

    `full_from` is nearer to the shaft's own machine than `full_to`. `offset` and `tilt` are those of the shaft's own
    axis against the drive axis, at the shaft end. `grooves` are the ring grooves between, each from station to station.
    `origin` is the point of its own axis at the shaft end and `direction` that axis (file frame, as the drive axis
    points). `collars` are what is wider than the full diameter and no machine's front, each (start, stop, greatest
    radius), `start` nearer to its own machine.
    """

    diameter: float
    length: float
    end: float
    full_from: float
    full_to: float
    offset: float = 0.0
    tilt: float = 0.0
    flat: Flat | None = None
    keyseat: Keyseat | None = None
    grooves: tuple[tuple[float, float], ...] = ()
    origin: Vector | None = None
    direction: Vector | None = None
    collars: tuple[tuple[float, float, float], ...] = ()


@dataclass(frozen=True, kw_only=True)
class End:
    """One end of the adapter. `role` motor, actuator or unknown; `seat` a station.

    `face` is the station of the machine's front that closes the chamber (its register's end), where a body shows it.
    `lean` is the angle between the seat's normal and the drive axis, degrees; `bodies` are the indices of the machine's
    bodies among the measurement's. `on_adapter` is False where the adapter has no seat for the machine: then `seat` is
    the station of its own front, and pilot and bolts are not known.
    """

    role: str
    seat: float
    pilot: Pilot | None = None
    opening: Opening | None = None
    register: Register | None = None
    bolts: tuple[BoltPattern, ...] = ()
    shaft: Shaft | None = None
    face: float | None = None
    machine_register: Register | None = None
    lean: float = 0.0
    bodies: tuple[int, ...] = ()
    on_adapter: bool = True

    def at_seat(self, seat: float) -> End:
        """The same end with its seat at another station, as the job may put that of a machine on no seat."""
        shaft = None if self.shaft is None else replace(self.shaft, length=abs(self.shaft.end - seat))
        return replace(self, seat=seat, shaft=shaft)

    @property
    def locator(self) -> Locator | None:
        """What locates the machine: a pilot bore, else a register of the adapter's, else the bore that opens there."""
        named = (("pilot", self.pilot), ("register", self.register), ("opening", self.opening))
        for what, found in named:
            if found is not None and found.origin is not None and found.direction is not None:
                return Locator(
                    what=what, diameter=found.diameter, origin=found.origin, direction=found.direction
                )  # fmt: skip
        return None


@dataclass(frozen=True, kw_only=True)
class Coaxiality:
    """Of what locates the second end to what locates the first, at the second's seat: offset mm, tilt degrees.

    `features` are what was compared, the first end's first: pilot, register (a spigot of the adapter's) or opening.
    """

    offset: float
    tilt: float
    features: tuple[str, ...] = ("pilot", "pilot")


@dataclass(frozen=True, kw_only=True)
class Cylinder:
    """Coaxial faces of one radius. `start`, `stop` are along its own axis from its origin; `turn` degrees covered."""

    kind: str
    diameter: float
    origin: Vector
    direction: Vector
    start: float
    stop: float
    turn: float
    body: str


@dataclass(frozen=True, kw_only=True)
class FreeRadius:
    """The free radius over the stations: `profile` rows (s, r), linear between rows; a jump is two rows at one s.

    r is inf where there is no material.
    """

    least: float
    station: float
    profile: tuple[tuple[float, float], ...]


@dataclass(frozen=True, kw_only=True)
class CouplingBore:
    """A bore of the coupling in the file: diameter, and the stations between which it has it, ascending."""

    diameter: float
    start: float
    stop: float


@dataclass(frozen=True, kw_only=True)
class MeasuredCoupling:
    """The coupling that the file holds, as it sits there.

    Attributes:
        bodies: names of its bodies.
        start: station where it begins.
        stop: station where it ends.
        length: along the drive axis.
        outside_diameter: of its widest cylinder about the drive axis; screw heads are none.
        radius: the greatest swept radius, screw heads included.
        station: where that is.
        bound: by how much the swept radius may be stated too large; it is never too small.
        profile: the swept radius, rows (s, R), linear between rows; a jump is two rows at one s.
        bores: the motor hub's first; fewer than two where they do not show.
    """

    bodies: tuple[str, ...]
    start: float
    stop: float
    length: float
    outside_diameter: float
    radius: float
    station: float
    bound: float
    profile: tuple[tuple[float, float], ...]
    bores: tuple[CouplingBore, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Window:
    """An opening in the chamber's wall: stations `start` to `stop`, mm; `angle` of its middle and how far it `opens`
    round the axis, degrees; its `width` square to its direction, mm; the direction outwards (file frame).
    """

    start: float
    stop: float
    angle: float
    opens: float
    width: float
    direction: Vector


@dataclass(frozen=True, kw_only=True)
class Unsettled:
    """What keeps a file from being judged, and what settles it; in words for the user.

    `job_group` is the machine that the file holds instead of an adapter, as lines for a job; "" where it holds none.
    """

    reason: str
    remedy: str
    job_group: str = ""


def _closest_frame(end: End) -> dict[str, Any] | None:
    """The standard frame that an end's pilot and bolts come nearest to, with where its numbers are from."""
    from fitcheck.standards.frames import named_frame

    pilot = None if end.pilot is None else end.pilot.diameter
    found = named_frame(pilot, [(bolts.layout, bolts.size, bolts.count) for bolts in end.bolts])
    if found is None:
        return None
    return {
        "name": found.frame.name,
        "deviation": found.deviation,
        "bolts_alone": found.bolts_alone,
        "standard": found.frame.standard,
        "source": found.frame.source,
        "confidence": found.frame.confidence,
    }


@dataclass(frozen=True, kw_only=True)
class Measurement:
    """All that was measured in one STEP file.

    `candidates` are points (file frame, mm) on the lines that may equally well be the drive axis; none where it is
    settled. `unsettled` is why there is no drive axis; None where there is one.
    """

    file: str
    sha256: str
    file_unit: str
    bodies: tuple[Body, ...]
    drive_axis: AxisLine | None
    ends: tuple[End, ...]
    coaxiality: Coaxiality | None
    free_radius: FreeRadius | None
    cylinders: tuple[Cylinder, ...]
    complete: bool = True
    warnings: tuple[str, ...] = ()
    coupling: MeasuredCoupling | None = None
    obstacles: Obstacles | None = field(default=None, compare=False, repr=False)
    candidates: tuple[Vector, ...] = ()
    unsettled: Unsettled | None = None
    windows: tuple[Window, ...] = ()
    from_cache: bool = field(default=False, compare=False, repr=False)

    def point(self, station: float, radius: float = 0.0, theta: float = 0.0) -> Vector:
        """The file-frame point at a station, a radius (mm) and a shaft angle (degrees).

        Raises:
            ValueError: the measurement has no drive axis.
        """
        from math import cos, radians, sin

        if self.drive_axis is None:
            msg = "the measurement has no drive axis"
            raise ValueError(msg)
        origin, along, x = self.drive_axis.origin, self.drive_axis.direction, self.drive_axis.across
        y = (
            along[1] * x[2] - along[2] * x[1],
            along[2] * x[0] - along[0] * x[2],
            along[0] * x[1] - along[1] * x[0],
        )
        c, d = radius * cos(radians(theta)), radius * sin(radians(theta))
        return tuple(origin[i] + station * along[i] + c * x[i] + d * y[i] for i in range(3))  # type: ignore[return-value]

    def axis_frame(self, point: Vector) -> Vector:
        """A file-frame point as (s, x, y) of the axis frame, mm; the opposite of `point`.

        Raises:
            ValueError: the measurement has no drive axis.
        """
        if self.drive_axis is None:
            msg = "the measurement has no drive axis"
            raise ValueError(msg)
        from fitcheck.measurement.vectors import Frame, cross

        axis = self.drive_axis
        across = cross(axis.direction, axis.across)
        return Frame(origin=axis.origin, along=axis.direction, x=axis.across, y=across).local(point)

    def end(self, role: str) -> End | None:
        """The end whose machine is `role` (motor or actuator), or None."""
        return next((end for end in self.ends if end.role == role), None)

    def to_dict(self) -> dict[str, Any]:
        """The object that `fitcheck measure --format json` prints; obstacles are left out."""

        def cylinder(value: Cylinder) -> dict[str, Any]:
            return {
                "kind": value.kind,
                "diameter": value.diameter,
                "axis": {"origin": value.origin, "direction": value.direction},
                "from": value.start,
                "to": value.stop,
                "turn": value.turn,
                "body": value.body,
            }

        def free_radius(value: FreeRadius) -> dict[str, Any]:
            rows = [[s, r if isfinite(r) else None] for s, r in value.profile]
            return {"least": value.least, "station": value.station, "profile": rows}

        found: dict[str, Any] = _tidied(
            {
                "format": FORMAT,
                "file": self.file,
                "sha256": self.sha256,
                "file_unit": self.file_unit,
                "bodies": [_body(body) for body in self.bodies],
                "drive_axis": None if self.drive_axis is None else asdict(self.drive_axis),
                "ends": [asdict(value) | {"closest_frame": _closest_frame(value)} for value in self.ends],
                "coaxiality": None if self.coaxiality is None else asdict(self.coaxiality),
                "free_radius": None if self.free_radius is None else free_radius(self.free_radius),
                "cylinders": [cylinder(value) for value in self.cylinders],
                "coupling": None if self.coupling is None else asdict(self.coupling),
                "windows": [asdict(window) for window in self.windows],
                "candidates": [list(point) for point in self.candidates],
                "unsettled": None if self.unsettled is None else asdict(self.unsettled),
                "complete": self.complete,
                "warnings": list(self.warnings),
                "from_cache": self.from_cache,
            }
        )
        return found
