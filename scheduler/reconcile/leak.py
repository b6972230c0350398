"""Overnight test without watering: how much is lost in a day, and behind which shut valve.

Each step shuts one place and leaves everything before it open, so that a step sees all that is lost
upstream of what was shut. What a step sees more than the one before is lost in between.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from scheduler.errors import Fault
from scheduler.reconcile.chances import normal_quantile
from scheduler.reconcile.meters import Meter, Reading, reading_uncertainty, volumes_between
from scheduler.reconcile.refused import ReadingError, finite_fault, positive_fault, refuse, share_fault

__all__ = ["LeakReport", "LeakSegment", "LeakStep", "find_leak"]

Shut = Literal["bed valves", "garden tap", "other bed valves", "timer"]
_ORDER: tuple[Shut, ...] = ("garden tap", "timer", "bed valves", "other bed valves")
_MINUTES_A_DAY = 1440.0


@dataclass(frozen=True, slots=True)
class LeakStep:
    """Two readings with one place shut and everything before it open.

    Attributes
    ----------
    shut : str
        ``garden tap``; ``timer``; ``bed valves`` with the timer open; ``other bed valves`` with the timer
        and one bed open.
    before, after : Reading
        The meter at the start and at the end.
    bed : str
        The open bed, with ``other bed valves``.
    expected_flow, expected_uncertainty : float
        That bed's baseline and its standard uncertainty [L/h].
    """

    shut: Shut
    before: Reading
    after: Reading
    bed: str = ""
    expected_flow: float = 0.0
    expected_uncertainty: float = 0.0


@dataclass(frozen=True, slots=True)
class LeakSegment:
    """Loss in one stretch of the way of the water.

    Attributes
    ----------
    where : str
        The stretch.
    loss, uncertainty : float
        Loss and its standard uncertainty [L/d].
    limit, detectable : float
        Loss beyond which it is called, and loss that is found with the report's power [L/d].
    verdict : str
        ``leak``, ``none seen``, or ``disturbed`` if less is lost than upstream of it, so that something else
        ran in the earlier step.
    """

    where: str
    loss: float
    uncertainty: float
    limit: float
    detectable: float
    verdict: Literal["disturbed", "leak", "none seen"]


@dataclass(frozen=True, slots=True)
class LeakReport:
    """A whole test.

    Attributes
    ----------
    first_look : str
        Where most is lost; empty if no leak was seen.
    may_under_read_below : float
        Losses below this pass the meter so slowly that it may count too little of them [L/d].
    confidence, power : float
        A tight garden shows no leak anywhere with this confidence; power of the detectable losses.
    caveats : tuple of str
        What the test cannot tell.
    """

    segments: tuple[LeakSegment, ...]
    first_look: str
    may_under_read_below: float
    confidence: float
    power: float
    caveats: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Seen:
    """What a step sees [L/d], and the weight of each reading in it [1/d]."""

    step: LeakStep
    per_day: float
    weights: dict[Reading, float]


def find_leak(
    steps: Sequence[LeakStep],
    meter: Meter,
    *,
    meter_at: Literal["garden", "house"],
    house_variation: float = 0.0,
    confidence: float = 0.95,
    power: float = 0.95,
) -> LeakReport:
    """Return where water is lost, and how much.

    Parameters
    ----------
    steps : sequence of LeakStep
        In any order; one for each place, and one for each bed tested.
    meter_at : str
        ``house`` if the meter counts the house's water too; ``garden`` if it stands behind the garden tap.
    house_variation : float
        Standard uncertainty of what the house draws in a step [L/d].

    Returns
    -------
    LeakReport
        Losses can only add, so each is tested to one side; with several stretches each gets its part of the
        false-alarm share. Two steps may share a reading: its error is then counted in both.

    Raises
    ------
    ReadingError
        No steps, a place shut twice, a bed without a name or expected flow, readings that `volumes_between`
        refuses; all at once.
    """
    volumes, faults = _volumes(steps, meter)
    faults += _step_faults(steps, meter_at)
    faults += finite_fault("house variation", house_variation, wanted="write litres a day, or 0")
    faults += share_fault("confidence", confidence, wanted="write a share, e.g. 0.95")
    faults += share_fault("power", power, wanted="write a share, e.g. 0.95")
    refuse("leak test", faults)
    seen = sorted(
        (_seen(step, *volume) for step, volume in zip(steps, volumes, strict=True)),
        key=lambda s: _ORDER.index(s.step.shut),
    )
    # The differences hang together, so the share is split by Bonferroni, which needs no independence.
    each = (1.0 - confidence) / len(seen)
    house = house_variation if meter_at == "house" else 0.0
    segments = []
    for n, this in enumerate(seen):
        # Beds lie side by side, so each of them is compared with the last step before the beds.
        upstream = [s for s in seen[:n] if s.step.shut != "other bed valves"]
        last = upstream[-1] if upstream else None
        uncertainty = _uncertainty(this, last, reading_uncertainty(meter), house)
        where = _where(this.step, last.step.shut if last else None, meter_at)
        segments.append(_segment(where, this, last, uncertainty, each, power))
    leaks = [segment for segment in segments if segment.verdict == "leak"]
    return LeakReport(
        segments=tuple(segments),
        first_look=max(leaks, key=lambda s: s.loss).where if leaks else "",
        may_under_read_below=meter.low_flow_limit * _MINUTES_A_DAY / 60.0,
        confidence=confidence,
        power=power,
        caveats=_caveats(seen, meter_at),
    )


def _volumes(steps: Sequence[LeakStep], meter: Meter) -> tuple[list[tuple[float, float]], list[Fault]]:
    """Return litres and minutes of each step, and what is wrong with the readings."""
    volumes: list[tuple[float, float]] = []
    faults: list[Fault] = []
    for n, step in enumerate(steps, 1):
        try:
            (volume,) = volumes_between((step.before, step.after), meter)
        except ReadingError as error:
            faults += [Fault(f"step {n}, {f.where}".rstrip(", "), f.found, f.wanted) for f in error.faults]
        else:
            volumes.append((volume.volume, volume.minutes))
    return volumes, faults


def _step_faults(steps: Sequence[LeakStep], meter_at: str) -> list[Fault]:
    faults = [] if steps else [Fault("", "found no step", "shut the timer, and read the meter twice")]
    places = [(step.shut, step.bed) for step in steps]
    for n, step in enumerate(steps, 1):
        where = f"step {n}"
        if places.index((step.shut, step.bed)) < n - 1:
            faults.append(Fault(where, f"{step.shut} were shut before", "give one step for each place"))
        if step.shut == "garden tap" and meter_at == "garden":
            faults.append(Fault(where, "the meter stands behind the shut tap", "shut the timer instead"))
        if step.shut != "other bed valves":
            continue
        if not step.bed:
            faults.append(Fault(where, "the open bed has no name", "name the bed"))
        faults += positive_fault(
            f"{where} > expected flow", step.expected_flow, wanted="give the bed's baseline"
        )
        faults += positive_fault(
            f"{where} > expected uncertainty", step.expected_uncertainty, wanted="give that of the baseline"
        )
    return faults


def _seen(step: LeakStep, volume: float, minutes: float) -> _Seen:
    per_day = _MINUTES_A_DAY / minutes
    expected = step.expected_flow * _MINUTES_A_DAY / 60.0
    return _Seen(step, volume * per_day - expected, {step.after: per_day, step.before: -per_day})


def _uncertainty(this: _Seen, last: _Seen | None, of_reading: float, house: float) -> float:
    """Return the standard uncertainty of the difference of two steps [L/d], reading by reading."""
    weights: defaultdict[Reading, float] = defaultdict(float)
    for seen, sign in ((this, 1.0), (last, -1.0)):
        for reading, weight in seen.weights.items() if seen else ():
            weights[reading] += sign * weight
    from_readings = of_reading * math.sqrt(sum(weight**2 for weight in weights.values()))
    from_bed = this.step.expected_uncertainty * _MINUTES_A_DAY / 60.0
    return math.hypot(from_readings, from_bed, house * math.sqrt(2.0 if last else 1.0))


def _segment(
    where: str, this: _Seen, last: _Seen | None, uncertainty: float, each: float, power: float
) -> LeakSegment:
    loss = this.per_day - (last.per_day if last else 0.0)
    limit = normal_quantile(1.0 - each) * uncertainty
    return LeakSegment(
        where=where,
        loss=loss,
        uncertainty=uncertainty,
        limit=limit,
        detectable=limit + normal_quantile(power) * uncertainty,
        verdict="leak" if loss > limit else "disturbed" if loss < -limit else "none seen",
    )


def _where(step: LeakStep, upstream: Shut | None, meter_at: str) -> str:
    """Return the stretch between the place shut in the step before and the one shut now."""
    begins = upstream or ("house and garden tap" if meter_at == "house" else "meter")
    if step.shut == "garden tap":
        return "the house"
    if step.shut == "other bed valves":
        return f'bed "{step.bed}"' if upstream == "bed valves" else f'{begins} to the end of bed "{step.bed}"'
    return f"{begins} to {step.shut}"


def _caveats(seen: Sequence[_Seen], meter_at: str) -> tuple[str, ...]:
    caveats = ["A slow leak may pass the meter uncounted; no leak seen is not the same as tight."]
    if meter_at == "house":
        caveats.append("Water that the house used during a step, even one flush, counts as a leak there.")
        if all(s.step.shut != "garden tap" for s in seen):
            caveats.append(
                "Without a step with the garden tap shut, a loss in the house cannot be told apart."
            )
    if any(s.step.shut == "other bed valves" for s in seen):
        caveats.append("In an open bed, a leak is what it gives beyond its baseline.")
    return tuple(caveats)
