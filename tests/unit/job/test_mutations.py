"""Whatever is done to a job file, reading it ends in a job or in a JobError that names the file, never otherwise."""

import contextlib
import math
from collections.abc import Callable
from dataclasses import fields, is_dataclass

from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.errors import JobError
from fitcheck.job import load_job, loaded, parse_job
from fitcheck.job.model import Coupling, Hub, Hubs, Job, LoadedJob, Machine, Screw

VALUES = st.one_of(
    st.sampled_from(
        [
            "", "~", "true", "yes", "0", "-1", "1e400", "1e-400", ".nan", "-.inf", "0x1F", "1_000", "1:30", "&a 1",
            "!!str 1", "!x", "[]", "{}", "[1, 2, 3]", "{a: 1}", "'", '"', "|", ">-", "- 1", "? x", "---", "...",
            "@", "`", "*a",
            "%", "12 mm", "3 in", "4 N", "\t1", "<<: 1", '"\\U7fffffff"', '"\\ud800"', "9" * 5000, "0" * 50, "h6", "H7",
            "NEMA 99", "M5", "set screw", "[[[[", "jaw", "2001-12-14", "\u2028", "\ufeff",
        ]
    ),
    st.floats().map(str),
    st.text(max_size=12),
)  # fmt: skip


def job_or_error(read: Callable[[], LoadedJob]) -> LoadedJob | JobError:
    try:
        return read()
    except JobError as error:
        return error


def outcome(file, data: bytes) -> None:
    file.write_bytes(data)
    found = job_or_error(lambda: load_job(file))
    if isinstance(found, JobError):
        assert str(found).startswith(str(file))
        assert found.line is None or 1 <= found.line <= data.count(b"\n") + 40  # other line ends count for YAML too
        assert str(found).encode()  # can be printed
    else:
        assert_finite(found.job)


def assert_finite(value) -> None:
    if is_dataclass(value):
        for item in fields(value):
            assert_finite(getattr(value, item.name))
    elif isinstance(value, tuple):
        for item in value:
            assert_finite(item)
    else:
        assert not isinstance(value, float) or math.isfinite(value)


def test_mutated_files(tmp_path_factory, full):
    file = tmp_path_factory.mktemp("mutations") / "z.fit.yaml"
    rows = full.splitlines(keepends=True)

    @given(data=st.data())
    @settings(max_examples=400, deadline=None)
    def bytes_flipped(data):
        text = bytearray(full.encode())
        for _ in range(data.draw(st.integers(1, 4))):
            text[data.draw(st.integers(0, len(text) - 1))] = data.draw(st.integers(0, 255))
        outcome(file, bytes(text))

    @given(
        dropped=st.sets(st.integers(0, len(rows) - 1), max_size=12), doubled=st.sets(st.integers(0, len(rows) - 1)),
        cut=st.integers(0, len(full)),
    )  # fmt: skip
    @settings(max_examples=150, deadline=None)
    def lines_dropped_and_doubled(dropped, doubled, cut):
        kept = [row * (2 if number in doubled else 1) for number, row in enumerate(rows) if number not in dropped]
        outcome(file, "".join(kept).encode())
        outcome(file, full[:cut].encode())

    @given(row=st.integers(0, len(rows) - 1), value=VALUES)
    @settings(max_examples=400, deadline=None)
    def values_replaced(row, value):
        key = rows[row].partition(":")[0]
        outcome(file, "".join([*rows[:row], f"{key}: {value}\n", *rows[row + 1 :]]).encode("utf-8", "surrogatepass"))

    bytes_flipped()
    lines_dropped_and_doubled()
    values_replaced()


@given(text=st.text(alphabet=st.sampled_from("ab:-[]{}#&*!|>'\"%@?,. \n\t0123456789~<")))
@settings(max_examples=300, deadline=None)
def test_any_text(text):
    with contextlib.suppress(JobError):
        parse_job(text, None, "")


ANYTHING = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8), st.binary(max_size=3),
    st.lists(st.floats(), max_size=3), st.dictionaries(st.text(max_size=3), st.integers(), max_size=2),
    st.just(10**400), st.just(object()), st.complex_numbers(max_magnitude=3),
)  # fmt: skip


@given(value=ANYTHING, place=st.integers(0, 6))
@settings(max_examples=200, deadline=None)
def test_any_value_in_a_job_made_in_code(value, place):
    def at(number, sound):
        return value if place == number else sound

    screw = Screw(size=at(0, "M3"), station=at(1, 4.5), offset=6.0)
    hub = Hub(bore=at(2, 8.0), bore_length=12.0, screws=at(3, (screw,)))
    coupling = Coupling(family="jaw", outside_diameter=at(4, 30.0), length=42.0, hubs=Hubs(motor=hub, actuator=hub))
    job = Job(step="a.step", motor=at(5, Machine()), coupling=at(6, coupling))
    found = job_or_error(lambda: loaded(job, "a.step"))
    assert found.message if isinstance(found, JobError) else found.step_path == "a.step"
    if isinstance(found, LoadedJob):
        assert_finite(found.job)
