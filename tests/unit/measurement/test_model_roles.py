"""Roles in the printed measurement are the contract's; a body that is left out is marked; turned round, all turns."""

from fitcheck.measurement.model import AxisLine, Body, Measurement
from fitcheck.measurement.roles import flipped


def test_an_ignored_body_is_an_other_one_and_marked():
    measurement = Measurement(
        file="a.step", sha256="0", file_unit="mm", drive_axis=None, ends=(), coaxiality=None, free_radius=None,
        cylinders=(),
        bodies=(Body(name="bolt", role="ignored", volume=1.0), Body(name="plate", role="adapter", volume=2.0)),
    )  # fmt: skip
    bolt, plate = measurement.to_dict()["bodies"]
    place = {"box": None, "distance": None, "touches": []}
    assert bolt == {"name": "bolt", "role": "other", "volume": 1.0, "ignored": True, **place}
    assert plate == {"name": "plate", "role": "adapter", "volume": 2.0, **place}


def test_stations_in_warnings_turn_round_with_the_axis():
    told = (
        "the first end at station 0.000 has no pilot bore with a floor; a plain bore of 30.000 mm opens there",
        "nearly a cylinder, but tapered: the bore from station 2.500 to 10.250 is 29.900 to 30.100 mm wide",
        "the file is incomplete",
    )
    measurement = Measurement(
        file="a.step", sha256="0", file_unit="mm", bodies=(), ends=(), coaxiality=None, free_radius=None, cylinders=(),
        drive_axis=AxisLine(origin=(0.0, 0.0, 0.0), direction=(0.0, 0.0, 1.0), across=(1.0, 0.0, 0.0)), warnings=told,
    )  # fmt: skip
    turned = flipped(measurement, 58.0)
    assert turned.warnings == (
        "the second end at station 58.000 has no pilot bore with a floor; a plain bore of 30.000 mm opens there",
        "nearly a cylinder, but tapered: the bore from station 47.750 to 55.500 is 29.900 to 30.100 mm wide",
        "the file is incomplete",
    )
    assert flipped(turned, 58.0).warnings == told
