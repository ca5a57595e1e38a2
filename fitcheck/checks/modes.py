"""The drive as a chain of inertias and springs: motor, hubs, screw and load, with what is not known left out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fitcheck.checks.driven_side import driven_side
from fitcheck.checks.train import Train
from fitcheck.checks.working import Working, ratings_of
from fitcheck.mechanics.bounds import Bounds, exactly
from fitcheck.mechanics.damped import damped_chain
from fitcheck.mechanics.dynamics import chain, chain_anti_resonances
from fitcheck.mechanics.stiffness import in_series_bounds

NOTHING = 1e-12
"""kg·m²; less is no inertia of its own, and the springs on both sides of it are one."""


@dataclass(frozen=True, kw_only=True)
class Link:
    """A spring of the chain: N·m/rad, and psi, the share of its strain energy lost in an oscillation."""

    stiffness: Bounds
    loss: float = 0.0

    def behind(self, other: Link) -> Link:
        """Both in series; each loses its share of the energy, which goes with its give."""
        both = in_series_bounds(self.stiffness, other.stiffness)
        share = both.low / self.stiffness.low
        return Link(stiffness=both, loss=share * self.loss + (1.0 - share) * other.loss)


@dataclass(frozen=True, kw_only=True)
class Chain:
    """Inertias in a row, kg·m², by name, with a spring between each two."""

    names: tuple[str, ...]
    inertias: tuple[float, ...]
    links: tuple[Link, ...]

    @property
    def parts(self) -> str:
        """The names of its inertias."""
        return ", ".join(self.names)

    def at(self, end: str) -> list[float]:
        """Stiffnesses at the `low` or the `high` end of their bounds."""
        return [getattr(link.stiffness, end) for link in self.links]


@dataclass(frozen=True, kw_only=True)
class Modes:
    """Resonances in Hz, each from the least to the greatest stiffness, and the first one's amplification."""

    ranges: tuple[tuple[float, float], ...]
    amplification: float


def chain_of(working: Working, train: Train, rotor: float) -> Chain:
    """The chain of a drive at work.

    Args:
        working: the drive at work.
        train: its shaft train.
        rotor: inertia of rotor and half of the coupling, kg·m².
    """
    ratings, behind = ratings_of(working.drive), driven_side(working)
    half = ratings.inertia / 2.0
    stubs = {spring.name: Link(stiffness=spring.stiffness) for spring in train.stubs}
    turned = "screw" if working.data.axis_kind == "screw" else "driven side"
    names = ["motor", "motor hub", "actuator hub", turned, "load"]
    inertias = [rotor - half, half, half, behind.near - half, behind.load]
    screw = None if behind.stiffness is None else Link(stiffness=exactly(behind.stiffness))
    links = [
        stubs.get("motor shaft"),
        Link(stiffness=train.coupling.stiffness, loss=ratings.damping),
        stubs.get("actuator shaft"),
        screw,
    ]
    return _reduced(names, inertias, links)


def _reduced(names: list[str], inertias: list[float], links: Sequence[Link | None]) -> Chain:
    """The chain without springs that are not known, whose ends are one, and without inertias of nothing."""
    made = Chain(names=(names[0],), inertias=(inertias[0],), links=())
    for name, inertia, link in zip(names[1:], inertias[1:], links, strict=True):
        if link is None:
            both = made.inertias[-1] + inertia
            joined = made.names[-1] if inertia <= NOTHING else f"{made.names[-1]} with {name}"
            if made.inertias[-1] <= NOTHING < inertia:
                joined = name
            made = replace(made, names=(*made.names[:-1], joined), inertias=(*made.inertias[:-1], both))
        elif made.links and made.inertias[-1] <= NOTHING:
            made = Chain(
                names=(*made.names[:-1], name), inertias=(*made.inertias[:-1], inertia),
                links=(*made.links[:-1], made.links[-1].behind(link)),
            )  # fmt: skip
        else:
            made = Chain(
                names=(*made.names, name), inertias=(*made.inertias, inertia), links=(*made.links, link)
            )  # fmt: skip
    while made.links and made.inertias[-1] <= NOTHING:
        made = Chain(names=made.names[:-1], inertias=made.inertias[:-1], links=made.links[:-1])
    return made


def modes_of(whole: Chain, held: float = 0.0, field_low: float = 1.0) -> Modes:
    """The resonances of a chain.

    Args:
        whole: the chain, with a spring at least.
        held: stiffness of a stepper's field on the first inertia, N·m/rad; 0 for a free motor.
        field_low: share of that stiffness at the low end.

    Raises:
        UsageError: a mode is damped so heavily that it does not oscillate.
    """
    losses = [link.loss for link in whole.links]
    if held <= 0.0 and not any(losses):
        soft, stiff = (chain(whole.inertias, whole.at(end)) for end in ("low", "high"))
        ranges = tuple((low.frequency, high.frequency) for low, high in zip(soft, stiff, strict=True))
        return Modes(ranges=ranges, amplification=float("inf"))
    lossy = damped_chain(whole.inertias, whole.at("low"), losses, field_low * held)
    free = damped_chain(whole.inertias, whole.at("high"), [0.0] * len(losses), held)
    ranges = tuple((low.frequency, high.frequency) for low, high in zip(lossy, free, strict=True))
    return Modes(ranges=ranges, amplification=lossy[0].amplification)


def anti_resonances_of(whole: Chain) -> tuple[float, ...]:
    """Frequencies in Hz, at the least stiffness, at which the chain holds the motor still."""
    return chain_anti_resonances(whole.inertias, whole.at("low"))
