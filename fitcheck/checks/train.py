"""The shaft train between motor and actuator: torsional stiffness of coupling and shaft stubs in series."""

from __future__ import annotations

from dataclasses import dataclass, replace

from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding
from fitcheck.checks.hub_holding import holding_of, keyed_section
from fitcheck.checks.shaft_section import engaged, parts
from fitcheck.checks.sides import Missing
from fitcheck.checks.wording import SIDES
from fitcheck.checks.work_units import three
from fitcheck.checks.working import ratings_of
from fitcheck.errors import UsageError
from fitcheck.job.ratings import HelicalCut, RadialSlits
from fitcheck.mechanics.bounds import Bounds, exactly
from fitcheck.mechanics.estimates import MODULI, helical_slit_stiffness, radial_slit_stiffness, rigid_stiffness
from fitcheck.mechanics.shafts import shaft_stiffness, winding_length
from fitcheck.mechanics.stiffness import in_series_bounds

SLITS = ("slit", "double slit")
BEHIND_SEAT = 2.0
"""How far behind the seat a shaft winds up, in diameters, where no bearing is given: 2 at most, 1 taken as nominal, 0
at least; a motor's torque comes from its rotor, behind the bearing. Common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Spring:
    """A part that winds up: N·m/rad as low, nominal, high, and how it was found."""

    name: str
    stiffness: Bounds
    how: str


@dataclass(frozen=True, kw_only=True)
class Train:
    """Motor stub, coupling, actuator stub; a stub that is not known is left out and named in `left_out`."""

    coupling: Spring
    stubs: tuple[Spring, ...]
    left_out: tuple[str, ...]

    @property
    def springs(self) -> tuple[Spring, ...]:
        """All that winds up."""
        return (self.coupling, *self.stubs)

    def warned(self, finding: Finding) -> Finding:
        """A pass with a stub left out is a warning, as the whole train is softer than what was counted."""
        if not self.left_out or finding.status != "pass":
            return finding
        lines = " and ".join(f"{name.removeprefix('the ').removesuffix(' shaft')}.shaft" for name in self.left_out)
        return replace(finding, status="warn", remedy=f"give {lines}, so that {' and '.join(self.left_out)} count")

    @property
    def stiffness(self) -> Bounds:
        """Of all in series, N·m/rad."""
        return in_series_bounds(*(spring.stiffness for spring in self.springs))

    @property
    def how(self) -> str:
        """The stiffness in words."""
        words = ", ".join(f"{s.name} {three(s.stiffness.low)} ({s.how})" for s in self.springs)
        left = f"; {' and '.join(self.left_out)} not counted" if self.left_out else ""
        return f"{three(self.stiffness.low)} N·m/rad at least: {words}{left}"


def train_of(drive: Drive) -> Train | Missing:
    """The shaft train, or what is missing to know the coupling's stiffness."""
    coupling = _coupling(drive)
    if isinstance(coupling, Missing):
        return coupling
    stubs, left_out = stubs_of(drive)
    return Train(coupling=coupling, stubs=stubs, left_out=left_out)


def stubs_of(drive: Drive) -> tuple[tuple[Spring, ...], tuple[str, ...]]:
    """The shaft stubs that are known, and the names of those that are not."""
    found = [(side, _stub(drive, side)) for side in SIDES]
    known = tuple(stub for _, stub in found if stub is not None)
    return known, tuple(f"the {side} shaft" for side, stub in found if stub is None)


def _coupling(drive: Drive) -> Spring | Missing:
    ratings, coupling = ratings_of(drive), drive.job.coupling
    given, span = ratings.torsional_stiffness, ratings.torsional_stiffness_range
    if span is not None:
        middle = (span[0] + span[1]) / 2.0 if given is None else given
        bounds = Bounds(low=span[0], nominal=middle, high=span[1])
        return Spring(name="coupling", stiffness=bounds, how="least of the range given")
    if given is not None:
        return Spring(name="coupling", stiffness=exactly(given), how="as given")
    try:
        if coupling.family == "rigid":
            return _rigid(drive)
        if coupling.family in SLITS and ratings.helical_cut is not None:
            return _helical(ratings.helical_cut)
        if coupling.family in SLITS and ratings.radial_slits is not None:
            return _radial(ratings.radial_slits)
    except UsageError as error:
        return Missing(reason=str(error), supply="correct the coupling's sizes, or give its torsional stiffness")
    more = ", or its cut: helical_cut or radial_slits" if coupling.family in SLITS else ""
    return Missing(
        reason="the coupling's torsional stiffness is not given",
        supply=f"give coupling.ratings.torsional_stiffness (from its maker or from fitcheck bench){more}",
    )


def _rigid(drive: Drive) -> Spring:
    coupling, placed = drive.job.coupling, drive.placed
    hubs = coupling.hubs
    grips = [] if placed is None else [engaged(drive, side, placed.hub(side)) for side in SIDES]
    lengths = [grip[1] - grip[0] for grip in grips if grip is not None]
    gripped = min(lengths) if lengths else min(hubs.motor.bore_length, hubs.actuator.bore_length)
    free = max(0.0, coupling.length - hubs.motor.bore_length - hubs.actuator.bore_length)
    motor, actuator = drive.motor.shaft, drive.actuator.shaft
    if motor is not None and actuator is not None:
        free = max(0.0, actuator.end - motor.end)
    material = holding_of(hubs.motor).material
    shear = MODULI.get(material, MODULI["aluminium"])[1]
    bore = max(hubs.motor.bore, hubs.actuator.bore)
    stiffness = rigid_stiffness(coupling.outside_diameter, bore, free, gripped, shear)
    return Spring(name="coupling", stiffness=stiffness, how=f"estimated as a tube of {material}, within a factor of 2")


def _helical(cut: HelicalCut) -> Spring:
    one = helical_slit_stiffness(
        cut.outside_diameter, cut.bore, cut.beam, cut.turns, cut.starts, MODULI[cut.material][0]
    )
    how = f"estimated from its helical cut in {cut.material}, within a factor of 2"
    return Spring(name="coupling", stiffness=one.times(1.0 / cut.sections), how=how)


def _radial(cut: RadialSlits) -> Spring:
    stiffness = radial_slit_stiffness(
        cut.outside_diameter, cut.bore, cut.ring, cut.slit, cut.ligament, cut.slits, *MODULI[cut.material]
    )
    how = f"estimated from its radial slits in {cut.material}, within a factor of 3"
    return Spring(name="coupling", stiffness=stiffness, how=how)


def _stub(drive: Drive, side: str) -> Spring | None:
    """The shaft from its bearing into the hub; where no bearing is given, from as far behind the seat as is careful."""
    section, placed, half = keyed_section(drive, side), drive.placed, drive.side(side)
    if section is None or placed is None or half.seat is None or half.shaft is None:
        return None
    hub = placed.hub(side)
    grip = engaged(drive, side, hub)
    if grip is None:
        return None
    seat, sign, bearings, diameter = half.seat, half.sign, half.machine.bearings, section.diameter
    found = []
    for behind in (BEHIND_SEAT * diameter, diameter, 0.0) if bearings is None else (bearings.distance,):
        start = seat - sign * behind
        length = winding_length(max(0.0, (hub.outer - start) * sign), grip[1] - grip[0])
        low, high = sorted((start, start + sign * length))
        if length > 0.0:
            found.append((length, shaft_stiffness(parts(section, low, high))))
    if not found:
        return None
    where = f"{BEHIND_SEAT:g} diameters behind the seat, no bearing given"
    if bearings is not None:
        where = "the bearing, behind it up to the rotor not counted" if side == "motor" else "the bearing"
    softest, stiffest, middle = found[0], found[-1], found[len(found) // 2]
    return Spring(
        name=f"{side} shaft", stiffness=Bounds(low=softest[1], nominal=middle[1], high=stiffest[1]),
        how=f"{three(softest[0])} mm of {diameter:g} from {where}",
    )  # fmt: skip
