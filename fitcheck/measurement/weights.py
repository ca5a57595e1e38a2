"""The bodies' volumes, which the kernel's reader takes while what it told of the faces is being looked at.

The sign of a volume tells whether a shell is inside out. Hardly any is, so all are taken to be right until they are
needed; where one is not, its faces are turned and the measuring begins again.
"""

from __future__ import annotations

from array import array
from collections.abc import Callable
from typing import Any

from fitcheck.measurement.survey import Survey


class InsideOutError(Exception):
    """A shell was inside out; its faces have been turned, and what was concluded from them does not hold."""


def weigh(survey: Survey, ask: Callable[[str, dict[str, Any]], tuple[dict[str, Any], list[array[float]]]]) -> None:
    """Fill in the bodies' volumes, mm³, once.

    Args:
        survey: the file.
        ask: asks the kernel worker.

    Raises:
        InsideOutError: faces were turned.
    """
    if survey.weighed:
        return
    answer, _ = ask("taking the bodies' volumes", {"do": "volumes"})
    survey.weighed = True
    turned = set()
    for body, volume in zip(survey.bodies, answer["volumes"], strict=True):
        if volume is not None:
            body.volume = abs(volume)
            if volume < 0.0:
                turned.add(body.index)
    for face in survey.faces:
        if face.body in turned:
            face.out = -face.out
    if turned:
        raise InsideOutError
