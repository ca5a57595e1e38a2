"""The errors that fitcheck raises on purpose; each knows the exit code that it ends a command with."""

from __future__ import annotations


class FitcheckError(Exception):
    """Root of all errors that carry a message for the user."""

    exit_code = 3


class UsageError(FitcheckError, ValueError):
    """The command or the function was called wrongly."""

    exit_code = 2


class JobError(FitcheckError, ValueError):
    """A job file is wrong.

    Args:
        message: what was found, what was needed, what to do.
        file: the job file, as the user named it.
        line: 1-based line of the job file, or None where no line is to blame.
    """

    exit_code = 2

    def __init__(self, message: str, file: str | None = None, line: int | None = None) -> None:
        self.message = message
        self.file = file
        self.line = line
        place = "" if file is None else f"{file}: " if line is None else f"{file}:{line}: "
        super().__init__(f"{place}{message}")


class StepFileError(FitcheckError, OSError):
    """A STEP file could not be read.

    Args:
        message: what was found, what was needed, what to do.
        file: the STEP file, as the user named it.

    Attributes:
        lasting: the same content with the same options will be refused again.
        from_cache: an earlier run found it.
    """

    lasting = False
    from_cache = False

    def __init__(self, message: str, file: str) -> None:
        self.message = message
        self.file = file
        super().__init__(f"{file}: {message}")

    def __str__(self) -> str:
        return f"{self.file}: {self.message}"


class MeasureError(StepFileError):
    """A STEP file was read, and what the job needs could not be measured in it."""

    lasting = True


class FaultError(Exception):
    """A fault of fitcheck itself in another of its processes; the message names its kind."""


class TableError(FitcheckError, LookupError):
    """A look-up in a table of standard values found nothing; the message lists what there is."""

    exit_code = 2
