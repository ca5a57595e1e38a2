"""The misalignment that the shafts have: from adapter, registers, run-outs and growth, or as the job measured it."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.checks.drive import Drive
from fitcheck.checks.growth import growth_of
from fitcheck.checks.locating import locator_of, pilots_apart
from fitcheck.checks.shaft_alignment import shaft_alignment
from fitcheck.checks.shaft_section import section_of
from fitcheck.checks.sides import Missing, Side
from fitcheck.checks.wording import SIDES
from fitcheck.checks.work_units import three
from fitcheck.errors import TableError
from fitcheck.job.drive import Alignment, DriveData
from fitcheck.mechanics.misalignment import Offsets, offset_at, root_sum_square
from fitcheck.standards.runout import MachineRunout, flange_runout, machine_runout, shaft_runout

KINDS = ("parallel", "angular")
KNOWN = ("as modelled", "as measured")
"""How contributions end that are known, and no tolerances."""
JOINTS = ("universal joint",)
"""Families that turn unevenly at an angle; a double joint in the right phase does not."""


@dataclass(frozen=True, kw_only=True)
class Aligned:
    """Contributions by name: parallel and axial in mm, angular in degrees; sizes."""

    parallel: tuple[tuple[str, float], ...]
    angular: tuple[tuple[str, float], ...]
    axial: tuple[tuple[str, float], ...]

    @property
    def worst(self) -> Offsets:
        """All contributions at their worst."""
        return Offsets(
            parallel_mm=sum(size for _, size in self.parallel),
            angular_deg=sum(size for _, size in self.angular),
            axial_mm=sum(size for _, size in self.axial),
        )

    @property
    def likely(self) -> Offsets:
        """What is known to be there, and the root of the sum of squares of what may be there beside it."""
        return Offsets(
            parallel_mm=_likely(self.parallel), angular_deg=_likely(self.angular), axial_mm=_likely(self.axial)
        )

    def judged(self, data: DriveData) -> Offsets:
        """The sum that the job asks for."""
        return self.worst if data.asked.misalignment_sum == "worst case" else self.likely


def _likely(contributions: tuple[tuple[str, float], ...]) -> float:
    """What is drawn or measured does not scatter, so it adds up as it is; tolerances are as likely to be small."""
    known = sum(size for name, size in contributions if name.endswith(KNOWN))
    return known + root_sum_square(*(size for name, size in contributions if not name.endswith(KNOWN)))


def shown(contributions: tuple[tuple[str, float], ...], unit: str) -> str:
    """Contributions in words; those of nothing are left out."""
    parts = [f"{name} {three(size)}" for name, size in contributions if size > 0.0]
    return f"{', '.join(parts)} {unit}" if parts else "none"


def aligned_of(drive: Drive) -> Aligned | Missing:
    """The misalignment, or what is missing to know it."""
    data = drive.job.drive or DriveData()
    axial = _axial(drive, data)
    given = data.alignment or Alignment()
    measured = {kind: (("as measured", size),) for kind in KINDS if (size := getattr(given, kind)) is not None}
    axial = (("as measured", given.axial), *axial)
    if len(measured) == len(KINDS):
        return Aligned(**measured, axial=axial)
    built = _built(drive, data)
    if isinstance(built, Missing):
        return built
    # What was not measured is no less for it than adapter and tolerances make it.
    return Aligned(**{kind: measured.get(kind, built[kind]) for kind in KINDS}, axial=axial)


def _built(drive: Drive, data: DriveData) -> dict[str, tuple[tuple[str, float], ...]] | Missing:
    """Contributions of adapter, registers and run-outs to the parallel and the angular misalignment."""
    tolerances, distance = data.tolerances, _to_middle(drive, drive.actuator)
    modelled = _modelled(drive, distance)
    if modelled is None:
        return Missing(
            reason="the file does not hold two pilots, so the adapter's own misalignment is not known",
            supply="give drive.alignment (parallel, angular), as measured",
        )
    what, apart, turned = modelled
    parallel = [
        (f"{what} as modelled", apart),
        ("pilots as made", tolerances.pilot_offset),
        ("seats as made, to the coupling's middle", offset_at(0.0, tolerances.pilot_tilt, distance)),
    ]
    angular = [
        (f"{'seats' if what == 'pilots' else what} as modelled", turned),
        ("seats as made", tolerances.pilot_tilt),
    ]
    for name in SIDES:
        side = drive.side(name)
        play = _register_play(side)
        if isinstance(play, Missing):
            return play
        runout = _runout(drive, side, tolerances.runout_grade)
        if isinstance(runout, Missing):
            return runout
        leaning = offset_at(0.0, runout.tilt, _to_middle(drive, side))
        parallel += [
            (f"{name}'s register in its pilot", play),
            (f"{name}'s run-out", runout.offset),
            (f"{name}'s face run-out, to the coupling's middle", leaning),
        ]
        angular.append((f"{name}'s face run-out", runout.tilt))
    return {"parallel": tuple(parallel), "angular": tuple(angular)}


def _modelled(drive: Drive, distance: float) -> tuple[str, float, float] | None:
    """Offset in mm and angle in degrees as drawn, and of what: the shafts where bodies show them, else the pilots."""
    shafts = shaft_alignment(drive)
    if shafts is not None:
        return "shafts", shafts.offset, shafts.tilt
    pilots = pilots_apart(drive)
    if pilots is None:
        return None
    return "pilots", offset_at(pilots.offset, min(pilots.tilt, 45.0), distance), pilots.tilt


def _to_middle(drive: Drive, side: Side) -> float:
    """Distance in mm from a seat to the coupling's middle, over which a tilt becomes an offset."""
    seats = [half.seat for half in (drive.motor, drive.actuator) if half.seat is not None]
    if side.seat is None:
        return 0.0
    if drive.placed is not None:
        return abs(side.seat - 0.5 * (drive.placed.start + drive.placed.stop))
    return abs(side.seat - sum(seats) / len(seats))


def _axial(drive: Drive, data: DriveData) -> tuple[tuple[str, float], ...]:
    grown = growth_of(drive, data.service)
    return ((f"growth of the shafts, {grown.how},", grown.size), ("play of the bearings", data.service.axial_play))


def _register_play(side: Side) -> float | Missing:
    """Half the greatest diametral play of the register in its pilot, mm."""
    locator, register = locator_of(side), side.register
    if locator is None:
        return Missing(
            reason=f"the {side.name}'s pilot is not in the file",
            supply="give drive.alignment (parallel, angular), as measured",
        )
    if locator.what == "register":
        return Missing(
            reason=f"the adapter locates the {side.name} by a spigot, and its recess is not known",
            supply="give drive.alignment (parallel, angular), as measured",
        )
    if register is None:
        return Missing(
            reason=f"the {side.name}'s register is not known",
            supply=f"give {side.name}.register or {side.name}.frame, or drive.alignment as measured",
        )
    lower = 0.0 if side.register_deviation is None else side.register_deviation[0]
    return max(0.0, locator.diameter - register.diameter - lower) / 2.0


def _runout(drive: Drive, side: Side, grade: str) -> MachineRunout | Missing:
    section = section_of(drive, side.name)
    if section is None:
        return side.no_shaft()
    try:
        if side.frame is not None:
            return machine_runout(side.frame, section.diameter, grade)
        assert side.register is not None
        flange = flange_runout(side.register.diameter, grade)
        return MachineRunout(
            shaft=shaft_runout(section.diameter, grade), concentricity=flange, face=flange,
            face_diameter=side.register.diameter,
        )  # fmt: skip
    except TableError as error:
        return Missing(reason=str(error), supply="give drive.alignment (parallel, angular), as measured")
