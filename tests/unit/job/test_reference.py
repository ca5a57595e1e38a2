"""The reference of all keys names every one of them under the groups where it stands."""

from dataclasses import fields

from fitcheck.job import job_reference
from fitcheck.job.model import Hub, Job, Screw
from fitcheck.job.shape import walk


def test_every_key_has_its_row():
    text = job_reference()
    for path, shape in walk(Job):
        group = path.rpartition(".")[0]
        heading = next(
            row for row in text.splitlines()
            if row.startswith("### ") and (f"`{group}`" in row if group else row == "### The job")
        )  # fmt: skip
        section = text.split(f"{heading}\n")[1].split("###")[0]
        row = next(row for row in section.splitlines() if row.startswith(f"| `{shape.name}` |"))
        assert shape.describe.doc in row
        assert ("(needed)" in row) == shape.required
        assert row.count(" | ") == 4
        if shape.unit:
            assert f"| {shape.unit} |" in row


def test_groups_that_stand_in_several_places_have_one_table():
    text = job_reference()
    assert "### `coupling.hubs.motor`, `coupling.hubs.actuator`\n" in text
    assert "### `coupling.hubs.motor.screws[]`, `coupling.hubs.actuator.screws[]`\n" in text
    for group in (Hub, Screw):
        name = fields(group)[0].name
        assert text.count(f"| `{name}` | {fields(group)[0].metadata['describe'].doc}") == 1
