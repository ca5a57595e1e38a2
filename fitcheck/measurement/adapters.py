"""Which bodies are the adapter's, where names and the job tell, and where only shapes do."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from fitcheck.measurement.axis import AS_GOOD, Candidate, find_candidates
from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.likeness import MOST_LOOKED_AT, machine_like
from fitcheck.measurement.locators import SQUARE
from fitcheck.measurement.mouths import COAXIAL
from fitcheck.measurement.options import MeasureOptions
from fitcheck.measurement.own_shaft import MACHINES
from fitcheck.measurement.pieces import Pieces, has_shaft
from fitcheck.measurement.roles import NamedRoles
from fitcheck.measurement.seats import ENOUGH
from fitcheck.measurement.survey import Survey

MOST_TRIED = 6
"""Bodies that are tried as the adapter, the largest first."""


ROUND = math.radians(300.0)
"""A bore that covers more of a turn is no half of one."""


@dataclass(frozen=True, kw_only=True)
class Adapters:
    """The role of each body with an adapter among them, and the candidates for the drive axis, best first.

    `twins` are bodies that are equally good as the adapter, each with its place in words; `one_line` where they lie on
    one line, so that a point cannot tell them apart.
    """

    roles: list[str | None]
    candidates: list[Candidate]
    twins: tuple[tuple[int, str], ...] = ()
    one_line: bool = False


def find_adapters(
    survey: Survey, bores: Sequence[Bore], named: NamedRoles, options: MeasureOptions, warnings: list[str]
) -> Adapters:
    """The candidates, and the roles with an adapter among them.

    Where no body is called the adapter, each of the largest nameless ones is tried as the adapter, and the one with
    the best evidence is; where all bodies are called a machine's, one that a shaft runs in, whose own body forms the
    chamber. Nameless bodies that belong to it join it, and the warnings say so.
    """
    roles, doubtful = list(named.roles), named.doubtful
    # Shapes come before names: what has a machine's shaft, register and holes on one axis is a machine.
    named_so = {
        "adapter": () if options.adapter else ("adapter",), "coupling": () if options.coupling else ("coupling",),
    }  # fmt: skip
    doubted = [i for i, role in enumerate(roles) if role is None or role in named_so.get(role, ())]
    machines = _machines(survey, bores, doubted[:MOST_LOOKED_AT])
    roles = [None if index in machines and role in named_so else role for index, role in enumerate(roles)]
    counted = {i for i, role in enumerate(roles) if role not in ("coupling", "ignored")}

    def candidates_with(adapter: set[int]) -> list[Candidate]:
        others = {i for i in counted if i not in adapter and roles[i] != "adapter"}
        return find_candidates(survey, bores, adapter, others)

    open_ = [index for index, role in enumerate(roles) if role is None and index not in machines] or list(named.hosts)
    adapter = {index for index, role in enumerate(roles) if role == "adapter"}
    if not adapter and not open_ and not (options.motor or options.actuator):
        # All have a machine's name; the adapter is what has no machine's shape.
        mine = [i for i, role in enumerate(roles) if role in MACHINES and not has_shaft(bores, i)]
        open_ = [i for i in mine if machine_like(survey, bores, i) is None]
    open_.sort(key=lambda index: -(survey.bodies[index].volume or 0.0))
    found: list[Candidate] = []
    alone: dict[int, Candidate] = {}
    if adapter:
        found = candidates_with(adapter)
        if len(adapter) > 1 and not options.adapter:
            alone = _whole(bores, adapter, candidates_with)
    else:
        tried = [(index, candidates_with({index})) for index in open_[:MOST_TRIED]]
        tried = [(index, some) for index, some in tried if some]
        if tried:
            near = options.axis_near
            if near is None:
                best, found = max(tried, key=lambda item: (item[1][0].score, len(item[1][0].coaxial)))
            else:
                best, found = min(tried, key=lambda item: min(candidate.distance(near) for candidate in item[1]))
            adapter = {best}
            alone = {index: some[0] for index, some in tried if not some[0].lone}
    one = bool(options.adapter) or (len(adapter) == 1 and bool(found) and _is_whole(found[0]))
    told_twins = _equal_to(bores, adapter, open_) if one and "adapter" in roles else set()
    more = [i for i in open_ if i not in adapter and roles[i] is None and i not in told_twins]
    if found and more:
        grown = Pieces(survey, bores, found[0].frame, counted).grown(adapter, more, set(doubtful))
        if grown != adapter:
            names = ", ".join(f"'{survey.bodies[index].name}'" for index in sorted(grown))
            warnings.append(
                f"no name tells which bodies are the adapter's; {names} lie on each other, carry no shaft and were "
                f"taken for it. 'bodies: {{adapter: [{names}]}}' in the job says so for good; a machine among them "
                "belongs into 'motor:' or 'actuator:' there"
            )
            adapter = grown
            found = candidates_with(adapter)
    twins = _twins(bores, adapter, alone)
    one_line = len(twins) > 1 and all(_same_line(alone[twins[0]], alone[index]) for index in twins[1:])
    if options.axis_near is not None and not one_line:
        # The point tells them apart.
        twins = []
    told: list[str | None] = [doubtful.get(index, role) for index, role in enumerate(roles)]
    return Adapters(
        roles=[("adapter" if index in adapter else role) for index, role in enumerate(told)],
        candidates=found,
        twins=tuple((index, alone[index].describe()) for index in twins),
        one_line=one_line,
    )


def _machines(survey: Survey, bores: Sequence[Bore], bodies: Iterable[int]) -> set[int]:
    """Those of some bodies that are surely machines, with the shafts that run in them."""
    found: set[int] = set()
    for index in bodies:
        machine = None if index in found else machine_like(survey, bores, index)
        if machine is not None and machine.sure:
            found |= machine.bodies
    return found


def _whole(
    bores: Sequence[Bore], adapter: set[int], candidates_with: Callable[[set[int]], list[Candidate]]
) -> dict[int, Candidate]:
    """Of the bodies called adapters those that are one by themselves, two ends and all, and have an equal."""
    equal = [index for index in sorted(adapter) if _equal_to(bores, {index}, adapter - {index})]
    found = {}
    for index in equal[:MOST_TRIED]:
        some = candidates_with({index})
        if some and _is_whole(some[0]):
            found[index] = some[0]
    return found


def _twins(bores: Sequence[Bore], adapter: set[int], alone: dict[int, Candidate]) -> list[int]:
    """Bodies that would be the adapter as well as the one taken: equal ones, or others on a line of their own.

    What joined the adapter as a piece of it is no twin, unless both are whole adapters.
    """
    mine = [index for index in alone if index in adapter]
    if not mine:
        return []
    best = max(mine, key=lambda index: alone[index].score)
    whole = all(_is_whole(alone[index]) for index in mine)
    others = [index for index in alone if index != best and (whole or index not in adapter)]
    found = [
        index
        for index in others
        if alone[index].score >= AS_GOOD * alone[best].score
        and (_equal_to(bores, {best}, {index}) or not _same_line(alone[best], alone[index]))
    ]
    return sorted([best, *found]) if found else []


def _is_whole(candidate: Candidate) -> bool:
    """Whether a body is an adapter by itself: two ends, each with a round bore; half shells have half ones."""
    ends = [seat for seat in candidate.seats if seat.score >= ENOUGH and seat.mouth is not None]
    return len(ends) == 2 and all(seat.mouth is not None and seat.mouth.turn > ROUND for seat in ends)


def _equal_to(bores: Sequence[Bore], bodies: Iterable[int], among: Iterable[int]) -> set[int]:
    """Those among some bodies that have the same bores and bosses as one of the given bodies."""
    wanted = [_sizes(bores, index) for index in bodies]
    return {index for index in among if _sizes(bores, index) in wanted}


def _sizes(bores: Sequence[Bore], body: int) -> list[tuple[bool, float, float, float]]:
    """The bores and bosses of a body by their sizes, to 0.001 mm and 0.001 rad; where they lie does not count."""
    return sorted(
        (bore.concave, round(bore.radius, 3), round(bore.stop - bore.start, 3), round(bore.turn, 3))
        for bore in bores
        if bore.body == body
    )


def _same_line(a: Candidate, b: Candidate) -> bool:
    return a.distance(b.frame.origin) < COAXIAL and a.distance(b.frame.at(100.0)) < COAXIAL + 100.0 * SQUARE
