"""The problems of one job file, collected so that they are reported together."""

from __future__ import annotations

from dataclasses import dataclass, field

from fitcheck.errors import JobError

MOST_SHOWN = 40
"""Problems beyond this many are counted, not shown."""


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong: a message, and the 1-based line to blame or None."""

    line: int | None
    message: str


@dataclass
class Problems:
    """Collects problems by dotted path and turns them into one JobError.

    Attributes:
        file: the job file as the user named it, or None for a job made in code.
        lines: 1-based line of every key given, by dotted path.
        found: the problems so far.
    """

    file: str | None
    lines: dict[str, int]
    found: list[Problem] = field(default_factory=list)

    def add(self, path: str, message: str) -> None:
        """A problem with the value at a dotted path; the message is put after the path."""
        self.found.append(Problem(self.line_of(path), f"{path}: {message}" if path else message))

    def told(self, path: str) -> bool:
        """Whether a problem in the line of this path was found before; it then counts as one of this path, too."""
        line = self.line_of(path)
        before = next((problem for problem in self.found if problem.line == line), None)
        if before is not None:
            self.found.append(before)
        return before is not None

    def line_of(self, path: str) -> int | None:
        """The line of the path, or of the nearest group around it that the file has."""
        while path:
            if path in self.lines:
                return self.lines[path]
            path = path.rpartition(".")[0]
        return min(self.lines.values(), default=None)

    def check(self) -> None:
        """Ends the reading where anything was found.

        Raises:
            JobError: one problem a line, sorted by line, each with file and line.
        """
        if not self.found:
            return
        ordered = sorted(dict.fromkeys(self.found), key=lambda problem: (problem.line is None, problem.line or 0))
        first, rest = ordered[0], ordered[1:MOST_SHOWN]
        texts = [first.message]
        # JobError itself adds the place of the first problem
        texts += [str(JobError(problem.message, self.file, problem.line)) for problem in rest]
        if len(ordered) > MOST_SHOWN:
            texts.append(f"and {len(ordered) - MOST_SHOWN} more problems")
        raise JobError("\n".join(texts), self.file, first.line)
