"""Torsional resonance of the drive: two inertias, chains, damping, and distance from bandwidth and stepper band."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import pi, sqrt

from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import above_zero, at_least_zero


@dataclass(frozen=True, kw_only=True)
class TwoInertia:
    """Frequencies of motor and load on one spring, Hz: resonance, and anti-resonance seen from the motor."""

    resonance: float
    anti_resonance: float


def two_inertia(motor_inertia: float, driven_inertia: float, stiffness: float) -> TwoInertia:
    """Resonance and anti-resonance: f_r = sqrt(k (J1 + J2)/(J1 J2))/2 pi, f_a = sqrt(k/J2)/2 pi.

    Args:
        motor_inertia: J1, rotor and the coupling's motor half, kg·m².
        driven_inertia: J2, all behind the coupling's spring, kg·m².
        stiffness: of coupling and stubs in series, N·m/rad.

    Returns:
        Hz.

    Raises:
        UsageError: an input is not greater than 0.

    Source: closed form (computed); opentorsion 0.3.2, test_shaft, has the same (package). Holds while screw and
    carriage move as one: for long screws use `chain`.
    """
    above_zero(motor_inertia=motor_inertia, driven_inertia=driven_inertia, stiffness=stiffness)
    total = (motor_inertia + driven_inertia) / (motor_inertia * driven_inertia)
    return TwoInertia(
        resonance=sqrt(stiffness * total) / (2.0 * pi), anti_resonance=sqrt(stiffness / driven_inertia) / (2.0 * pi)
    )


@dataclass(frozen=True, kw_only=True)
class Mode:
    """One way in which the chain oscillates.

    Attributes:
        frequency: Hz.
        shape: amplitude of each inertia, the greatest one is 1 in size.
        damping: damping ratio D (1 is critical), from the springs' own damping.
        amplification: 1/(2 D), infinite without damping.
    """

    frequency: float
    shape: tuple[float, ...]
    damping: float
    amplification: float


def chain(
    inertias: Sequence[float], stiffnesses: Sequence[float], relative_damping: Sequence[float] | None = None
) -> tuple[Mode, ...]:
    """Torsional modes of inertias in a row with springs between them, free at both ends.

    The symmetric eigenvalue problem of M^-1/2 K M^-1/2. Damping of a mode is D = sum(share_i psi_i)/(4 pi), psi the
    share of the strain energy that a spring loses in an oscillation.

    Args:
        inertias: kg·m², two or more, from the motor on, all seen from one shaft (J/i² behind a ratio i).
        stiffnesses: N·m/rad, one fewer than the inertias, seen from the same shaft.
        relative_damping: psi of each spring as DIN 740-2 has it, 0 for metal (0.02 or so in fact), about 0.6 to 1.2
            for elastomers (memory); None for no damping.

    Returns:
        The modes from the lowest frequency, without the free turning of the whole.

    Raises:
        UsageError: the numbers do not match, or one is out of its range.

    Source: computed; Friswell et al., Dynamics of Rotating Machinery, by opentorsion's tests (package). The damping is
    DIN 740-2's psi/(4 pi) (memory), weighted by energy (computed): for D below about 0.2; `damped.damped_chain` has no
    such limit.
    """
    import numpy as np

    check_chain(inertias, stiffnesses, relative_damping)
    losses = np.zeros(len(stiffnesses)) if relative_damping is None else np.asarray(relative_damping, dtype=float)
    count = len(inertias)
    springs = np.asarray(stiffnesses, dtype=float)
    matrix = np.zeros((count, count))
    for number, value in enumerate(springs):
        matrix[number : number + 2, number : number + 2] += value * np.array([[1.0, -1.0], [-1.0, 1.0]])
    root = 1.0 / np.sqrt(np.asarray(inertias, dtype=float))
    values, vectors = np.linalg.eigh(matrix * root[:, None] * root[None, :])
    modes = []
    for value, vector in list(zip(values, vectors.T, strict=True))[1:]:
        turns = vector * root
        energies = springs * np.diff(turns) ** 2
        shares = energies / energies.sum()
        damping = float(shares @ losses) / (4.0 * pi)
        modes.append(
            Mode(
                frequency=float(np.sqrt(value)) / (2.0 * pi),
                shape=tuple(float(turn) for turn in turns / turns[np.argmax(np.abs(turns))]),
                damping=damping,
                amplification=1.0 / (2.0 * damping) if damping > 0.0 else float("inf"),
            )
        )
    return tuple(modes)


def chain_anti_resonances(inertias: Sequence[float], stiffnesses: Sequence[float]) -> tuple[float, ...]:
    """Frequencies at which the chain holds the motor still: those of the chain with the first inertia clamped.

    Args:
        inertias: kg·m², as for `chain`.
        stiffnesses: N·m/rad, as for `chain`.

    Returns:
        Hz, rising, one fewer than the inertias.

    Raises:
        UsageError: as for `chain`.

    Source: computed.
    """
    import numpy as np

    check_chain(inertias, stiffnesses, None)
    springs = [*stiffnesses, 0.0]
    matrix = np.diag([near + far for near, far in pairwise(springs)])
    for number, value in enumerate(stiffnesses[1:]):
        matrix[number, number + 1] = matrix[number + 1, number] = -value
    root = 1.0 / np.sqrt(np.asarray(inertias[1:], dtype=float))
    values = np.linalg.eigvalsh(matrix * root[:, None] * root[None, :])
    return tuple(float(np.sqrt(value)) / (2.0 * pi) for value in values)


def damping_ratio(relative_damping: float) -> float:
    """Damping ratio D of a spring that loses the share psi of its energy in an oscillation: D = psi/(4 pi).

    Args:
        relative_damping: psi, at least 0.

    Returns:
        D; holds for D below about 0.2.

    Raises:
        UsageError: psi is negative.

    Source: DIN 740-2 (memory); follows from the energy of a light viscous damper (computed).
    """
    at_least_zero(relative_damping=relative_damping)
    return relative_damping / (4.0 * pi)


def stepper_resonance(holding_torque: float, rotor_teeth: float, inertia: float) -> float:
    """Natural frequency of a stepper's rotor in its magnetic field: f = sqrt(N T_h/J)/(2 pi).

    Args:
        holding_torque: N·m at the current used.
        rotor_teeth: N; 50 for 1.8 degrees a full step.
        inertia: rotor and everything that turns with it, kg·m².

    Returns:
        Hz. The motor resonates where its step rate is this, or this over 2, 3, ...

    Raises:
        UsageError: an input is not greater than 0.

    Source: linearised torque T = T_h sin(N theta) (memory; follows from the sine, computed).
    """
    above_zero(holding_torque=holding_torque, rotor_teeth=rotor_teeth, inertia=inertia)
    return sqrt(rotor_teeth * holding_torque / inertia) / (2.0 * pi)


def bandwidth_margin(frequency: float, bandwidth: float) -> float:
    """Resonance over the controller's bandwidth; 2 to 5 are asked for by common practice, no source.

    Raises:
        UsageError: an input is not greater than 0.

    Source: definition (computed).
    """
    above_zero(frequency=frequency, bandwidth=bandwidth)
    return frequency / bandwidth


def band_distance(frequency: float, low: float, high: float) -> float:
    """How far a frequency is from a band, as a ratio of at least 1; below 1 inside the band.

    Args:
        frequency: Hz.
        low: lower end of the band, Hz.
        high: upper end, Hz.

    Returns:
        low/f below the band, f/high above it; inside, the greater of both (below 1).

    Raises:
        UsageError: an input is not greater than 0, or the band is the wrong way round.

    Source: definition (computed).
    """
    above_zero(frequency=frequency, low=low, high=high)
    if low > high:
        raise UsageError(f"a band from {low:g} to {high:g} Hz is the wrong way round")
    return max(low / frequency, frequency / high)


def check_chain(
    inertias: Sequence[float], stiffnesses: Sequence[float], relative_damping: Sequence[float] | None
) -> None:
    """Check that the numbers make a chain.

    Raises:
        UsageError: they do not match, or one is out of its range; the message says which.

    Source: definition (computed).
    """
    if len(inertias) < 2 or len(stiffnesses) != len(inertias) - 1:
        raise UsageError(
            f"a chain needs two inertias or more and one spring between each two; found {len(inertias)} inertias and "
            f"{len(stiffnesses)} springs"
        )
    above_zero(**{f"inertia_{number}": value for number, value in enumerate(inertias, start=1)})
    above_zero(**{f"stiffness_{number}": value for number, value in enumerate(stiffnesses, start=1)})
    if relative_damping is not None:
        if len(relative_damping) != len(stiffnesses):
            raise UsageError(
                f"each spring needs its damping; found {len(relative_damping)} for {len(stiffnesses)} springs"
            )
        at_least_zero(**{f"damping_{number}": value for number, value in enumerate(relative_damping, start=1)})
