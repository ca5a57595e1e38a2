"""What the rules of the job's groups yield."""

from __future__ import annotations

from typing import NamedTuple


class Complaint(NamedTuple):
    """What cannot be: the dotted path of the value to blame, and what was found and is needed."""

    path: str
    message: str
