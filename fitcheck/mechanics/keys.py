"""Parallel keys: shear and bearing by their section, what they may carry in hubs of steel, cast iron and aluminium."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import Bounds, above_zero, at_least_zero
from fitcheck.standards.keys import parallel_key

HUB_BEARING = MappingProxyType(
    {
        "steel": Bounds(low=100e6, nominal=125e6, high=150e6),
        "cast iron": Bounds(low=70e6, nominal=85e6, high=100e6),
        "aluminium": Bounds(low=40e6, nominal=55e6, high=70e6),
    }
)
"""Allowed bearing pressure on the keyway's side, Pa, by the hub's material (Roloff/Matek style, memory)."""

KEY_SHEAR = Bounds(low=60e6, nominal=80e6, high=100e6)
"""Allowed shear stress of a key of plain carbon steel (C45), Pa; common practice, no source. It seldom decides."""

TWO_KEYS = 1.5
"""Two keys count as one and a half: the second carries 75 % at most of its share (strokeforge eng-014, read)."""

LENGTH_LIMIT = 1.5
"""A key longer than 1.5 shaft diameters gains nothing (Shigley, 9th ed., p. 391, read)."""

ENDS = ("round", "straight")


@dataclass(frozen=True, kw_only=True)
class KeySection:
    """A key in its shaft; mm.

    Attributes:
        shaft_mm: diameter of the shaft.
        width_mm: b.
        height_mm: h.
        shaft_depth_mm: t1, depth of the keyseat; None takes h/2, as textbooks do.
    """

    shaft_mm: float
    width_mm: float
    height_mm: float
    shaft_depth_mm: float | None = None

    def __post_init__(self) -> None:
        above_zero(
            shaft_mm=self.shaft_mm, width_mm=self.width_mm, height_mm=self.height_mm, shaft_depth_mm=self.depth_mm
        )
        if self.depth_mm >= self.height_mm:
            raise UsageError(
                f"a keyseat of {self.depth_mm:g} mm swallows the key, which is {self.height_mm:g} mm high; the depth "
                "in the shaft must be less than the height"
            )

    @property
    def depth_mm(self) -> float:
        """Depth in the shaft."""
        return self.height_mm / 2.0 if self.shaft_depth_mm is None else self.shaft_depth_mm

    @property
    def hub_height_mm(self) -> float:
        """Height that bears in the hub, h - t1; edge breaks, some tenths of a millimetre, are not taken off."""
        return self.height_mm - self.depth_mm


@dataclass(frozen=True, kw_only=True)
class KeyStress:
    """Stresses of a key under a torque, Pa: shear across it, bearing in the hub and in the shaft."""

    shear: float
    hub_bearing: float
    shaft_bearing: float


def din_section(shaft_mm: float) -> KeySection:
    """The key of a shaft diameter, over 6 to 58 mm.

    Raises:
        TableError: the diameter is outside the table.

    Source: DIN 6885-1 (read, with a package that agrees).
    """
    key = parallel_key(shaft_mm)
    return KeySection(shaft_mm=shaft_mm, width_mm=key.width, height_mm=key.height, shaft_depth_mm=key.shaft_depth)


def effective_length(length_mm: float, width_mm: float, shaft_mm: float, ends: str = "round") -> float:
    """Length of a key that carries: l - b with round ends (form A), at most 1.5 shaft diameters.

    Args:
        length_mm: over all, as far as it lies in the hub.
        width_mm: b.
        shaft_mm: diameter of the shaft.
        ends: "round" (form A) or "straight" (form B).

    Returns:
        mm.

    Raises:
        UsageError: an input is not greater than 0, nothing is left of the length, or the ends are not known.

    Source: strokeforge eng-014 (read); limit of 1.5 d from Shigley, 9th ed., p. 391 (read).
    """
    above_zero(length_mm=length_mm, width_mm=width_mm, shaft_mm=shaft_mm)
    if ends not in ENDS:
        raise UsageError(f"a key's ends are one of {', '.join(ENDS)}; found {ends!r}")
    carrying = length_mm - (width_mm if ends == "round" else 0.0)
    if carrying <= 0.0:
        raise UsageError(f"a key {length_mm:g} mm long with round ends {width_mm:g} mm wide has no straight part")
    return min(carrying, LENGTH_LIMIT * shaft_mm)


def key_stress(torque: float, section: KeySection, length_mm: float, count: int = 1) -> KeyStress:
    """Shear and bearing stress: tau = 2 T/(d b l), p = 2 T/(d (h - t1) l), p = 2 T/(d t1 l).

    Args:
        torque: N·m, size.
        section: of the key.
        length_mm: that carries, as `effective_length`.
        count: 1 or 2 keys; two count as 1.5.

    Returns:
        The stresses in Pa, the force taken at the shaft's surface.

    Raises:
        UsageError: an input is out of its range.

    Notes:
        The force is taken at d/2. With a depth of h/2 the bearing is the textbook form 4 T/(d h l).

    Source: strokeforge eng-014 and Mott, 4th ed., p. 500, eqs. 11-2 to 11-5 (read).
    """
    at_least_zero(torque=torque)
    force = torque / (section.shaft_mm / 2000.0) / _counted(count)
    return KeyStress(
        shear=force / _area(section.width_mm, length_mm),
        hub_bearing=force / _area(section.hub_height_mm, length_mm),
        shaft_bearing=force / _area(section.depth_mm, length_mm),
    )


def key_torque_limit(
    section: KeySection,
    length_mm: float,
    hub_bearing: Bounds,
    key_shear: Bounds = KEY_SHEAR,
    shaft_bearing: Bounds = HUB_BEARING["steel"],
    count: int = 1,
) -> Bounds:
    """Torque that a key may carry: the least of shear, bearing in the hub and bearing in the shaft.

    Args:
        section: of the key.
        length_mm: that carries, as `effective_length`.
        hub_bearing: allowed in the hub, Pa, as `HUB_BEARING["aluminium"]`.
        key_shear: allowed in the key, Pa.
        shaft_bearing: allowed in the shaft, Pa.
        count: 1 or 2 keys.

    Returns:
        N·m.

    Raises:
        UsageError: an input is out of its range.

    Source: as `key_stress`; the allowed stresses carry their own marks.
    """
    unit = key_stress(1.0, section, length_mm, count)

    def least(hub: float, key: float, shaft: float) -> float:
        return min(hub / unit.hub_bearing, key / unit.shear, shaft / unit.shaft_bearing)

    return Bounds(
        low=least(hub_bearing.low, key_shear.low, shaft_bearing.low),
        nominal=least(hub_bearing.nominal, key_shear.nominal, shaft_bearing.nominal),
        high=least(hub_bearing.high, key_shear.high, shaft_bearing.high),
    )


def needed_length(torque: float, section: KeySection, hub_bearing: float, key_shear: float, count: int = 1) -> float:
    """Carrying length in mm that a torque needs, the greater of shear and of bearing in the hub.

    Args:
        torque: N·m, size.
        section: of the key.
        hub_bearing: allowed, Pa.
        key_shear: allowed, Pa.
        count: 1 or 2 keys.

    Returns:
        mm, without the round ends; not limited to 1.5 shaft diameters.

    Raises:
        UsageError: an input is out of its range.

    Source: as `key_stress`, solved for the length.
    """
    above_zero(hub_bearing=hub_bearing, key_shear=key_shear)
    unit = key_stress(torque, section, 1.0, count)
    return max(unit.hub_bearing / hub_bearing, unit.shear / key_shear)


def key_with_clamp(key: Bounds, clamp: Bounds) -> Bounds:
    """Torque of a hub with a key and a clamp.

    The clamp carries first, without backlash, until it slips; then the key carries. How much both carry together is
    not known, so low and nominal are those of the stronger one, and high is the sum.

    Args:
        key: as `key_torque_limit`, N·m.
        clamp: slip torque, as `grip.slip_torque`, N·m; it is also where the hub begins to have the key's backlash.

    Returns:
        N·m.

    Raises:
        UsageError: never for valid bounds.

    Source: common practice, no source.
    """
    return Bounds(low=max(key.low, clamp.low), nominal=max(key.nominal, clamp.nominal), high=key.high + clamp.high)


def _counted(count: int) -> float:
    if count not in (1, 2):
        raise UsageError(f"a hub has 1 or 2 keys; found {count}")
    return 1.0 if count == 1 else TWO_KEYS


def _area(height_mm: float, length_mm: float) -> float:
    above_zero(height_mm=height_mm, length_mm=length_mm)
    return height_mm * length_mm * 1e-6
