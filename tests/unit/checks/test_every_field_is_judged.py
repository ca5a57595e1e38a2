"""Every field of a measurement is read by a check, or stands here with the reason why none reads it.

What is measured and read by no check goes unjudged, and a drive that cannot work passes. So each class of the
measurement tells who reads its fields while the checks of all sample jobs run; what is left must be in `UNREAD`, and
what is in `UNREAD` must be left.
"""

from __future__ import annotations

import dataclasses
import inspect
import sys
from pathlib import Path

import pytest

from fitcheck.job.load import parse_job
from fitcheck.measurement import model

SAMPLES = Path(__file__).parents[3] / "sample_assemblies"
ROOM = "fitcheck.checks"
"""Reading counts from the modules that judge."""

UNREAD = {
    "Body.box": "tells a reader which body is which",
    "Body.distance": "tells a reader which body is which; how near material comes is judged by the obstacles",
    "Body.touches": "tells a reader which body is which",
    "Body.volume": "tells in the measurement which bodies are the adapter's, and whether a shell is turned right",
    "BoltPattern.bolt_circle": "tells in the measurement which end is the motor's; checks look at the holes' places",
    "BoltPattern.depth": "how long a screw may be is no question of the coupling's",
    "BoltPattern.through": "as BoltPattern.depth",
    "Cylinder.start": "a bore's place across the axis is judged; how far it goes stands among the obstacles",
    "Cylinder.stop": "as Cylinder.start",
    "End.bodies": "which bodies a machine's are; their roles are read",
    "Flat.length": "its two ends are judged",
    "FreeRadius.least": "made of the obstacles' segments, which are judged over the coupling's stations",
    "FreeRadius.profile": "as FreeRadius.least",
    "FreeRadius.station": "as FreeRadius.least",
    "Keyseat.length": "its two ends are judged",
    "MeasuredCoupling.bound": "already in the profile, which is never too small",
    "MeasuredCoupling.stop": "from start by the length, which are both judged",
    "Measurement.candidates": "for the starting file; why there is no axis is in `unsettled`",
    "Measurement.file": "names the file in reports",
    "Measurement.file_unit": "printed with the result; lengths are mm already",
    "Measurement.free_radius": "as FreeRadius.least",
    "Measurement.from_cache": "told in reports alone",
    "Measurement.sha256": "names the content, for the cache",
    "Measurement.warnings": "printed with every result",
    "Opening.length": "a bore without a floor has no depth that a register could miss",
    "Shaft.length": "from seat to end, which are both judged",
    "Shaft.offset": "the distance of `origin` from the drive axis, which is judged",
    "Shaft.tilt": "the angle of `direction`, which is judged",
    "Measurement.windows": "told; what is open to a tool is judged by the obstacles, wherever no wall is",
    "Unsettled.job_group": "a help for writing another job",
    **{
        f"Window.{name}": "as Measurement.windows" for name in ("start", "stop", "angle", "opens", "width", "direction")
    },
}
"""Fields that no check reads, and why that leaves nothing unjudged."""

CLASSES = tuple(
    kind for _, kind in inspect.getmembers(model, inspect.isclass)
    if dataclasses.is_dataclass(kind) and kind.__module__ == model.__name__
)  # fmt: skip
FIELDS = {f"{kind.__name__}.{field.name}" for kind in CLASSES for field in dataclasses.fields(kind)}
HELPERS = ("point", "end", "locator", "axis_frame")
"""Functions of a measurement that read for whom calls them."""


AT_WORK = """\
step: part.step
coupling:
  family: jaw
  outside_diameter: 30
  length: 34
  hubs:
    motor:
      bore: 8
      bore_length: 12
      fastening: key with clamp
      screws: [{size: M3, station: 6, offset: 9, head_end: 10, tightening_torque: 1.5}]
    actuator:
      bore: 8
      bore_length: 12
      fastening: clamp
      screws: [{size: M3, station: 6, offset: 9, head_end: 10, tightening_torque: 1.5}]
drive: {motor: {peak_torque: 1, inertia: 4e-5}}
"""


def _further(build):
    """Drives with what no sample has: a keyed and a flattened shaft, a spigot, an opening, a coupling in the file."""
    made = build.measured
    axis = {"origin": (0.0, 0.0, 0.0), "direction": (0.0, 0.0, 1.0)}
    across = {"origin": (0.0, 0.0, 60.0), "direction": (0.0, 0.0, 1.0)}
    keyed = made.Shaft(
        diameter=8.0, length=24.0, end=24.0, full_from=0.0, full_to=24.0, **axis,
        keyseat=made.Keyseat(width=2.0, depth=1.2, length=14.0, start=24.0, stop=10.0),
    )  # fmt: skip
    flat = made.Shaft(
        diameter=8.0, length=20.0, end=40.0, full_from=60.0, full_to=40.0, **across,
        flat=made.Flat(length=15.0, height=7.2, start=40.0, stop=55.0),
    )  # fmt: skip
    places = tuple((x, y) for x in (-23.57, 23.57) for y in (-23.57, 23.57))
    holes = made.BoltPattern(layout="square", size=(47.14,), count=4, hole=5.0, holes=places)
    motor = build.end(
        "motor", 0.0, shaft=keyed, opening=made.Opening(diameter=38.1, length=9.0, **axis), bolts=(holes,)
    )
    actuator = build.end("actuator", 60.0, shaft=flat, register=made.Register(diameter=50.0, height=5.0, **across))
    apart = made.Coaxiality(offset=0.0, tilt=0.0, features=("opening", "register"))
    coupling = made.MeasuredCoupling(
        bodies=("coupling",), start=15.0, stop=49.0, length=34.0, outside_diameter=30.0, radius=15.0, station=20.0,
        bound=0.0, profile=((15.0, 15.0), (49.0, 15.0)),
        bores=tuple(made.CouplingBore(diameter=8.0, start=s, stop=s + 12.0) for s in (15.0, 37.0)),
    )  # fmt: skip
    taken = build.measurement(ends=(motor, actuator), coaxiality=apart, coupling=coupling)
    hub = {"fastening": "key with clamp", "screws": (build.screw(tightening_torque=1.5),)}
    register = build.jobs.Register(diameter=38.1, height=2.0)
    loaded = build.job(
        motor_hub=hub, actuator_hub={"fastening": "set screw"}, motor={"shaft": None, "register": register},
        actuator={"shaft": None}, numbers_from="step file",
    )  # fmt: skip
    yield loaded, taken
    yield build.replace(loaded, job=build.replace(loaded.job, coupling=build.job().job.coupling)), taken
    yield parse_job(AT_WORK, None, "."), taken
    settled = made.Unsettled(reason="why", remedy="what to do")
    yield build.job(), build.replace(taken, drive_axis=None, unsettled=settled)


@pytest.fixture(scope="module")
def read(kernel, build):
    """The fields that the checks of all samples read."""
    from fitcheck.checks.from_file import completed
    from fitcheck.checks.run import run_checks
    from fitcheck.job.load import load_job
    from fitcheck.measurement.measure import measure_file
    from fitcheck.measurement.options import options_for
    from fitcheck.measurement.roles import orient

    found: set[str] = set()
    names = {kind: {field.name for field in dataclasses.fields(kind)} for kind in CLASSES}

    def watched(kind):
        plain = kind.__getattribute__

        def reading(self, name):
            if name in names[kind]:
                frame = sys._getframe(1)
                # A property is called from the reading of its own name.
                while frame.f_code.co_name in (*HELPERS, "reading"):
                    frame = frame.f_back
                if str(frame.f_globals.get("__name__", "")).startswith(ROOM):
                    found.add(f"{kind.__name__}.{name}")
            return plain(self, name)

        return reading

    work = list(_further(build))
    for path in sorted(SAMPLES.rglob("*.fit.yaml")):
        loaded = load_job(str(path))
        work.append((loaded, measure_file(loaded.step_path, options_for(loaded.job), kernel)))
    with pytest.MonkeyPatch.context() as patch:
        for kind in CLASSES:
            patch.setattr(kind, "__getattribute__", watched(kind))
        for loaded, measurement in work:
            oriented = orient(measurement, loaded.job)
            run_checks(completed(loaded, oriented), oriented)
    return found


def test_every_field_is_read_by_a_check_or_has_a_reason(read):
    unread = FIELDS - read
    assert sorted(unread - set(UNREAD)) == [], "measured, and judged by no check"
    assert sorted(set(UNREAD) - unread) == [], "a check reads these after all"


def test_reasons_are_given():
    assert all(len(reason.split()) > 1 for reason in UNREAD.values())


def test_a_field_that_nothing_reads_would_be_found(read):
    """The watching itself sees what is read and no more: a diameter is, the text of a file's name is not."""
    assert "Shaft.diameter" in read
    assert "Measurement.file" not in read
