"""The loop of torque over twist as a picture (SVG): readings by what became of them, and the fitted branches."""

from __future__ import annotations

from math import ceil, degrees, floor, log10
from xml.sax.saxutils import escape

from fitcheck.bench.trial import Trial
from fitcheck.checks.work_units import three

WIDTH, HEIGHT = 720, 480
LEFT, RIGHT, TOP, BOTTOM = 70, 20, 40, 60
COLOURS = {
    "used": "#1f6f54", "above the rating": "#b36b00", "outlier": "#b00020", "slipped": "#7a4fa3", "not used": "#888888",
}  # fmt: skip


def loop_svg(trial: Trial) -> str:
    """The picture, twist in degrees to the right and torque in N·m upwards.

    Args:
        trial: readings and fit.

    Returns:
        A whole SVG document, ending in a newline. It draws the same bytes for the same trial.
    """
    twists = [degrees(value) for value in trial.taken.twists]
    torques = list(trial.taken.torques)
    x, y = _Scale(twists, LEFT, WIDTH - RIGHT), _Scale(torques, HEIGHT - BOTTOM, TOP)
    title = f"Torque over twist, {trial.taken.file or 'readings'}: {three(trial.fit.stiffness.nominal)} N·m/rad"
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" font-family="sans-serif" '
        'font-size="12" role="img">',
        f"<title>{escape(title)}</title>",
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>',
        f'<text x="{LEFT}" y="22" font-size="14">{escape(title)}</text>',
        *_grid(x, y),
        *_limits(trial, y),
        *_branches(trial, x, y),
    ]
    points = " ".join(f"{x(a):.2f},{y(b):.2f}" for a, b in zip(twists, torques, strict=True))
    out.append(f'<polyline points="{points}" fill="none" stroke="#bbbbbb" stroke-width="1"/>')
    kinds = _kinds(trial)
    for a, b, kind in zip(twists, torques, kinds, strict=True):
        out.append(f'<circle cx="{x(a):.2f}" cy="{y(b):.2f}" r="3.5" fill="{COLOURS[kind]}"/>')
    for number, kind in enumerate(kind for kind in COLOURS if kind in kinds):
        place = LEFT + 10 + 130 * number
        out.append(f'<circle cx="{place}" cy="{HEIGHT - 12}" r="4" fill="{COLOURS[kind]}"/>')
        out.append(f'<text x="{place + 8}" y="{HEIGHT - 8}">{escape(kind)}</text>')
    return "\n".join([*out, "</svg>"]) + "\n"


class _Scale:
    """From values to places on the page, with room at both ends."""

    def __init__(self, values: list[float], start: float, stop: float) -> None:
        low, high = min(0.0, *values), max(0.0, *values)
        room = 0.05 * (high - low) or 1.0
        self.low, self.high, self.start, self.stop = low - room, high + room, start, stop

    def __call__(self, value: float) -> float:
        return self.start + (value - self.low) / (self.high - self.low) * (self.stop - self.start)

    def ticks(self) -> list[float]:
        """Round values, about six of them."""
        raw = (self.high - self.low) / 6.0
        power = 10.0 ** floor(log10(raw))
        step = next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= raw)
        return [number * step for number in range(ceil(self.low / step), floor(self.high / step) + 1)]


def _grid(x: _Scale, y: _Scale) -> list[str]:
    out = []
    for value in x.ticks():
        place = x(value)
        out.append(f'<line x1="{place:.2f}" y1="{TOP}" x2="{place:.2f}" y2="{HEIGHT - BOTTOM}" stroke="#e4e4e4"/>')
        out.append(f'<text x="{place:.2f}" y="{HEIGHT - BOTTOM + 16}" text-anchor="middle">{value:.3g}</text>')
    for value in y.ticks():
        place = y(value)
        out.append(f'<line x1="{LEFT}" y1="{place:.2f}" x2="{WIDTH - RIGHT}" y2="{place:.2f}" stroke="#e4e4e4"/>')
        out.append(f'<text x="{LEFT - 6}" y="{place + 4:.2f}" text-anchor="end">{value:.3g}</text>')
    centre = (LEFT + WIDTH - RIGHT) / 2
    out.append(f'<text x="{centre}" y="{HEIGHT - BOTTOM + 34}" text-anchor="middle">twist, °</text>')
    middle = (TOP + HEIGHT - BOTTOM) / 2
    out.append(f'<text x="18" y="{middle}" text-anchor="middle" transform="rotate(-90 18 {middle})">torque, N·m</text>')
    return out


def _branches(trial: Trial, x: _Scale, y: _Scale) -> list[str]:
    """The fitted line of each direction, through the middle of its used readings."""
    out, kinds = [], _kinds(trial)
    pairs = list(zip(trial.taken.torques, trial.taken.twists, kinds, strict=True))
    for sign in (1.0, -1.0):
        used = [(m, a) for m, a, kind in pairs if kind in ("used", "above the rating") and m * sign > 0.0]
        if not used:
            continue
        shift = sum(a - m / trial.fit.stiffness.nominal for m, a in used) / len(used)
        ends = (0.0, max((m for m, _ in used), key=abs))
        (a, b), (c, d) = ((degrees(m / trial.fit.stiffness.nominal + shift), m) for m in ends)
        line = f'x1="{x(a):.2f}" y1="{y(b):.2f}" x2="{x(c):.2f}" y2="{y(d):.2f}"'
        out.append(f'<line {line} stroke="#1f6f54" stroke-width="1.5" stroke-dasharray="6 4"/>')
    return out


def _limits(trial: Trial, y: _Scale) -> list[str]:
    """A line across at the rating, on each side that was loaded so far, and at the onset of slip where it began."""
    out = []
    slip = trial.taken.torques[trial.fit.slipped[0]] if trial.fit.slipped else None
    rating = trial.rated_torque
    rows = (
        ("rating", () if rating is None else (rating, -rating), COLOURS["above the rating"]),
        ("slip", () if slip is None else (slip,), COLOURS["slipped"]),
    )
    for name, levels, colour in rows:
        for level in levels:
            if y.low < level < y.high:
                place = f"{y(level):.2f}"
                out.append(
                    f'<line x1="{LEFT}" y1="{place}" x2="{WIDTH - RIGHT}" y2="{place}" stroke="{colour}" '
                    'stroke-dasharray="2 4"/>'
                )
                out.append(f'<text x="{WIDTH - RIGHT - 4}" y="{y(level) - 4:.2f}" text-anchor="end">{name}</text>')
    return out


def _kinds(trial: Trial) -> list[str]:
    fit, kinds = trial.fit, []
    for index, torque in enumerate(trial.taken.torques):
        if index in fit.slipped:
            kinds.append("slipped")
        elif index in fit.outliers:
            kinds.append("outlier")
        elif index in fit.above_rating:
            kinds.append("above the rating")
        else:
            kinds.append("not used" if torque == 0.0 or index in fit.turning else "used")
    return kinds
