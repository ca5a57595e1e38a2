"""What lies between the hubs: the element, and heads of flange screws beside it, in a job that can be."""

from __future__ import annotations

from collections.abc import Iterator

from fitcheck.job.complaint import Complaint
from fitcheck.job.coupling import TO_OTHER_HUB, Coupling


def between_the_hubs(coupling: Coupling, path: str) -> Iterator[Complaint]:
    """The element, and the heads of flange screws that stand out beside it."""
    hubs = {"motor": coupling.hubs.motor, "actuator": coupling.hubs.actuator}
    element, widest = coupling.element_diameter, coupling.outside_diameter
    hubs_narrower = all((hub.outside_diameter or widest) < widest for hub in hubs.values())
    wrong = element is not None and (element > widest or (element < widest and hubs_narrower))
    if element is not None and wrong:
        needed = "the outside diameter, as both hubs are narrower" if hubs_narrower else "at most the outside diameter"
        yield Complaint(
            f"{path}.element_diameter", f"found an element of {_mm(element)}; needed is {needed}, {_mm(widest)}"
        )
    lengths = {name: hub.bore_length if hub.length is None else hub.length for name, hub in hubs.items()}
    beside: list[tuple[float, str]] = []
    for name, hub in hubs.items():
        for index, screw in enumerate(hub.screws):
            if screw.direction != TO_OTHER_HUB or screw.station <= lengths[name]:
                continue
            most = coupling.length - lengths["actuator" if name == "motor" else "motor"]
            if screw.station > most:
                yield Complaint(
                    f"{path}.hubs.{name}.screws.{index}.station",
                    f"found the head's outer end {_mm(screw.station)} from the hub's outer face; needed is at most "
                    f"{_mm(most)}, where the other hub begins",
                )
            inner = 2.0 * (abs(screw.offset) - _cap_head(screw.size) / 2.0)
            beside.append((max(inner, 0.0), f"the {screw.size} head of {name} hub screw {index + 1}"))
    if element is not None and not wrong and beside and element > min(beside)[0] + 1e-9:
        inner, head = min(beside)
        yield Complaint(
            f"{path}.element_diameter",
            f"found an element of {_mm(element)}, into which {head} reaches; needed is at most {_mm(inner)} (twice the "
            "radius of its bolt circle, less the head), or a head within its hub",
        )


def _cap_head(size: str) -> float:
    """Greatest diameter in mm of a cap screw's head."""
    from fitcheck.standards.screws import cap_screw

    return float(cap_screw(size).head_diameter)


def _mm(value: float) -> str:
    """A length in words."""
    return f"{value:.6g} mm"
