"""The service factors of a drive at work, each on its own: what is missing for one leaves the others."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.checks.sides import Missing
from fitcheck.checks.work_units import three
from fitcheck.checks.working import ELASTOMER, Working
from fitcheck.errors import TableError
from fitcheck.job.drive import REVERSING
from fitcheck.mechanics.service import service_factors


@dataclass(frozen=True, kw_only=True)
class Factor:
    """A service factor, and where it comes from."""

    value: float
    how: str


def load_factor(working: Working) -> Factor:
    """On the lasting torque, by load class and direction."""
    service = working.data.service
    if service.load_factor is not None:
        return Factor(value=service.load_factor, how=f"load factor {three(service.load_factor)} as given")
    found = service_factors(service.load_class, service.direction == REVERSING).load
    how = f"load factor {three(found)} for {service.load_class}, {service.direction} (common practice, no source)"
    return Factor(value=found, how=how)


def start_factor(working: Working) -> Factor | Missing:
    """On short torques through an elastomer, by the starts in an hour; 1 for other families."""
    given = working.data.service.start_factor
    if given is not None:
        return Factor(value=given, how=f"start factor {three(given)} as given")
    if working.drive.job.coupling.family not in ELASTOMER:
        return Factor(value=1.0, how="")
    starts = working.starts_per_hour
    try:
        found = service_factors(elastomer=True, starts_per_hour=starts).starts
    except TableError as error:
        return Missing(reason=f"no start factor: {error}", supply="give drive.service.start_factor by the maker's data")
    return Factor(value=found, how=f"{three(found)} for the elastomer at {three(starts)} starts an hour (memory)")


def temperature_factor(working: Working) -> Factor | Missing:
    """On all torques through an elastomer, by its temperature; 1 for other families."""
    service = working.data.service
    if service.temperature_factor is not None:
        how = f"temperature factor {three(service.temperature_factor)} as given"
        return Factor(value=service.temperature_factor, how=how)
    if working.drive.job.coupling.family not in ELASTOMER:
        return Factor(value=1.0, how="")
    try:
        found = service_factors(elastomer=True, temperature=service.temperature).temperature
    except TableError as error:
        supply = "give drive.service.temperature_factor by the maker's data, or correct drive.service.temperature"
        return Missing(reason=f"no temperature factor: {error}", supply=supply)
    return Factor(value=found, how=f"{three(found)} for the elastomer at {three(service.temperature)} °C (memory)")


def together(*factors: Factor | Missing) -> Factor | Missing:
    """Their product, or the first thing that is missing."""
    value, words = 1.0, []
    for factor in factors:
        if isinstance(factor, Missing):
            return factor
        value *= factor.value
        if factor.how:
            words.append(factor.how)
    return Factor(value=value, how=", ".join(words))
