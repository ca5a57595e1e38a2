"""How far measurements are from the truth: `python tests/benchmarks/accuracy.py [-n PLACES] [--seed SEED]`.

The Z drive's adapter of the sample assemblies, whose dimensions are written in its generator, is put at random places
(any rotation, up to 10 m away) as analytic faces, with its cylinders split into sectors, and with all faces as
B-splines. Printed is the greatest deviation of every dimension that is measured, over all places.
"""

from __future__ import annotations

import argparse
import random
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import cadquery as cq

import fitcheck
from fitcheck.measurement.model import Measurement
from parametric_models.adapters import Holes, Housing, Seat, housing
from parametric_models.adapters.features import round_window
from parametric_models.faces import as_bsplines, moved, split_cylinders, write_step

FAR = 10_000.0

ADAPTER = Housing(
    length=58.0, size=60.0, chamber_diameter=36.0, edge_chamfer=2.0, actuator_offset=(0.0, 0.1),
    motor=Seat(
        pilot_diameter=38.13, pilot_depth=2.2, pilot_chamfer=0.3, opening_diameter=34.0, opening_length=3.0,
        holes=(Holes(layout="square", size=(47.14,), diameter=4.2, depth=14.0),),
    ),
    actuator=Seat(
        pilot_diameter=36.03, pilot_depth=2.6, pilot_chamfer=0.3, opening_diameter=30.0, opening_length=3.0,
        holes=(Holes(layout="circle", size=(50.0,), diameter=3.3, depth=8.0, start_angle=45.0),),
    ),
    windows=(round_window(14.0, 12.0, offset=9.0), round_window(44.0, 12.0, offset=9.0)),
)  # fmt: skip

FACES: dict[str, Callable[[cq.Shape], cq.Shape]] = {
    "analytic": lambda shape: shape,
    "split into 5 sectors": lambda shape: split_cylinders(shape, 5),
    "B-splines": as_bsplines,
}


def deviations(found: Measurement) -> Iterator[tuple[str, float]]:
    """Name and deviation, mm or degrees, of everything that the generator's dimensions tell."""
    ends = sorted(found.ends, key=lambda end: -1.0 if end.pilot is None else -end.pilot.diameter)
    if len(ends) != 2 or any(end.pilot is None for end in ends):
        raise SystemExit(f"{found.file}: {len(ends)} ends with pilots found, expected 2")
    for end, truth in zip(ends, (ADAPTER.motor, ADAPTER.actuator), strict=True):
        assert end.pilot is not None
        yield "pilot diameter, mm", end.pilot.diameter - truth.pilot_diameter
        yield "pilot depth, mm", end.pilot.depth - truth.pilot_depth
        pattern = min(end.bolts, key=lambda bolts, hole=truth.holes[0].diameter: abs(bolts.hole - hole))
        yield "hole diameter, mm", pattern.hole - truth.holes[0].diameter
        circle = truth.holes[0].size[0] * (2**0.5 if truth.holes[0].layout == "square" else 1.0)
        yield "bolt circle, mm", (pattern.bolt_circle or 0.0) - circle
    yield "distance of the seats, mm", abs(ends[1].seat - ends[0].seat) - ADAPTER.length
    assert found.coaxiality is not None
    yield "pilot to pilot offset, mm", found.coaxiality.offset - ADAPTER.actuator_offset[1]
    yield "pilot to pilot tilt, deg", found.coaxiality.tilt


def free_radius(found: Measurement) -> float:
    """Measured less true least free radius where the actuator's end is bored concentric, mm: above 0 is optimistic."""
    assert found.free_radius is not None
    assert ADAPTER.actuator.opening_diameter is not None
    return found.free_radius.least - ADAPTER.actuator.opening_diameter / 2


def somewhere(shape: cq.Shape, dice: random.Random) -> cq.Shape:
    """The shape at a random place."""
    axis = tuple(dice.gauss(0.0, 1.0) for _ in range(3))
    place = tuple(dice.uniform(-FAR, FAR) / 3**0.5 for _ in range(3))
    return moved(shape, place, axis, dice.uniform(0.0, 360.0))  # type: ignore[arg-type]


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Print the greatest deviations of measured dimensions.")
    parser.add_argument("-n", "--places", type=int, default=20, help="random places for each kind of faces")
    parser.add_argument("--seed", type=int, default=1, help="seed of the places")
    args = parser.parse_args()
    shifted, straight = housing(ADAPTER), housing(replace(ADAPTER, actuator_offset=(0.0, 0.0)))
    with tempfile.TemporaryDirectory() as folder:
        for name, dress in FACES.items():
            dice = random.Random(args.seed)
            worst: dict[str, float] = {}
            radii: list[float] = []
            for index in range(args.places):
                for kind, shape in (("shifted", shifted), ("straight", straight)):
                    path = Path(folder) / f"{kind}-{index}.step"
                    write_step(path, somewhere(dress(shape), dice))
                    found = fitcheck.measure(path)
                    if kind == "straight":
                        radii.append(free_radius(found))
                        continue
                    for what, off in deviations(found):
                        worst[what] = max(worst.get(what, 0.0), abs(off))
            print(f"{name}, {args.places} places")
            for what, off in worst.items():
                print(f"  {what:28} {off:.2e}")
            print(f"  {'least free radius, mm':28} {min(radii):+.2e} to {max(radii):+.2e} (above 0: optimistic)")


if __name__ == "__main__":
    main()
