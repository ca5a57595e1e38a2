"""The starting job file: it loads, it names every key, and a switched-off key needs nothing but its '#' removed."""

import re
from dataclasses import replace

import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.job import job_template, parse_job
from fitcheck.job.model import MARK, Job
from fitcheck.job.shape import walk
from fitcheck.measurement.model import AxisLine, Body, BoltPattern, End, Flat, Measurement, Pilot, Shaft

EMPTY = Measurement(
    file="a.step", sha256="", file_unit="mm", bodies=(), drive_axis=None, ends=(), coaxiality=None, free_radius=None,
    cylinders=(),
)  # fmt: skip
PILOT = Pilot(diameter=38.11, depth=2.0, origin=(0.0, 0.0, 0.0), direction=(0.0, 0.0, 1.0))
SQUARE = BoltPattern(layout="square", size=(47.14,), count=4, hole=5.2)
MOTOR = End(
    role="motor", seat=0.0, pilot=PILOT, bolts=(SQUARE,),
    shaft=Shaft(
        diameter=6.35, length=20.6, end=20.6, full_from=1.6, full_to=20.1,
        flat=Flat(length=15.0, height=5.9, start=5.6, stop=20.6),
    ),
)  # fmt: skip
ACTUATOR = End(role="actuator", seat=52.0)
FOUND = replace(
    EMPTY,
    bodies=(Body(name="Bracket 1", role="adapter", volume=1.0), Body(name="motor", role="motor", volume=1.0)),
    drive_axis=AxisLine(origin=(10.0, 0.0, 0.0), direction=(0.0, 0.0, 1.0), across=(1.0, 0.0, 0.0)),
    ends=(MOTOR, ACTUATOR),
    warnings=("the actuator end has no pilot bore",),
)


def switched_on(text: str) -> str:
    return re.sub(r"^( *)#(?=[a-z_]+:|- )", r"\1", text, flags=re.MULTILINE)


def paths(value, path=""):
    if isinstance(value, dict):
        for key, item in value.items():
            yield f"{path}{key}"
            yield from paths(item, f"{path}{key}.")
    elif isinstance(value, list):
        for item in value:
            if isinstance(item, dict):
                yield from paths(item, f"{path.rstrip('.')}[].")


def test_loads_as_it_stands():
    for measurement in (EMPTY, FOUND):
        result = parse_job(job_template(measurement, "a.step"), "a.fit.yaml", "")
        assert result.job.step == "a.step"
        assert result.job.motor.shaft is None  # the file's own shaft counts, now and when the file changes
        assert result.job.coupling.hubs.motor.screws


def test_bores_are_the_measured_shafts():
    hubs = parse_job(job_template(FOUND, "a.step"), None, "").job.coupling.hubs
    assert (hubs.motor.bore, hubs.actuator.bore) == (6.35, 8.0)


def test_every_key_appears():
    text = switched_on(job_template(FOUND, "a.step"))
    wanted = {path for path, _ in walk(Job)} - {"motor.seat"}
    assert set(paths(yaml.safe_load(text))) == wanted


def test_every_key_is_explained():
    text = " ".join(re.sub(r"\n *# ", " ", job_template(EMPTY, "a.step")).split())
    for path, shape in walk(Job):
        assert " ".join(shape.describe.doc.split()) in text, path


def test_with_everything_switched_on_it_loads():
    for measurement in (EMPTY, FOUND):
        text = switched_on(job_template(measurement, "a.step"))
        result = parse_job(text, "a.fit.yaml", "")
        assert result.defaults == ()  # every key is given
        assert result.job.actuator.seat == 52.0


def test_what_was_measured_is_told():
    text = job_template(FOUND, "a.step")
    head = " ".join(re.sub(r"\n# *", " ", text.partition("\n\n")[0]).split())
    for part in (
        "Found in a.step (file unit mm):",
        "bodies: Bracket 1 (adapter), motor (motor)",
        "motor end: seat at station 0; pilot bore 38.11 mm, 2 mm deep; 4 holes of 5.2 mm on a square of 47.14 mm; "
        "closest standard frame NEMA 23, within 0.01 mm; shaft 6.35 mm, 20.6 mm from the seat with a flat",
        "actuator end: seat at station 52; no pilot bore; no shaft in the file",
        "warning: the actuator end has no pilot bore",
    ):
        assert part in head
    shaft = parse_job(switched_on(text), None, "").job.motor.shaft
    assert shaft is not None
    assert (shaft.diameter, shaft.length, shaft.full_from, shaft.chamfer) == (6.35, 20.6, 1.6, 0.5)
    assert shaft.flat is not None
    assert (shaft.flat.length, shaft.flat.height) == (15.0, 5.9)
    assert "#near: [10, 0, 52]" in text


def test_a_far_frame_is_not_named():
    odd = replace(SQUARE, size=(52.0,))
    text = job_template(replace(FOUND, ends=(replace(MOTOR, bolts=(odd,)), ACTUATOR)), "a.step")
    assert "closest standard frame" not in text


def test_made_up_numbers_are_marked_and_nothing_else_is():
    text = job_template(FOUND, "a.step")
    for row in text.splitlines():
        key = re.match(r" *([a-z_]+): \S", row)
        assert key is None or (key[1] == "step") != (f"# {MARK}" in row)


def test_lines_are_short():
    assert max(len(row) for row in job_template(FOUND, "a.step").splitlines()) <= 100


@given(name=st.text(min_size=1).filter(str.strip), body=st.text(), warning=st.text())
@settings(max_examples=60, deadline=None)
def test_any_names_load(name, body, warning):
    bodies = (Body(name=body, role="adapter", volume=1.0), Body(name=body, role="odd", volume=1.0))
    text = job_template(replace(FOUND, bodies=bodies, warnings=(warning,)), name)
    expected = re.sub("[\x00-\x1f\x7f]", "?", name)  # what YAML cannot hold
    assert parse_job(text, None, "").job.step == expected
    assert parse_job(switched_on(text), None, "").job.step == expected


@given(
    motor=st.floats(0.5, 150.0), actuator=st.floats(0.5, 150.0),
    layout=st.sampled_from(["circle", "square", "irregular"]), size=st.floats(1.0, 300.0),
)  # fmt: skip
@settings(max_examples=40, deadline=None)
def test_any_shafts_and_patterns_load(motor, actuator, layout, size):
    bolts = BoltPattern(layout=layout, size=() if layout == "irregular" else (size,), count=4, hole=5.0)
    ends = tuple(
        End(
            role="unknown", seat=seat, bolts=(bolts,),
            shaft=Shaft(diameter=diameter, length=20.0, end=end, full_from=seat, full_to=end),
        )
        for seat, end, diameter in ((0.0, 20.0, motor), (52.0, 32.0, actuator))
    )  # fmt: skip
    job = parse_job(job_template(replace(FOUND, ends=ends), "a.step"), None, "").job
    if 1.0 <= motor <= 100.0:
        assert abs(job.coupling.hubs.motor.bore - motor) <= 0.0005
