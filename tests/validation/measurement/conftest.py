from __future__ import annotations

from dataclasses import replace

import cadquery as cq
import pytest

from parametric_models.adapters import Holes, Housing, Seat, housing

MOTOR = Seat(
    pilot_diameter=38.1, pilot_depth=2.5, opening_diameter=30.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0),),
)  # fmt: skip
ACTUATOR = Seat(
    pilot_diameter=34.0, pilot_depth=3.5, opening_diameter=26.0, opening_length=4.0,
    holes=(Holes(layout="circle", size=(46.0,), diameter=3.3, depth=8.0, count=6),),
)  # fmt: skip
HOUSING = Housing(length=60.0, size=62.0, chamber_diameter=36.0, motor=MOTOR, actuator=ACTUATOR)


class Bench:
    """Adapters made of one plain housing: seats at 0 and 60, chamber of radius 18 from station 5.5 to 52.5."""

    parameters = HOUSING
    motor = MOTOR
    actuator = ACTUATOR

    @staticmethod
    def housing(**changes):
        return housing(replace(HOUSING, **changes))

    @staticmethod
    def with_material(*shapes, **changes):
        """The housing with material added in its chamber; what is added must touch the wall."""
        return _one(Bench.housing(**changes).fuse(*shapes).clean())

    @staticmethod
    def without(*shapes, **changes):
        """The housing with material cut away."""
        return _one(Bench.housing(**changes).cut(*shapes).clean())

    @staticmethod
    def largest(shape):
        """The largest solid of a shape: loose bits apart."""
        return max(shape.Solids(), key=lambda solid: solid.Volume())

    @staticmethod
    def assembly(bodies, name="drive"):
        made = cq.Assembly(name=name)
        for part, body in bodies.items():
            made.add(body, name=part)
        return made


def _one(shape):
    (solid,) = shape.Solids()
    return solid


@pytest.fixture(scope="session")
def bench():
    return Bench
