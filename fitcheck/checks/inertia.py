"""`inertia`: the inertia behind the coupling against the motor's."""

from __future__ import annotations

from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare
from fitcheck.checks.sides import Missing
from fitcheck.checks.work_units import open_question, three
from fitcheck.checks.working import ratings_of, working_of
from fitcheck.mechanics.demand import inertia_ratio

CHECK = "inertia"
NO_ROTOR = Missing(reason="the motor's inertia is not given", supply="give drive.motor.inertia")


def check(drive: Drive) -> tuple[Finding, ...]:
    """The ratio J_load/J_motor, half of the coupling's inertia on either side."""
    working = working_of(drive)
    if isinstance(working, Missing):
        return (open_question(CHECK, "ratio", working, required=drive.job.drive is not None),)
    if working.motor_inertia is None:
        return (open_question(CHECK, "ratio", NO_ROTOR, required=True),)
    driven, rotor = working.axis.inertia, working.motor_inertia
    value, limit = inertia_ratio(driven, rotor), working.data.asked.inertia_ratio
    coupling = ratings_of(drive).inertia
    less = f"{working.less_travel}, or a gear" if working.data.axis_kind == "screw" else f"or {working.less_travel}"
    words = f"half of the coupling's {coupling:.3g} kg·m² in each" if coupling else "the coupling's inertia not given"
    return (
        compare(
            check=CHECK, subject="ratio", value=value, limit=limit, unit="ratio", at_least=False,
            path="drive.asked.inertia_ratio",
            message=f"behind the coupling {driven:.3g} kg·m², at the motor {rotor:.3g} kg·m² ({words}): ratio "
            f"{three(value)}; at most {three(limit)} (common practice, no source)",
            remedy=f"a motor with an inertia of at least {driven / limit:.3g} kg·m², {less}",
        ),
    )  # fmt: skip
