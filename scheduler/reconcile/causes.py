"""What may be behind a change of flow, in the order in which to look. The order is judgement, no source.

What is quick to look at and fits the size of the change comes first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.reconcile.bed_flow import FlowCheck

__all__ = ["YOUNG_BASELINE", "Cause", "all_beds_down", "all_beds_up", "bed_down", "bed_up", "same_amount_up"]

#: Up to this loss some blocked emitters are likelier than a half-shut valve.
_SMALL_LOSS = -0.3
#: From this rise on, an open end is likelier than a split.
_LARGE_RISE = 0.5


@dataclass(frozen=True, slots=True)
class Cause:
    """One possible cause: what it is, and what to look at to tell."""

    name: str
    look: str


_SHUT = Cause("valve not fully open", "Look at the bed's hand valve: is it all the way open?")
_KINK = Cause("kinked or squeezed line", "Follow the line from the valve to the bed and feel for a kink.")
_OPEN_END = Cause(
    "open end or fitting off", "Walk the bed while it runs: is every fitting on and end closed?"
)
_SPLIT = Cause("split or cut line", "Look for a wet spot or a spray along the line while the bed runs.")
_OTHER_VALVE = Cause("another bed was open too", "See that all other hand valves were shut, and test again.")
_FILTER = Cause("filter filling up", "Shut the tap, rinse the filter, and test one bed again.")
_TAP = Cause(
    "less water at the tap", "See that the tap is fully open and the house uses no water; test again."
)
_LOW_REGULATOR = Cause(
    "regulator sticking low", "Measure the pressure behind the regulator while a bed runs."
)
_MAIN = Cause("main line squeezed or leaking", "Walk the main line from the tap to the first valve.")
_HIGH_REGULATOR = Cause(
    "regulator no longer holding", "Measure the pressure behind the regulator while a bed runs."
)
_REGULATOR_FIT = Cause(
    "regulator left out or changed", "See which regulator is on the tap, and which way it points."
)
_HOUSE = Cause("house used water during the tests", "Test again at a quiet hour with all taps shut.")
_MAIN_LEAK = Cause(
    "leak between meter and beds", "Shut all bed valves with the timer open and watch the meter."
)
#: For a relaid bed that shows no change by itself while the others changed alike.
YOUNG_BASELINE = Cause(
    "its baseline is younger than the change of the others",
    "Mend first what all have in common; then log the bed as relaid again, so that its baseline begins anew.",
)


def bed_down(check: FlowCheck, *, change: float) -> tuple[Cause, ...]:
    """Return causes for one bed that gives less than the others; `change` is its own change as a share."""
    if change < _SMALL_LOSS:
        return _SHUT, _KINK, _clog(check)
    return _clog(check), _KINK, _SHUT


def _clog(check: FlowCheck) -> Cause:
    low, high = check.blocked.low, check.blocked.high
    span = f"about {check.blocked.estimate:.0f} of {check.emitters}, between {low:.0f} and {high:.0f}"
    return Cause(
        "blocked emitters", f"Look for dry spots under the emitters; the missing flow is that of {span}."
    )


def bed_up(check: FlowCheck, *, change: float, others: Sequence[FlowCheck]) -> tuple[Cause, ...]:
    """Return causes for one bed that gives more than the others.

    If what is too much is the flow of another bed, that bed's open valve comes first.
    """
    excess = change * check.baseline
    like_another = any(abs(excess - other.baseline) <= check.limit_flow for other in others)
    order = (_OPEN_END, _SPLIT) if change >= _LARGE_RISE else (_SPLIT, _OPEN_END)
    return (_OTHER_VALVE, *order) if like_another else (*order, _OTHER_VALVE)


def all_beds_down() -> tuple[Cause, ...]:
    """Return causes for all beds giving less by the same share."""
    return _FILTER, _TAP, _LOW_REGULATOR, _MAIN


def all_beds_up() -> tuple[Cause, ...]:
    """Return causes for all beds giving more by the same share."""
    return _HIGH_REGULATOR, _REGULATOR_FIT, _HOUSE, _MAIN_LEAK


def same_amount_up() -> tuple[Cause, ...]:
    """Return causes for all beds giving more by the same flow: water that passes none of their emitters."""
    return _HOUSE, _MAIN_LEAK, _HIGH_REGULATOR
