"""The functions that a run is made of, behind one object, so that tests can put others in their place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fitcheck.checks.finding import Finding
    from fitcheck.job.model import Job, LoadedJob
    from fitcheck.kernel.client import Kernel
    from fitcheck.measurement.model import Measurement
    from fitcheck.measurement.options import MeasureOptions


_USUAL_TABLES = ("nema_frames", "iec_flanges", "deviations", "tolerance_grades", "cap_screws", "hex_keys")


class Rooms:
    """What each room does for a run."""

    def kernel(self, time_limit: float | None, memory_limit: float | None) -> Kernel:
        """A kernel client; its worker is not started yet.

        Args:
            time_limit: seconds a request; None for the default.
            memory_limit: MB; None for the default.
        """
        from fitcheck.kernel.client import Kernel
        from fitcheck.limits import DEFAULT_MEMORY_LIMIT, DEFAULT_TIME_LIMIT

        return Kernel(time_limit or DEFAULT_TIME_LIMIT, memory_limit or DEFAULT_MEMORY_LIMIT)

    def prepare(self, *, waiting: bool = False) -> None:
        """Import what the run will need; while the workers load the CAD kernel, also what most runs end with."""
        import fitcheck.checks.from_file
        import fitcheck.checks.result
        import fitcheck.checks.run
        import fitcheck.measurement.roles

        if waiting:
            import numpy.ma  # noqa: F401 - `numpy.unique` would load it later

            import fitcheck.checks.ball_end
            import fitcheck.checks.work
            import fitcheck.report.text  # noqa: F401
            from fitcheck.standards.table import table

            for name in _USUAL_TABLES:
                table(name)

    def load(self, path: str) -> LoadedJob:
        """The job of a file."""
        from fitcheck.job.load import load_job

        return load_job(path)

    def options(self, job: Job) -> MeasureOptions:
        """What of the job decides the measurement."""
        from fitcheck.measurement.options import options_for

        return options_for(job)

    def digest(self, path: str) -> str:
        """The content hash of a STEP file."""
        from fitcheck.measurement.precheck import content_hash

        return content_hash(path)

    def measure(self, path: str, options: Any, kernel: Kernel) -> Measurement:
        """The plain measurement of a STEP file, made in the kernel's workers."""
        from fitcheck.measurement.apart import measure_apart

        return measure_apart(path, options, kernel)

    def orient(self, measurement: Measurement, job: Job) -> Measurement:
        """The measurement with the motor's end first."""
        from fitcheck.measurement.roles import orient

        return orient(measurement, job)

    def complete(self, loaded: LoadedJob, measurement: Measurement) -> LoadedJob:
        """The job with what it leaves to the STEP file."""
        from fitcheck.checks.from_file import completed

        return completed(loaded, measurement)

    def checks(self, loaded: LoadedJob, measurement: Measurement) -> tuple[Finding, ...]:
        """All findings of a job."""
        from fitcheck.checks.run import run_checks

        return run_checks(loaded, measurement)
