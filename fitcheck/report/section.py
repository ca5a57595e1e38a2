"""A plain SVG section through the adapter: the free radius over the stations, the shafts and the coupling's outline."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape
from math import isfinite

from fitcheck.checks.drive import Drive
from fitcheck.checks.swept import Head
from fitcheck.measurement.model import End, Measurement
from fitcheck.report.page import clean, number

_WIDTH, _HEIGHT, _EDGE = 860.0, 320.0, 36.0
_MOST_POINTS = 4000
_LETTER = 7.0
"""Width that a letter of the labels takes at most, in the drawing's units."""

Outline = list[tuple[float, float]]


def section_svg(measurement: Measurement, drive: Drive | None = None) -> str | None:
    """The drawing, or None where no free radius was measured.

    The upper and the lower half show the same: at every station the material nearest to the axis over the full turn,
    and what the coupling sweeps.

    Args:
        measurement: what was measured.
        drive: gives the shafts and the coupling where it sits.

    Returns:
        One `<svg>` element; every text in it is escaped.
    """
    if measurement.free_radius is None:
        return None
    profile = [(s, r) for s, r in measurement.free_radius.profile[:_MOST_POINTS] if isfinite(s)]
    if len(profile) < 2:
        return None
    shapes = [] if drive is None else [*_shafts(drive), *_coupling(drive)]
    stations = [s for s, _ in profile] + [s for _, _, outline in shapes for s, _ in outline]
    radii = [r for _, r in profile if isfinite(r)] + [r for _, _, outline in shapes for _, r in outline]
    first, last, top = min(stations), max(stations), 1.2 * max(radii, default=1.0)
    if last <= first or top <= 0:
        return None
    scale = min((_WIDTH - 2 * _EDGE) / (last - first), (_HEIGHT - 2 * _EDGE) / (2 * top))
    middle = _HEIGHT / 2
    width = max((last - first) * scale + 2 * _EDGE, 300.0)

    def x(station: float) -> float:
        return round(_EDGE + (station - first) * scale, 2)

    def points(outline: Sequence[tuple[float, float]], side: float) -> str:
        return " ".join(f"{x(s)},{round(middle - side * min(r, top) * scale, 2)}" for s, r in outline)

    parts = []
    for side in (1.0, -1.0):
        rim = [(profile[-1][0], top), (profile[0][0], top)]
        parts.append(f'<polygon class="material" points="{points([*profile, *rim], side)}"/>')
    for end in measurement.ends:
        parts += _seat(end, x, top * scale, middle, width)
    for kind, title, outline in shapes:
        both = f"{points(outline, 1.0)} {points(outline[::-1], -1.0)}"
        parts.append(f'<polygon class="{kind}" points="{both}"><title>{escape(clean(title))}</title></polygon>')
    parts.append(f'<line class="axis" x1="{x(first)}" y1="{middle:g}" x2="{x(last)}" y2="{middle:g}"/>')
    label = f"stations {number(first)} to {number(last)} mm; the end at station 0 first"
    parts.append(f'<text x="{_EDGE:g}" y="{_HEIGHT - 6:g}">{escape(label)}</text>')
    return (
        f'<svg viewBox="0 0 {width:g} {_HEIGHT:g}" role="img" aria-label="Section with the free radius">'
        + "".join(parts)
        + "</svg>"
    )


def _shafts(drive: Drive) -> list[tuple[str, str, Outline]]:
    shapes: list[tuple[str, str, Outline]] = []
    for side in drive.sides:
        if side.shaft is not None:
            radius = side.shaft.diameter / 2
            start = side.shaft.full_from if side.seat is None else side.seat
            outline = [(start, radius), (side.shaft.end, radius)]
            shapes.append(("shaft", f"{side.name} shaft, diameter {number(side.shaft.diameter)} mm", outline))
    return shapes


def _coupling(drive: Drive) -> list[tuple[str, str, Outline]]:
    if drive.placed is None:
        return []
    swept = drive.placed.swept
    shapes: list[tuple[str, str, Outline]] = [
        ("coupling", step.part, [(step.start, step.radius), (step.stop, step.radius)]) for step in swept.steps
    ]
    return shapes + [("coupling", head.part, _head(head)) for head in swept.heads]


def _head(head: Head) -> Outline:
    steps = 12
    stations = [head.start + (head.stop - head.start) * i / steps for i in range(steps + 1)]
    return [(station, head.swept(station)) for station in stations]


def _seat(end: End, x: Callable[[float], float], reach: float, middle: float, width: float) -> list[str]:
    at = x(end.seat)
    low, high = round(middle - reach, 2), round(middle + reach, 2)
    label = f"{end.role} seat"
    # Where the label would run out of the drawing it stands on the other side of its line.
    place = f'x="{at + 3:g}"' if at + 3 + _LETTER * len(label) <= width else f'x="{at - 3:g}" text-anchor="end"'
    return [
        f'<line class="seat" x1="{at}" y1="{low}" x2="{at}" y2="{high}"/>',
        f'<text {place} y="{low - 6:g}">{escape(label)}</text>',
    ]
