"""The starting job file that `fitcheck init STEP` writes: every key with its documentation.

Lines "# text" explain; lines "#key: value" are keys switched off. What was measured needs no key: it stands in the
file's head, and shafts also as the values of switched-off keys; a copy that is switched on would outlive the STEP file.
"""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from fitcheck.job.load import shown
from fitcheck.job.model import MARK, Job
from fitcheck.job.shape import Shape, shapes

WIDTH = 100
FRAME_WITHIN = 0.5
"""A standard frame is named where pilot and bolts lie within this of its table, mm."""

_HEAD = (
    "A job for fitcheck: does this coupling fit, hold and work in this adapter?",
    "Lines like this one explain. A line such as '#title: ...' is a key that is switched off; to use it, remove its "
    "'#' and those of the groups around it. Keys marked 'needed' must be given where their group is. What a key means "
    "is explained where it stands first.",
    "A number without a unit is in mm or degrees; with one it is written as 0.25 in, 12 mm or 0.02 rad.",
    f"The numbers marked {MARK} are examples only: put those of your coupling in their place, and take the marks "
    "away. A job that holds one is incomplete.",
)
_MOTOR_SEAT = "motor.seat"  # the one path that the shape offers and the loader refuses


@dataclass
class _Filling:
    """Texts for keys by path: `given` are switched on, `hints` are values for keys that stay off.

    `example` are the given keys that carry the mark; `explained` the fields whose documentation stands above.
    """

    given: dict[str, str] = field(default_factory=dict)
    hints: dict[str, str] = field(default_factory=dict)
    example: set[str] = field(default_factory=set)
    explained: set[tuple[type[Any], str]] = field(default_factory=set)


def job_template(measurement: Any, step_name: str) -> str:
    """The text of a job file to start from.

    Args:
        measurement: a `Measurement`, oriented or not.
        step_name: the STEP file as the job file shall name it, relative to the job file.

    Returns:
        YAML that `load_job` reads without error. The coupling's numbers are marked examples.
    """
    filling = _Filling()
    filling.given["step"] = _quoted(step_name)
    for index, end in enumerate(measurement.ends[:2]):
        role = end.role if end.role in ("motor", "actuator") else ("motor", "actuator")[index]
        _fill_machine(filling, role, end)
        if measurement.drive_axis is not None:
            point = ", ".join(_number(value) for value in measurement.point(end.seat))
            filling.hints[f"{role}.near"] = f"[{point}]"
    for role in ("adapter", "motor", "actuator", "coupling"):
        names = [_quoted(body.name) for body in measurement.bodies if body.role == role and _clean(body.name).strip()]
        if names:
            filling.hints[f"bodies.{role}"] = f"[{', '.join(names[:8])}]"
    if getattr(measurement, "coupling", None) is not None:
        filling.hints["coupling.numbers_from"] = "step file"
    if getattr(measurement, "candidates", ()):
        # The file offers several lines; the first one stands there, the head lists the others.
        filling.hints["axis.near"] = f"[{', '.join(_number(value) for value in measurement.candidates[0])}]"
    _fill_coupling(filling)
    lines = [line for text in _HEAD for line in _comment(text, "")]
    lines += ["#", *_found(measurement, step_name)]
    lines += _group(Job, "", "", filling, off=False)
    return "\n".join(lines) + "\n"


def _fill_machine(filling: _Filling, role: str, end: Any) -> None:
    frame = _closest(end)
    if frame is not None:
        filling.hints[f"{role}.frame"] = _quoted(frame[0].name)
    shaft = end.shaft
    if shaft is None or shaft.length <= 0.0:
        # A shaft that ends behind its seat, in its machine's own chamber, cannot be said by its length from the seat.
        return
    hints = {"diameter": shaft.diameter, "length": shaft.length, "full_from": abs(shaft.full_from - end.seat)}
    hints["chamfer"] = abs(shaft.end - shaft.full_to)
    if shaft.flat is not None:
        hints |= {"flat.length": shaft.flat.length, "flat.height": shaft.flat.height}
    if shaft.keyseat is not None:
        seat = shaft.keyseat
        hints |= {"keyseat.width": seat.width, "keyseat.depth": seat.depth, "keyseat.length": seat.length}
        hints["keyseat.from_end"] = min(abs(shaft.end - seat.start), abs(shaft.end - seat.stop))
    filling.hints |= {f"{role}.shaft.{name}": _number(value) for name, value in hints.items()}


def _fill_coupling(filling: _Filling) -> None:
    """Numbers of no coupling on sale, in proportion to the bores, which are the measured shafts'."""
    bores = {}
    for role in ("motor", "actuator"):
        measured = float(filling.hints.get(f"{role}.shaft.diameter", "8"))
        bores[role] = measured if 1.0 <= measured <= 100.0 else 8.0
    bore = max(bores.values())
    grip = max(10.0, float(round(1.25 * bore)))
    example = {
        "family": "jaw",
        "outside_diameter": _number(max(20.0, float(round(3.25 * bore)))),
        "length": _number(2 * grip + max(6.0, float(round(bore)))),
    }
    for role, diameter in bores.items():
        hub = f"hubs.{role}"
        example |= {f"{hub}.bore": _number(diameter), f"{hub}.bore_length": _number(grip), f"{hub}.fastening": "clamp"}
        example |= {f"{hub}.screws.size": "M3", f"{hub}.screws.station": _number(grip / 2)}
        example[f"{hub}.screws.offset"] = _number(bore / 2 + 2.5)
        filling.hints |= {
            f"coupling.{hub}.outside_diameter": example["outside_diameter"],
            f"coupling.{hub}.length": _number(grip),
            f"coupling.{hub}.insertion_limit": _number(grip + 1.0),
            f"coupling.{hub}.screws.head_end": _number(float(example["outside_diameter"]) / 2),
        }
    filling.given |= {f"coupling.{name}": text for name, text in example.items()}
    filling.example |= {f"coupling.{name}" for name in example}
    for group in ("", ".hubs", ".hubs.motor", ".hubs.actuator", ".hubs.motor.screws", ".hubs.actuator.screws"):
        filling.given[f"coupling{group}"] = ""


def _group(group: type[Any], path: str, pad: str, filling: _Filling, *, off: bool) -> Iterator[str]:
    for shape in shapes(group):
        here = f"{path}.{shape.name}" if path else shape.name
        if here == _MOTOR_SEAT:
            continue
        given = not off and (here in filling.given or (shape.kind == "group" and shape.default is not None))
        sign = "" if given else "#"
        if not path:
            yield ""
        if (group, shape.name) not in filling.explained:
            yield from _comment(shape.describe.doc + _takes(shape), pad)
        filling.explained.add((group, shape.name))
        if shape.group is None:
            mark = f"  # {MARK}" if here in filling.example else ""
            yield f"{pad}{sign}{shape.name}: {_value(shape, here, filling)}{mark}"
            continue
        yield f"{pad}{sign}{shape.name}:"
        inner = f"{pad}  "
        if shape.kind == "groups":
            yield f"{inner}{sign}- # one entry; repeat it for each"
            inner += "  "
        yield from _group(shape.group, here, inner, filling, off=not given)


def _value(shape: Shape, path: str, filling: _Filling) -> str:
    text = filling.given.get(path) or filling.hints.get(path) or shape.describe.example
    if text is not None:
        return text
    if isinstance(shape.default, tuple):
        return f"[{', '.join(_quoted(str(item)) for item in shape.default)}]"
    return f"{shape.default:g}" if isinstance(shape.default, (int, float)) else _quoted(str(shape.default))


def _takes(shape: Shape) -> str:
    parts = [shape.unit] if shape.unit else []
    if shape.describe.choices:
        parts.append(f"{'any' if shape.kind == 'texts' else 'one'} of: {', '.join(shape.describe.choices)}")
    if shape.required:
        parts.append("needed")
    elif shape.default not in (None, ()) and shape.group is None:
        parts.append(f"default {shown(shape)}")
    return f" ({'; '.join(parts)})" if parts else ""


def _found(measurement: Any, step_name: str) -> Iterator[str]:
    yield from _comment(f"Found in {_clean(step_name)} (file unit {_clean(measurement.file_unit)}):", "")
    if measurement.bodies:
        bodies = ", ".join(f"{_clean(body.name)} ({body.role})" for body in measurement.bodies[:12])
        more = len(measurement.bodies) - 12
        yield from _comment(f"bodies: {bodies}" + (f" and {more} more" if more > 0 else ""), "", "  ")
    if not measurement.ends:
        yield from _comment("no adapter end was found", "", "  ")
    for end in measurement.ends:
        yield from _comment(f"{end.role} end: {_describe_end(end)}", "", "  ")
    for warning in measurement.warnings:
        yield from _comment(f"warning: {_clean(warning)}", "", "  ")
    unsettled = getattr(measurement, "unsettled", None)
    if unsettled is not None and unsettled.job_group:
        yield from _comment("the machine in it, as a group for the job of its adapter:", "", "  ")
        yield from (f"#     {_clean(line)}".rstrip() for line in unsettled.job_group.splitlines())


def _describe_end(end: Any) -> str:
    parts = [f"seat at station {_number(end.seat)}"]
    parts.append(
        "no pilot bore"
        if end.pilot is None
        else f"pilot bore {_number(end.pilot.diameter)} mm, {_number(end.pilot.depth)} mm deep"
    )
    for bolts in end.bolts:
        size = " x ".join(_number(value) for value in bolts.size)
        where = f" on a {bolts.layout} of {size} mm" if size else " in no regular pattern"
        parts.append(f"{bolts.count} holes of {_number(bolts.hole)} mm{where}")
    closest = _closest(end)
    if closest is not None:
        parts.append(f"closest standard frame {closest[0].name}, within {_number(closest[1])} mm")
    if end.shaft is None:
        parts.append("no shaft in the file")
    else:
        flat = "" if end.shaft.flat is None else " with a flat"
        keyseat = "" if end.shaft.keyseat is None else " with a keyseat"
        parts.append(
            f"shaft {_number(end.shaft.diameter)} mm, {_number(end.shaft.length)} mm from the seat{flat}{keyseat} "
            "(used as measured unless the job gives one)"
        )
    return "; ".join(parts)


def _closest(end: Any) -> tuple[Any, float] | None:
    from fitcheck.standards.frames import closest_frame

    pilot = None if end.pilot is None else end.pilot.diameter
    bolts = end.bolts[0] if end.bolts else None
    if pilot is None and bolts is None:
        return None
    found = closest_frame(
        pilot, None if bolts is None else bolts.layout, () if bolts is None else tuple(bolts.size),
        0 if bolts is None else bolts.count,
    )  # fmt: skip
    return found if found is not None and found[1] <= FRAME_WITHIN else None


def _comment(text: str, pad: str, hang: str = "") -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=f"{pad}# {hang}", subsequent_indent=f"{pad}# {hang * 2}", break_long_words=False,
        break_on_hyphens=False,
    )  # fmt: skip


def _clean(text: str) -> str:
    """Text that may stand in a comment: YAML allows no control characters even there."""
    return "".join(character if character.isprintable() else "?" for character in text)


def _quoted(text: str) -> str:
    """A text as a YAML value, in double quotes unless it is plainly a word."""
    text = re.sub("[\x00-\x1f\x7f\ud800-\udfff]", "?", text)
    plain = re.fullmatch(r"[A-Za-z][A-Za-z0-9_./ *-]*", text) and text == text.strip()
    if plain and text not in ("true", "false", "null"):
        return text
    quoted = json.dumps(text, ensure_ascii=False)
    return "".join(letter if letter.isprintable() else f"\\U{ord(letter):08x}" for letter in quoted)


def _number(value: float) -> str:
    return f"{round(value, 3) + 0.0:.10g}"
