"""Nominal and maximum torque of a coupling against the demand, with service factors."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.mechanics.bounds import above_zero, at_least_zero
from fitcheck.standards.table import table, weakest


@dataclass(frozen=True, kw_only=True)
class ServiceFactors:
    """Factors on the demand, and where they come from.

    Attributes:
        load: by load class and reversing, on the running torque.
        starts: by starts per hour, on the peak torque; 1 for couplings without an elastomer.
        temperature: on both; 1 for couplings without an elastomer.
        source: where the factors were taken from.
        confidence: the weakest mark among them.
    """

    load: float
    starts: float
    temperature: float
    source: str
    confidence: str


@dataclass(frozen=True, kw_only=True)
class RequiredRating:
    """What the coupling's ratings must reach, N·m: `nominal` for ever, `maximum` for short peaks."""

    nominal: float
    maximum: float


def service_factors(
    load_class: str = "uniform",
    reversing: bool = True,
    elastomer: bool = False,
    starts_per_hour: float = 0.0,
    temperature: float = 20.0,
) -> ServiceFactors:
    """Service factors of a drive.

    Args:
        load_class: "uniform", "moderate shock" or "heavy shock".
        reversing: whether the torque changes direction in the cycle, as on every positioning axis.
        elastomer: whether the torque passes an elastomer; starts and temperature count for those only.
        starts_per_hour: 0 to 1600.
        temperature: of the elastomer, °C, over -30 to 80.

    Returns:
        The factors.

    Raises:
        TableError: no such class, or starts or temperature outside the tables; nothing is extrapolated.
        UsageError: the starts are negative.

    Notes:
        The maker's factors prevail; makers differ from these by up to 0.5.

    Source: load classes common practice, no source; starts and temperature as used with DIN 740-2 (memory).
    """
    at_least_zero(starts_per_hour=starts_per_hour)
    loads = table("service_load")
    row = loads.row(load_class)
    sources = [f"{loads.title}: {row.source}"]
    marks = [row.confidence]
    starts = heat = 1.0
    if elastomer:
        start_row = table("service_starts").containing(starts_per_hour, "starts per hour")
        heat_row = table("service_temperature").containing(temperature, "temperature")
        starts, heat = start_row.number("factor"), heat_row.number("factor")
        sources += [start_row.source, heat_row.source]
        marks += [start_row.confidence, heat_row.confidence]
    return ServiceFactors(
        load=row.number("reversing" if reversing else "one_way"),
        starts=starts,
        temperature=heat,
        source="; ".join(sources),
        confidence=weakest(marks),
    )


def required_rating(running_torque: float, peak_torque: float, factors: ServiceFactors) -> RequiredRating:
    """Ratings that the coupling needs: nominal >= T_run S_load S_t, maximum >= T_peak S_z S_t.

    Args:
        running_torque: lasting torque, size, N·m: the larger of root mean square, running and holding torque.
        peak_torque: greatest torque of the cycle or of the bad cases, size, N·m, with its onset factor already in.
        factors: of the drive.

    Returns:
        The required ratings; the maximum is never less than the nominal.

    Raises:
        UsageError: a torque is negative.

    Source: form of DIN 740-2, T_KN >= T_N S_t and T_Kmax >= T_S S_z S_t (memory); the load factor on the lasting
    torque is common practice, no source.
    """
    at_least_zero(running_torque=running_torque, peak_torque=peak_torque)
    nominal = running_torque * factors.load * factors.temperature
    return RequiredRating(nominal=nominal, maximum=max(nominal, peak_torque * factors.starts * factors.temperature))


def utilisation(demanded: float, rated: float) -> float:
    """Share of a rating that is used; over 1 is too much.

    Args:
        demanded: size, in the rating's unit (torque, speed).
        rated: greater than 0.

    Returns:
        The share.

    Raises:
        UsageError: the rating is not greater than 0, or the demand is negative.

    Source: definition (computed).
    """
    at_least_zero(demanded=demanded)
    above_zero(rated=rated)
    return demanded / rated
