"""Tolerances of sizes, for clearances and engagement as made."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.job.fields import at_least_zero, described


@dataclass(frozen=True, kw_only=True)
class SizeTolerances:
    """How far sizes may be off to either side; fits, run-outs and play come from tables where the job names them."""

    adapter_length: float = at_least_zero("Seat to seat, plus and minus.", default=0.0, example="0.1")
    chamber_diameter: float = at_least_zero("Diameter of the chamber, plus and minus.", default=0.0, example="0.1")
    motor_shaft: float = at_least_zero("Length of the motor's shaft, plus and minus.", default=0.0, example="0.2")
    actuator_shaft: float = at_least_zero("Length of the actuator's shaft, plus and minus.", default=0.0, example="0.2")
    coupling_length: float = at_least_zero("Length of the coupling, plus and minus.", default=0.0, example="0.3")
    coupling_diameter: float = at_least_zero(
        "Outside diameter of the coupling, plus and minus.", default=0.0, example="0.1"
    )
    place: float = at_least_zero(
        "How closely the coupling is set along the axis, plus and minus.", default=0.2, report_default=True
    )
    judge: str = described(
        "Which number has to meet the limit: as drawn (with require.orbit and require.gap_loss taken off), or with "
        "these tolerances as worst case or as root sum square (in place of those two).",
        default="as drawn", choices=("as drawn", "worst case", "root sum square"), report_default=True,
    )  # fmt: skip
    trials: int = described(
        "Assemblies to try with random sizes (Monte Carlo); 0 for none.", default=0, least=0, most=1000000
    )
    seed: int = described("Seed of the random sizes; the same seed gives the same answer.", default=1, least=0)
