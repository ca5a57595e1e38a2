"""Surfaces without thickness beside solids: reference planes, filled sketches, skins left over from modelling.

Nobody builds them, but they cannot be told from a part that was exported as its skin. So they count as obstacles, which
is the careful side, and the user is told how to leave them out.
"""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.measurement.survey import Survey

MOST_NAMED = 5


def sheets_told(survey: Survey, roles: Sequence[str | None]) -> tuple[str, ...]:
    """Warnings about bodies that are surfaces alone in a file that holds solids too, in words for the user.

    Args:
        survey: the file.
        roles: the role of each body; what is ignored or the coupling's is no obstacle.
    """
    bodies = [body for body in survey.bodies if roles[body.index] not in ("coupling", "ignored")]
    sheets = [body.name for body in bodies if not body.solid]
    if not sheets or len(sheets) == len(bodies):
        return ()
    named = ", ".join(f"'{name}'" for name in sheets[:MOST_NAMED])
    more = f" and {len(sheets) - MOST_NAMED} more" if len(sheets) > MOST_NAMED else ""
    are, count, them = ("is a surface", "counts", "it") if len(sheets) == 1 else ("are surfaces", "count", "them")
    return (
        f"{named}{more} {are} without a solid, and {count} as an obstacle all the same; where nobody builds {them}, "
        f"'bodies: {{ignore: [{named}]}}' in the job leaves {them} out",
    )
