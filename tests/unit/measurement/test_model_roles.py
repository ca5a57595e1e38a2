"""Roles in the printed measurement are the contract's; a body that is left out is marked."""

from fitcheck.measurement.model import Body, Measurement


def test_an_ignored_body_is_an_other_one_and_marked():
    measurement = Measurement(
        file="a.step", sha256="0", file_unit="mm", drive_axis=None, ends=(), coaxiality=None, free_radius=None,
        cylinders=(),
        bodies=(Body(name="bolt", role="ignored", volume=1.0), Body(name="plate", role="adapter", volume=2.0)),
    )  # fmt: skip
    bolt, plate = measurement.to_dict()["bodies"]
    assert bolt == {"name": "bolt", "role": "other", "volume": 1.0, "ignored": True}
    assert plate == {"name": "plate", "role": "adapter", "volume": 2.0}
