"""The reference of all keys of a job file, as Markdown tables, for the README."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from fitcheck.job.load import shown
from fitcheck.job.model import Job
from fitcheck.job.shape import Shape, shapes, walk

HEADER = ("| key | meaning | unit | default | choices |", "|---|---|---|---|---|")


def job_reference() -> str:
    """One table a group of the model, each under the paths where the group stands, in the order of the model."""
    places: dict[type[Any], list[str]] = {Job: []}
    for path, shape in walk(Job):
        if shape.group is not None:
            places.setdefault(shape.group, []).append(path + ("[]" if shape.kind == "groups" else ""))
    lines: list[str] = []
    for group, paths in places.items():
        title = ", ".join(f"`{path}`" for path in paths) or "The job"
        lines += [f"### {title}", "", *HEADER, *_rows(group), ""]
    return "\n".join(lines)


def _rows(group: type[Any]) -> Iterator[str]:
    for shape in shapes(group):
        unit = shape.unit or {"group": "group", "groups": "list of groups", "count": "whole number"}.get(shape.kind, "")
        cells = (f"`{shape.name}`", shape.describe.doc, unit, _default(shape), ", ".join(shape.describe.choices))
        yield f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in cells)} |"


def _default(shape: Shape) -> str:
    if shape.required:
        return "(needed)"
    return "" if shape.default in (None, ()) or shape.group is not None else shown(shape)
