"""A bed's flow against its baseline: changed or not, the smallest change that shows, emitters blocked.

Two limits are told apart, after Currie (1968), Analytical Chemistry 40: beyond the *limit* a change is
called, which a sound bed meets with the stated false-alarm share; the *detectable* change is the one that
is called with the stated power. A change between the two is found less often than that.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from scheduler.errors import Fault
from scheduler.reconcile.baseline import Baseline
from scheduler.reconcile.chances import normal_quantile
from scheduler.reconcile.flow_tests import FlowTest
from scheduler.reconcile.refused import finite_fault, positive_fault, refuse, share_fault

__all__ = ["BlockedEmitters", "FlowCheck", "blocked_emitters", "check_flow", "largest_rise"]

Verdict = Literal["higher", "lower", "no change seen"]


@dataclass(frozen=True, slots=True)
class BlockedEmitters:
    """How many whole emitters' flow is missing: best estimate and interval, within 0 and the bed's count."""

    estimate: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class FlowCheck:
    """One bed's flow against its baseline; all shares are of the baseline.

    Attributes
    ----------
    flow, baseline : float
        Measured and expected flow [L/h].
    change, uncertainty : float
        Relative change and its standard uncertainty.
    own, shared : float
        The parts of the uncertainty that the bed has alone and in common with the others.
    limit, detectable : float
        Change beyond which a verdict is given, and change that is found with `power`.
    limit_flow, detectable_flow : float
        The same [L/h].
    detectable_emitters : int or None
        Fewest blocked emitters that are found with `power`; None if even all of them would not be.
    notes : tuple of str
        What weakens the comparison.
    """

    bed: str
    verdict: Verdict
    flow: float
    baseline: float
    change: float
    uncertainty: float
    own: float
    shared: float
    confidence: float
    power: float
    limit: float
    limit_flow: float
    detectable: float
    detectable_flow: float
    detectable_emitters: int | None
    emitters: int
    blocked: BlockedEmitters
    notes: tuple[str, ...]


def largest_rise(pressure: float, *, supply_pressure: float, exponent: float) -> float:
    """Return the most by which the flow of open emitters can rise when others are blocked, as a share.

    Less flow loses less pressure on the way, and no emitter can see more than the supply's: pressures
    [kPa] in the discharge equation q = q_n (p / p_n) ** x. 0 for an ideal compensating emitter.

    Raises
    ------
    ReadingError
        A pressure that is no number or zero, a supply below the bed's pressure, an exponent outside 0..1.
    """
    faults = [
        *positive_fault("pressure", pressure, wanted="write the pressure at the emitters"),
        *positive_fault("supply pressure", supply_pressure, wanted="write the regulator's pressure"),
        *finite_fault("exponent", exponent, wanted="write the emitter's exponent, 0 to 1"),
    ]
    if not faults and supply_pressure < pressure:
        faults.append(Fault("supply pressure", "is below the bed's", "it cannot be; check both"))
    if not faults and exponent > 1.0:
        faults.append(Fault("exponent", f"{exponent!r} is above 1", "write the emitter's exponent, 0 to 1"))
    refuse("rise of open emitters", faults)
    return float((supply_pressure / pressure) ** exponent - 1.0)


def blocked_emitters(
    change: float, uncertainty: float, *, emitters: int, confidence: float, rise: float = 0.0
) -> BlockedEmitters:
    """Return how many emitters' worth of flow is missing.

    Each emitter carries 1 / `emitters` of the baseline. The estimate leaves out that the open ones then
    give a little more; the upper end allows for a rise of up to the share `rise`.

    Parameters
    ----------
    change, uncertainty : float
        Relative change of the bed's flow and its standard uncertainty.
    """
    spread = normal_quantile(0.5 + confidence / 2.0) * uncertainty

    def count(share_flowing: float) -> float:
        return emitters * min(1.0, max(0.0, 1.0 - share_flowing))

    flowing = 1.0 + change
    return BlockedEmitters(
        count(flowing), count(flowing + spread), count(max(0.0, flowing - spread) / (1.0 + rise))
    )


def check_flow(
    test: FlowTest,
    baseline: Baseline,
    *,
    emitters: int,
    confidence: float = 0.95,
    power: float = 0.95,
    rise: float = 0.0,
) -> FlowCheck:
    """Return a bed's measured flow against its baseline.

    The uncertainty is that of a sound bed: the test, the baseline and the day's variation in quadrature.
    The test is two-sided; a sound bed is called changed with the probability 1 - `confidence`. A
    meter's constant error cancels against a baseline by the same meter, not against the printed flow.

    Raises
    ------
    ReadingError
        Bed and baseline of different beds, a flow or uncertainty that is no number, no emitters,
        `confidence` or `power` that is no share.
    """
    refuse("flow of a bed", _faults(test, baseline, emitters, confidence, power, rise))
    change = test.flow / baseline.flow - 1.0
    own, shared, uncertainty = _uncertainties(test, baseline)
    limit = normal_quantile(0.5 + confidence / 2.0) * uncertainty
    detectable = limit + normal_quantile(power) * uncertainty
    # The hair keeps a whole number whole.
    fewest = math.ceil(detectable * emitters - 1e-9)
    return FlowCheck(
        bed=test.bed,
        verdict="lower" if change < -limit else "higher" if change > limit else "no change seen",
        flow=test.flow,
        baseline=baseline.flow,
        change=change,
        uncertainty=uncertainty,
        own=own,
        shared=shared,
        confidence=confidence,
        power=power,
        limit=limit,
        limit_flow=limit * baseline.flow,
        detectable=detectable,
        detectable_flow=detectable * baseline.flow,
        detectable_emitters=fewest if fewest <= emitters else None,
        emitters=emitters,
        blocked=blocked_emitters(change, uncertainty, emitters=emitters, confidence=confidence, rise=rise),
        notes=_notes(test, baseline),
    )


def _uncertainties(test: FlowTest, baseline: Baseline) -> tuple[float, float, float]:
    """Return the bed's own part, the shared part and the whole, as shares of the baseline."""
    own = math.hypot(test.uncertainty, baseline.own) / baseline.flow
    shared = math.hypot(baseline.shared / baseline.flow, baseline.day_variation)
    whole = math.hypot(own, shared)
    if baseline.method == "print":
        # Beds may or may not be off the print alike. When beds are compared it counts on both sides, so that
        # neither test is misled; in the whole it counts once.
        own = math.hypot(own, baseline.shared / baseline.flow)
    return own, shared, whole


def _faults(
    test: FlowTest, baseline: Baseline, emitters: int, confidence: float, power: float, rise: float
) -> list[Fault]:
    where = f'bed "{test.bed}"'
    faults = [
        *finite_fault(f"{where} > flow", test.flow, wanted="write the measured flow"),
        *positive_fault(f"{where} > uncertainty", test.uncertainty, wanted="give its standard uncertainty"),
        *positive_fault(
            f"{where} > baseline", baseline.flow, wanted="make a baseline from tests or the print"
        ),
        *positive_fault(f"{where} > emitters", emitters, wanted="count the emitters"),
        *share_fault("confidence", confidence, wanted="write a share, e.g. 0.95"),
        *share_fault("power", power, wanted="write a share, e.g. 0.95"),
        *finite_fault("rise of open emitters", rise, wanted="write a share, or 0 to leave it out"),
    ]
    if not faults and power < 0.5:
        faults.append(
            Fault("power", f"{power!r} is below 0.5", "a change found less often is not detectable")
        )
    if test.bed != baseline.bed:
        wanted = "compare a bed with its own baseline"
        faults.append(Fault(where, f'the baseline is that of bed "{baseline.bed}"', wanted))
    return faults


def _notes(test: FlowTest, baseline: Baseline) -> tuple[str, ...]:
    """Return what a gardener should know before trusting the comparison."""
    notes = []
    if test.may_under_read:
        notes.append("The flow is so low that the meter may under-read; a bucket test would tell.")
    if baseline.method == "print":
        notes.append("Compared with the printed flow, not with this bed's own tests.")
    elif test.method != baseline.method:
        notes.append(f"Measured by {test.method}, but the baseline by {baseline.method}.")
    if baseline.scatter_beyond_stated:
        notes.append("The first tests scatter more than their stated uncertainty explains.")
    return tuple(notes)
