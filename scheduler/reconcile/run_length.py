"""How long a tabular CUSUM of a normal variable runs: average run length, and share of seasons with an alarm.

Everything is in standard deviations of one test. The one-sided sum C = max(0, C + x - k) is a Markov
chain with an atom at zero and a density up to h; its integral equation (Page 1954, Biometrika 41) is
solved at Gauss-Legendre nodes (Goel and Wu 1971, Technometrics 13; Vance 1986, J. Quality Technology 18).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy import special

from scheduler.errors import Fault
from scheduler.reconcile.refused import finite_fault, positive_fault, refuse

__all__ = ["alarm_share", "average_run_length", "setting_faults", "siegmund_run_length"]

#: Nodes in each standard deviation of h, and at the least: enough for eight digits.
_NODES_EACH, _FEWEST_NODES = 3, 20
#: Nodes over the error of a baseline: enough for two digits of the share.
_BASELINE_NODES = 25
#: Longer runs than this are given as infinite.
_LONGEST = 1e12
#: Excess over the boundary of a normal random walk, on both boundaries together (Siegmund 1985).
_EXCESS = 1.166


def average_run_length(k: float, h: float, *, shift: float = 0.0, sides: int = 2) -> float:
    """Return the mean number of tests until an alarm, from sums at zero.

    Parameters
    ----------
    k, h : float
        Allowance and decision limit [standard deviations].
    shift : float
        True mean [standard deviations].
    sides : int
        1 for the upper sum alone; 2 for both, by 1 / L = 1 / L_up + 1 / L_down (Van Dobben de Bruyn 1968).

    Returns
    -------
    float
        Infinite beyond 1e12 tests, where rounding would be most of it.

    Raises
    ------
    ReadingError
        k or h that is no number, h of zero, a shift that is no number, or sides other than 1 and 2.
    """
    refuse("run length", [*setting_faults(k, h), *_shift_fault(shift), *_sides_fault(sides)])
    upper = _one_sided(k, h, shift)
    return upper if sides == 1 else _first_of(upper, _one_sided(k, h, -shift))


def siegmund_run_length(k: float, h: float, *, shift: float = 0.0, sides: int = 2) -> float:
    """Return the same by Siegmund's closed approximation (1985, Sequential Analysis).

    (exp(-2 D b) + 2 D b - 1) / (2 D**2), D = shift - k, b = h + 1.166; b**2 for D = 0.

    Raises
    ------
    ReadingError
        As `average_run_length`.
    """
    refuse("run length", [*setting_faults(k, h), *_shift_fault(shift), *_sides_fault(sides)])

    def one(drift: float) -> float:
        b = h + _EXCESS
        if abs(drift * b) < 1e-5:
            return b * b
        if -2.0 * drift * b > math.log(_LONGEST):
            return math.inf
        return (math.exp(-2.0 * drift * b) + 2.0 * drift * b - 1.0) / (2.0 * drift**2)

    upper = one(shift - k)
    return upper if sides == 1 else _first_of(upper, one(-shift - k))


def alarm_share(
    k: float, h: float, *, tests: int, shift: float = 0.0, baseline_tests: int | None = None
) -> float:
    """Return the probability of at least one alarm of the two-sided CUSUM within a season.

    Parameters
    ----------
    tests : int
        Tests in the season, after those of the baseline.
    baseline_tests : int or None
        Tests that the baseline is the mean of; their error shifts all later tests alike and is averaged
        over. None if the baseline is known.

    Returns
    -------
    float
        The two sums are taken as independent, given the baseline: each alarm of one finds the other near
        zero, so what is counted twice is below the square of the share.

    Raises
    ------
    ReadingError
        Settings as in `average_run_length`, or counts below 1.
    """
    faults = [*setting_faults(k, h), *_shift_fault(shift)]
    faults += positive_fault("tests", tests, wanted="give the tests of a season")
    if baseline_tests is not None:
        faults += positive_fault(
            "baseline tests", baseline_tests, wanted="give the tests of the baseline, or none"
        )
    refuse("run length", faults)
    errors, weights = np.zeros(1), np.ones(1)
    if baseline_tests is not None:
        nodes, raw = np.polynomial.hermite_e.hermegauss(_BASELINE_NODES)
        errors, weights = nodes / math.sqrt(baseline_tests), raw / raw.sum()
    upper = np.array([_survival(k, h, shift + e, tests) for e in errors])
    # The nodes lie evenly about zero, so without a shift the lower sum is the upper one read backwards.
    lower = np.array([_survival(k, h, -shift - e, tests) for e in errors]) if shift else upper[::-1]
    return float(1.0 - weights @ (upper * lower))


def _chain(k: float, h: float, shift: float) -> NDArray[np.float64]:
    """Return the transitions between zero and the nodes within (0, h]; what a row lacks to 1 is the alarm."""
    count = max(_FEWEST_NODES, math.ceil(_NODES_EACH * h))
    nodes, weights = special.roots_legendre(count)
    states = np.concatenate(([0.0], 0.5 * h * (nodes + 1.0)))
    drift = shift - k
    step = states[None, 1:] - states[:, None] - drift
    density = np.exp(-0.5 * step**2) / math.sqrt(2.0 * math.pi) * (0.5 * h * weights)
    to_zero = special.ndtr(-states - drift)
    return np.column_stack([to_zero, density])


def _one_sided(k: float, h: float, shift: float) -> float:
    chain = _chain(k, h, shift)
    size = chain.shape[0]
    try:
        length = float(np.linalg.solve(np.eye(size) - chain, np.ones(size))[0])
    except np.linalg.LinAlgError:
        # To the last digit, no row loses anything to the alarm.
        return math.inf
    return length if 0.0 < length < _LONGEST else math.inf


def _first_of(upper: float, lower: float) -> float:
    """Return the run length until the first of two sums alarms."""
    rate = 1.0 / upper + 1.0 / lower
    return 1.0 / rate if rate else math.inf


def _survival(k: float, h: float, shift: float, tests: int) -> float:
    """Return the probability that the upper sum, from zero, passes `tests` tests without an alarm."""
    chain = _chain(k, h, shift)
    quiet = np.ones(chain.shape[0])
    for _ in range(tests):
        quiet = chain @ quiet
    return float(quiet[0])


def setting_faults(k: float, h: float) -> list[Fault]:
    """Return what is wrong with allowance and decision limit."""
    return [
        *finite_fault("k", k, wanted="write half the shift to be found, in standard deviations, e.g. 0.5"),
        *positive_fault("h", h, wanted="write the decision limit in standard deviations, e.g. 5"),
    ]


def _shift_fault(shift: float) -> list[Fault]:
    return [] if math.isfinite(shift) else [Fault("shift", f"{shift!r} is not a number", "write it, e.g. 1")]


def _sides_fault(sides: int) -> list[Fault]:
    return [] if sides in {1, 2} else [Fault("sides", f"{sides!r} of a CUSUM", "write 1 or 2")]
