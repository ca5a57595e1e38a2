"""How long the coupling generators take: `python tests/benchmarks/couplings.py [--tries N]`.

Processor time of the envelope and of the detailed bodies of each family, the CAD kernel already loaded, the best of
some tries; and their ratio to the aims: an envelope in 50 ms, a detailed coupling in 1 s.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from typing import Any

from fitcheck.job.model import FAMILIES
from parametric_models.couplings import build

ENVELOPE_AIM, DETAIL_AIM = 0.050, 1.0

VARIANTS: dict[str, dict[str, Any]] = {
    "as it comes": {},
    "heads protrude": {"motor": {"screw_head_end": 15.3}},
    "two-piece clamps": {"fastening": "clamp two-piece"},
    "90 mm": {"outside_diameter": 90.0, "bores": (25.0, 30.0)},
    "helical cut": {"cut": "helical"},
}


def best_of(tries: int, work: Callable[[], Any]) -> float:
    """Seconds of processor time."""
    taken = []
    for _ in range(tries):
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return min(taken)


def main(tries: int) -> None:
    build.detailed(build.coupling("rigid", outside_diameter=30.0, bores=(8.0, 10.0)))
    print(f"{'family':24} {'variant':18} {'envelope ms':>12} {'of aim':>7} {'detailed s':>11} {'of aim':>7}")
    worst = [0.0, 0.0]
    for family in FAMILIES:
        for variant, changes in VARIANTS.items():
            if "cut" in changes and "slit" not in family:
                continue
            coupling = build.coupling(family, **{"outside_diameter": 34.0, "bores": (8.0, 12.0), **changes})
            envelope = best_of(tries, lambda coupling=coupling: build.envelope(coupling))
            detail = best_of(tries, lambda coupling=coupling: build.detailed(coupling))
            shares = envelope / ENVELOPE_AIM, detail / DETAIL_AIM
            worst = [max(pair) for pair in zip(worst, shares, strict=True)]
            print(f"{family:24} {variant:18} {envelope * 1e3:12.1f} {shares[0]:7.2f} {detail:11.2f} {shares[1]:7.2f}")
    print(f"worst: envelope {worst[0]:.2f} of its aim, detailed {worst[1]:.2f} of its aim")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Time the coupling generators.")
    parser.add_argument("--tries", type=int, default=3, help="tries of which the best counts (default: 3)")
    main(parser.parse_args().tries)
