"""One machine and its end of the adapter, as job and file tell it together, in stations."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.checks.finding import Finding
from fitcheck.checks.wording import mm
from fitcheck.errors import TableError
from fitcheck.job.model import Bolts, Machine, Register
from fitcheck.measurement.model import End
from fitcheck.standards.fits import limits
from fitcheck.standards.frames import Frame, frame, named_frame, register_limits

DIFFERENCE = 0.01
"""mm; where job and file tell the same thing, they may differ by rounding, not by more."""

REGISTER_DIFFERENCE = 0.05
"""mm; the same for a register, which is drawn at its nominal size or in the middle of its tolerance."""


@dataclass(frozen=True, kw_only=True)
class Missing:
    """Why something is not known, and the job line that would supply it."""

    reason: str
    supply: str


@dataclass(frozen=True, kw_only=True)
class ShaftEnd:
    """A shaft in stations. `full_from` is nearer to its own machine than `full_to`; `flat`, `keyseat` and each of the
    ring `grooves` are ranges. `collars` are what is wider than the full diameter, (start, stop, radius), the radius
    None where it is not known.
    """

    diameter: float
    tolerance: str | None
    end: float
    full_from: float
    full_to: float
    flat: tuple[float, float] | None = None
    keyseat: tuple[float, float] | None = None
    grooves: tuple[tuple[float, float], ...] = ()
    collars: tuple[tuple[float, float, float | None], ...] = ()
    source: str = "job"


@dataclass(frozen=True, kw_only=True)
class Face:
    """What closes the chamber on one side: its station and what it is. `radius` of the register, where known."""

    station: float
    what: str
    in_file: bool = False
    register_radius: float | None = None


@dataclass(frozen=True, kw_only=True)
class Side:
    """One machine and its end of the adapter. `sign` is +1 for the motor, -1 for the actuator: into the chamber."""

    name: str
    sign: float
    machine: Machine
    end: End | None
    seat: float | None
    shaft: ShaftEnd | None
    register: Register | None
    register_source: str
    register_deviation: tuple[float, float] | None
    bolts: Bolts | None
    bolts_source: str
    face: Face | None
    frame: Frame | None
    frame_problem: str | None = None

    def nearest_frame(self) -> str:
        """The standard frame that this end of the adapter comes nearest to, as a remark behind a job's key; or ""."""
        if self.end is None:
            return ""
        pilot = None if self.end.pilot is None else self.end.pilot.diameter
        found = named_frame(pilot, [(bolts.layout, bolts.size, bolts.count) for bolts in self.end.bolts])
        return "" if found is None else f"; the adapter comes nearest to {found.words()}"

    def no_shaft(self) -> Missing:
        """Said where the shaft is needed and unknown."""
        if self.machine.shaft is not None:
            return Missing(
                reason=f"the {self.name}'s seat is not in the file, so its shaft's station is not known",
                supply=f"give {self.name}.seat",
            )
        return Missing(
            reason=f"the {self.name}'s shaft is neither in the file nor in the job",
            supply=f"give {self.name}.shaft (diameter, tolerance, length)",
        )


def side_of(name: str, sign: float, machine: Machine, end: End | None, conflicts: list[Finding]) -> Side:
    """Join what the job says of a machine with what was measured at its end.

    Args:
        name: motor or actuator.
        sign: +1 for the motor, -1 for the actuator.
        machine: the job's.
        end: the measurement's, where it has one.
        conflicts: takes a finding for each difference between the two: a fail, or a warning where the job is preferred.
    """
    known: Frame | None = None
    problem = None
    if machine.frame is not None:
        try:
            known = frame(machine.frame)
        except TableError as error:
            problem = str(error)
    seat = 0.0 if name == "motor" else end.seat if end is not None else machine.seat
    register, register_source, deviation, register_problem = _register(machine, known, end)
    drawn = None if end is None else end.machine_register
    if register is not None and drawn is not None and register_source != "the file":
        path = f"{name}.register" if machine.register is not None else f"{name}.frame"
        for what, measured, said in (
            ("diameter", drawn.diameter, register.diameter), ("height", drawn.height, register.height),
        ):  # fmt: skip
            _compare(
                "pilot-fit", f"{name} register", measured, said, path, f"the register's {what}", conflicts,
                machine.prefer, REGISTER_DIFFERENCE,
            )  # fmt: skip
    bolts, bolts_source = machine.bolts, "the job"
    if bolts is None and known is not None:
        bolts = Bolts(layout=known.layout, size=known.size, count=known.count, screw=known.screw)
        bolts_source = known.name
    if name == "actuator" and end is not None and machine.seat is not None:
        _compare(
            "axial-room",
            "actuator seat",
            end.seat,
            machine.seat,
            "actuator.seat",
            "the seat's station",
            conflicts,
            None,
        )
    return Side(
        name=name,
        sign=sign,
        machine=machine,
        end=end,
        seat=seat,
        shaft=_shaft(name, sign, machine, end, seat, conflicts),
        register=register,
        register_source=register_source,
        register_deviation=deviation,
        bolts=bolts,
        bolts_source=bolts_source,
        face=_face(name, sign, end, seat, register),
        frame=known,
        frame_problem=problem or register_problem,
    )


def _register(
    machine: Machine, known: Frame | None, end: End | None
) -> tuple[Register | None, str, tuple[float, float] | None, str | None]:
    """The register as the job, the frame or the file tells it, in that order.

    Returns:
        The register, whose it is, its deviations (lower, upper) in mm where known, and why they are not.
    """
    if machine.register is not None:
        given = machine.register
        if given.tolerance is None:
            return given, "the job", None, None
        try:
            allowed = limits(given.diameter, given.tolerance)
        except TableError as error:
            return given, "the job", None, str(error)
        return given, "the job", (allowed.lower, allowed.upper), None
    if known is not None:
        standard = Register(
            diameter=known.register_diameter, height=known.register_height, tolerance=known.register_tolerance
        )
        allowed = register_limits(known)
        return standard, known.name, (allowed.lower, allowed.upper), None
    if end is not None and end.machine_register is not None:
        found = end.machine_register
        return Register(diameter=found.diameter, height=found.height), "the file", None, None
    return None, "", None, None


def _shaft(
    name: str, sign: float, machine: Machine, end: End | None, seat: float | None, conflicts: list[Finding]
) -> ShaftEnd | None:
    measured = None
    if end is not None and end.shaft is not None:
        found = end.shaft
        measured = ShaftEnd(
            diameter=found.diameter,
            tolerance=None,
            end=found.end,
            full_from=found.full_from,
            full_to=found.full_to,
            flat=_ascending(found.flat.start, found.flat.stop) if found.flat else None,
            keyseat=_ascending(found.keyseat.start, found.keyseat.stop) if found.keyseat else None,
            grooves=tuple(_ascending(*groove) for groove in found.grooves),
            collars=found.collars,
            source="file",
        )
    given = machine.shaft
    if given is None or seat is None:
        return measured
    tip = seat + sign * given.length
    flat = _ascending(tip, tip - sign * given.flat.length) if given.flat else None
    keyseat = None
    if given.keyseat:
        begin = tip - sign * given.keyseat.from_end
        keyseat = _ascending(begin, begin - sign * given.keyseat.length)
    if measured is not None:
        # What the body shows and the job does not say is there all the same.
        flat, keyseat = flat or measured.flat, keyseat or measured.keyseat
    shaft = ShaftEnd(
        diameter=given.diameter,
        tolerance=given.tolerance,
        end=tip,
        full_from=seat + sign * given.full_from,
        full_to=tip - sign * given.chamfer,
        flat=flat,
        keyseat=keyseat,
        grooves=() if measured is None else measured.grooves,
        # The body shows how wide the shaft is behind its full diameter; the job alone does not.
        collars=measured.collars if measured is not None else _unknown_collar(seat, sign, given.full_from),
    )
    if measured is not None:
        what = f"{name} shaft"
        path, prefer = f"{name}.shaft", machine.prefer
        _compare("bore-fit", what, measured.diameter, given.diameter, f"{path}.diameter", "diameter", conflicts, prefer)
        _compare("engagement", what, measured.end, tip, f"{path}.length", "the shaft end's station", conflicts, prefer)
    return shaft


def _unknown_collar(seat: float, sign: float, full_from: float) -> tuple[tuple[float, float, float | None], ...]:
    return ((seat, seat + sign * full_from, None),) if full_from > 0.0 else ()


def _compare(
    check: str, subject: str, measured: float, given: float, path: str, what: str, conflicts: list[Finding],
    prefer: str | None, allowed: float = DIFFERENCE,
) -> None:  # fmt: skip
    """Note a difference between file and job that is more than rounding.

    A size of a machine that its own body contradicts decides nothing, unless the job says that it is to count. The
    seat is the adapter's own, and the file's station is used in any case.
    """
    if abs(measured - given) <= allowed:
        return
    seat = path == "actuator.seat"
    used = "the file's is used" if seat else "the job's is used"
    settle = "" if seat or prefer else f", or say {path.partition('.')[0]}.prefer: job"
    conflicts.append(
        Finding(
            check=check,
            subject=subject,
            status="warn" if seat or prefer else "fail",
            value=abs(measured - given),
            limit=allowed,
            unit="mm",
            margin=allowed - abs(measured - given),
            message=f"{what}: the job says {mm(given)}, the file measures {mm(measured)}; {used}",
            remedy=f"correct {path}, or leave it out so that the file's value counts{settle}",
            path=path,
        )
    )


def _face(name: str, sign: float, end: End | None, seat: float | None, register: Register | None) -> Face | None:
    radius = register.diameter / 2 if register is not None else None
    if end is not None and end.face is not None:
        return Face(station=end.face, what=f"the {name}'s front, as measured", in_file=True, register_radius=radius)
    if seat is None:
        return None
    if register is not None:
        what = f"the {name}'s register, {mm(register.height)} high"
        return Face(station=seat + sign * register.height, what=what, register_radius=radius)
    if end is not None and end.pilot is not None:
        what = f"the {name}'s register, taken as high as the pilot is deep (height not given)"
        station = seat + sign * end.pilot.depth
        return Face(station=station, what=what, register_radius=end.pilot.diameter / 2)
    return Face(station=seat, what=f"the {name}'s seat (register height not given)")


def _ascending(first: float, second: float) -> tuple[float, float]:
    return (first, second) if first <= second else (second, first)
