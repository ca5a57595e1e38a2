"""The force on the shaft in a slotted one-piece clamp hub: lever, closing of the play, and the cut that frees it.

A hub that is slotted but not freed from its body by a cut across hardly closes at all: how far it is freed decides more
than the screw. The rules here are simple forms that lie under the elastic solution of such hubs (solid body, rigid
shaft, contact without friction; three-dimensional elements; a finer mesh holds more): outside diameters from 16 to 56
mm, plays from 0 to 0.035 mm. For a whole cut: 56 hubs, outside diameter over bore from 1.45 to 5.8, 0.3 to 0.7 times as
long as wide. For a half cut: 90 hubs, 1.3 to 6.5, 0.3 to 0.8. For no cut: 16 hubs, 1.6 to 5.3, 0.3 to 0.6.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import Bounds, above_zero, at_least_zero
from fitcheck.mechanics.grip import closing_force, lever_force

WHOLE, HALF, NONE = "whole", "half", "none"
CROSS_CUTS = MappingProxyType({WHOLE: 1.45, HALF: 4.0, NONE: 60.0})
"""Times the ring's closing force that the low value spends on the play, by how far a cut across frees the hub: over
three quarters of its circumference or more, over half (with a relieved web; else by `HALF_CUT`), not at all (computed,
see the module)."""

HALF_CUT = (2.3, 0.85, 0.25)
"""The same for a half cut in a hub of even wall: a (D/L)^b (d/D)^c; a short hub hangs on its body, a thin one the more
beside its own small stiffness (fitted, with a margin; see the module)."""
HALF_CUT_TO = (0.6, 5.5)
"""L/D and D/d beyond which a half cut gains nothing more."""

ATTACHED_LEVER = 0.5
"""Force on the shaft for a newton of the screw in a hub that is not freed, without play (computed, see the module)."""

LEAST_LENGTH = 0.3
"""Length of a hub over its outside diameter down to which a half cut counts; a shorter one is taken as not freed."""


@dataclass(frozen=True, kw_only=True)
class SlottedHub:
    """A slotted one-piece hub; mm.

    Attributes:
        outside_mm: outside diameter.
        bore_mm: diameter.
        length_mm: of the clamping part along the axis.
        screw_offset_mm: distance of the screw's axis from the drive axis.
        elastic_modulus: of the hub, Pa.
        cross_cut: how far a cut across frees the clamping part: "whole" (three quarters of the circumference or more),
            "half" or "none".
        hinge_mm: from the drive axis to the middle of a relieved web opposite the slot; None for a web as thick as the
            wall.
    """

    outside_mm: float
    bore_mm: float
    length_mm: float
    screw_offset_mm: float
    elastic_modulus: float
    cross_cut: str = HALF
    hinge_mm: float | None = None

    def __post_init__(self) -> None:
        above_zero(
            outside_mm=self.outside_mm, bore_mm=self.bore_mm, length_mm=self.length_mm,
            elastic_modulus=self.elastic_modulus,
        )  # fmt: skip
        at_least_zero(screw_offset_mm=self.screw_offset_mm)
        if self.outside_mm <= self.bore_mm:
            raise UsageError(f"a hub of {self.outside_mm:g} mm does not hold a bore of {self.bore_mm:g} mm")
        if self.cross_cut not in CROSS_CUTS:
            raise UsageError(f"a cross cut is one of {', '.join(CROSS_CUTS)}; found {self.cross_cut!r}")
        least, most = (self.outside_mm + self.bore_mm) / 4.0, self.outside_mm / 2.0
        if self.hinge_mm is not None and not least <= self.hinge_mm < most:
            raise UsageError(
                f"the hinge lies {self.hinge_mm:g} mm off the drive axis; needed is the middle of the hub's web, "
                f"{least:g} mm (a web as thick as the wall) to less than {most:g} mm"
            )

    @property
    def freed(self) -> str:
        """The cross cut as far as it counts: a half cut in a very short hub frees nothing."""
        short = self.length_mm < LEAST_LENGTH * self.outside_mm
        return NONE if self.cross_cut == HALF and short else self.cross_cut

    @property
    def lever(self) -> float:
        """l2/l1 about the middle of the web."""
        hinge = (self.outside_mm + self.bore_mm) / 4.0 if self.hinge_mm is None else self.hinge_mm
        return lever_force(1.0, hinge, hinge + self.screw_offset_mm)

    @property
    def careful_lever(self) -> float:
        """The lever of the low value: about the outside of a relieved web for a half cut, none without a cut."""
        if self.freed == NONE:
            return ATTACHED_LEVER
        if self.freed == WHOLE or self.hinge_mm is None:
            return self.lever
        return 1.0 + 2.0 * self.screw_offset_mm / self.outside_mm

    @property
    def closing_factor(self) -> float:
        """Times its own closing force that the low value spends on the play."""
        if self.freed != HALF or self.hinge_mm is not None:
            return CROSS_CUTS[self.freed]
        long, thick = (
            min(self.length_mm / self.outside_mm, HALF_CUT_TO[0]), min(self.outside_mm / self.bore_mm, HALF_CUT_TO[1])
        )  # fmt: skip
        factor, by_length, by_wall = HALF_CUT
        return float(factor / (long**by_length * thick**by_wall))

    def closing(self, play_mm: float) -> float:
        """Screw force that closes the play of a freed hub, N.

        A hub of even wall bends as a ring (`grip.closing_force`, 17 to 21 % over the elastic solution). A relieved web
        of the thickness t bends alone, by play/l1; taken as no longer than it is thick: F = E b t² play/(12 l1 l2).

        Raises:
            UsageError: the play is not finite.
        """
        if play_mm <= 0.0:
            return 0.0
        if self.hinge_mm is None:
            offset = max(self.screw_offset_mm, self.bore_mm / 2.0)
            return closing_force(
                play_mm, self.outside_mm, self.bore_mm, self.length_mm, offset, self.elastic_modulus
            )  # fmt: skip
        web = self.outside_mm - 2.0 * self.hinge_mm
        arm = 12.0 * self.hinge_mm * (self.hinge_mm + self.screw_offset_mm)
        return self.elastic_modulus * 1e-6 * self.length_mm * web**2 * play_mm / arm


def force_on_shaft(hub: SlottedHub, screws: Bounds, least_play_mm: float, greatest_play_mm: float) -> Bounds:
    """Force that presses the halves of a slotted hub on the shaft: (F - k F_close) l2/l1, at least 0.

    Args:
        hub: the hub.
        screws: sum of the screws' preloads, N.
        least_play_mm: diametral play of the shaft, negative for interference.
        greatest_play_mm: the same.

    Returns:
        N. Low: low preload, `closing_factor` times the closing force at the greatest play, `careful_lever`. Nominal:
        mean play; a hub freed whole with its own closing force and lever, else as in the low value. High: high preload,
        no closing force, full lever.

    Raises:
        UsageError: the plays are not in order.

    Notes:
        The low value lies under the elastic solution by 0 to 60 % (module). Screw holes and counterbores weaken a
        hub's wall and lower its closing force; a boss about the screw raises it; neither is counted.

    Source: Roloff/Matek, slotted hub as a clip (symbols read, equation memory) for the lever; factors computed.
    """
    if least_play_mm > greatest_play_mm:
        raise UsageError(f"the least play {least_play_mm:g} mm is greater than the greatest {greatest_play_mm:g} mm")
    factor = hub.closing_factor
    whole = hub.freed == WHOLE
    mean = (max(0.0, least_play_mm) + max(0.0, greatest_play_mm)) / 2.0
    low = max(0.0, screws.low - factor * hub.closing(greatest_play_mm)) * hub.careful_lever
    left = max(0.0, screws.nominal - (1.0 if whole else factor) * hub.closing(mean))
    nominal = max(low, left * (hub.lever if whole else hub.careful_lever))
    return Bounds(low=low, nominal=nominal, high=max(nominal, screws.high * hub.lever))
