"""Torsional modes with damping of any size, free or held in a stepper's field: the chain in state space."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, pi, sqrt
from typing import TYPE_CHECKING

from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import above_zero, at_least_zero
from fitcheck.mechanics.dynamics import check_chain

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

RISES = 8
"""Steps in which the damping is raised to its full size, so that a mode is not mistaken for its neighbour."""

ROUNDS = 40
"""Steps, at most, in which a mode's frequency and its dampers settle; each changes it by about D² of the last one."""


@dataclass(frozen=True, kw_only=True)
class DampedMode:
    """One way in which the chain dies away.

    Attributes:
        natural: size of the eigenvalue, Hz; the frequency without damping, as near as makes no difference.
        frequency: of the dying oscillation, Hz: natural times sqrt(1 - D²).
        damping: damping ratio D (1 is critical).
        amplification: of the coupling's torque at resonance, sqrt(1 + 1/(4 D²)); infinite without damping.
    """

    natural: float
    frequency: float
    damping: float
    amplification: float


def damped_chain(
    inertias: Sequence[float], stiffnesses: Sequence[float], relative_damping: Sequence[float], held: float = 0.0
) -> tuple[DampedMode, ...]:
    """Torsional modes of inertias in a row with damped springs between them.

    The twists of the springs are the unknowns, so that the free turning of the whole drops out: with G = B' M^-1 B,
    twists q hold q'' = -G (k q + c q'). A spring that loses the share psi of its strain energy in an oscillation is a
    damper of c = psi k/(2 pi w) at the frequency w of the mode looked at, which is found by repetition.

    Args:
        inertias: kg·m², from the motor on, as for `dynamics.chain`.
        stiffnesses: N·m/rad, one fewer than the inertias.
        relative_damping: psi of each spring, at least 0.
        held: stiffness that holds the first inertia to the frame (`magnetic_stiffness`), N·m/rad; 0 for none.

    Returns:
        The modes from the lowest natural frequency on: one for each spring, the held one among them.

    Raises:
        UsageError: the numbers do not match, one is out of its range, or the damping is so heavy that a mode does not
            oscillate.

    Source: computed; complex eigenvalues. psi by DIN 740-2, with the amplification sqrt(1 + (2 pi/psi)²) (memory).
    """
    import numpy as np

    check_chain(inertias, stiffnesses, relative_damping)
    at_least_zero(held=held)
    springs, losses = np.asarray(stiffnesses, dtype=float), np.asarray(relative_damping, dtype=float)
    joins = np.zeros((len(inertias), len(springs)))
    for number in range(len(springs)):
        joins[number, number], joins[number + 1, number] = -1.0, 1.0
    if held > 0.0:
        first = np.zeros((len(inertias), 1))
        first[0] = 1.0
        joins = np.hstack([first, joins])
        springs, losses = np.insert(springs, 0, held), np.insert(losses, 0, 0.0)
    twisting = joins.T @ (joins / np.asarray(inertias, dtype=float)[:, None])
    free = np.sqrt(np.sort(np.linalg.eigvals(twisting * springs[None, :]).real))
    return tuple(_mode(twisting, springs, losses, float(start)) for start in free)


def _mode(twisting: Floats, springs: Floats, losses: Floats, start: float) -> DampedMode:
    """The mode that starts from this frequency without damping, its dampers set for its own frequency."""
    value = complex(0.0, start)
    for rise in range(1, RISES + 1):
        share = rise / RISES
        for _ in range(ROUNDS):
            before = value
            value = _nearest(twisting, springs, share * losses * springs / (2.0 * pi * abs(value)), value)
            if abs(value - before) <= 1e-12 * abs(value):
                break
    damping = max(0.0, -value.real / abs(value))
    if damping < 1e-9:
        damping = 0.0
    return DampedMode(
        natural=abs(value) / (2.0 * pi),
        frequency=value.imag / (2.0 * pi),
        damping=damping,
        amplification=sqrt(1.0 + 0.25 / damping**2) if damping > 0.0 else inf,
    )


def _nearest(twisting: Floats, springs: Floats, dampers: Floats, value: complex) -> complex:
    """The eigenvalue of an oscillation that lies nearest; other modes may be overdamped by the dampers of this one."""
    import numpy as np

    count = len(springs)
    state = np.zeros((2 * count, 2 * count))
    state[:count, count:] = np.eye(count)
    state[count:, :count] = -twisting * springs[None, :]
    state[count:, count:] = -twisting * dampers[None, :]
    found = [complex(one) for one in np.linalg.eigvals(state) if one.imag > 0.0]
    if not found:
        raise UsageError("the damping is so heavy that a mode does not oscillate; give a smaller relative damping")
    return min(found, key=lambda one: abs(one - value))


def magnetic_stiffness(holding_torque: float, rotor_teeth: float) -> float:
    """Stiffness with which a stepper's field holds its rotor: k = N T_h, for small angles.

    Args:
        holding_torque: T_h at the current used, N·m.
        rotor_teeth: N, as from `rotor_teeth_of`.

    Returns:
        N·m/rad.

    Raises:
        UsageError: an input is not greater than 0.

    Source: slope of T = T_h sin(N theta) at rest (memory of the sine; slope computed).
    """
    above_zero(holding_torque=holding_torque, rotor_teeth=rotor_teeth)
    return rotor_teeth * holding_torque


def rotor_teeth_of(steps: float, phases: float) -> float:
    """Teeth (or pole pairs) of a stepper's rotor: full steps in a turn over twice the phases.

    Args:
        steps: full steps in a turn, 200 for 1.8 degrees.
        phases: 2, 3 or 5.

    Returns:
        N; 50 for 200 steps of two phases, for 500 of five.

    Raises:
        UsageError: an input is not greater than 0.

    Source: step angle 360/(2 m N) of hybrid steppers (memory).
    """
    above_zero(steps=steps, phases=phases)
    return steps / (2.0 * phases)
