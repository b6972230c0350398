"""Every remedy against a watering restriction, tried for every bed that it leaves past its limit. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import TypeAlias

from scheduler.season.bed_remedies import (
    deeper_garden,
    deeper_soil,
    least_soil,
    mulch,
    mulched_garden,
    refills,
)
from scheduler.season.order import OrderCase
from scheduler.season.run_remedies import (
    another_day,
    closed_days,
    longer_runs,
    more_hours,
    split_runs,
    weekday_timer,
)
from scheduler.season.trials import Remedy, Trial, replanned

__all__ = ["OWN_REMEDIES", "RemedyStep", "remedy_steps"]

#: Remedies that need no permit and no work on the day; pairs of them are tried where none cures.
OWN_REMEDIES: tuple[Remedy, ...] = ("deeper soil", "mulch", "split runs")

#: Tries something, told what was found before.
RemedyStep: TypeAlias = Callable[[Sequence[Trial]], tuple[Trial, ...]]


def remedy_steps(case: OrderCase) -> tuple[RemedyStep, ...]:
    """Return the steps that try every remedy, each to be called with the trials of those before it.

    Each takes a second or so in a garden of some beds, so that whoever runs them can show how far they are.
    """
    if not case.beds:
        return ()
    steps: list[RemedyStep] = []
    for bed in case.beds:
        steps += [
            partial(_alone, deeper_soil, case, bed),
            partial(_alone, mulch, case, bed),
            partial(_split, case, bed),
            partial(_pairs, case, bed),
            partial(_alone, refills, case, bed),
        ]
    if closed_days(case):
        steps.append(partial(_all_beds, another_day, case))
    if "weekdays" not in case.setup.garden.timer.day_choices:
        steps.append(partial(_all_beds, weekday_timer, case))
    return (*steps, partial(_all_beds, more_hours, case), partial(_all_beds, longer_runs, case))


def _alone(
    remedy: Callable[[OrderCase, int], Trial], case: OrderCase, bed: int, _: Sequence[Trial]
) -> tuple[Trial, ...]:
    return (remedy(case, bed),)


def _all_beds(
    remedy: Callable[[OrderCase], tuple[Trial, ...]], case: OrderCase, _: Sequence[Trial]
) -> tuple[Trial, ...]:
    return remedy(case)


def _split(case: OrderCase, bed: int, _: Sequence[Trial]) -> tuple[Trial, ...]:
    return (split_runs(case, bed, case.setup.garden, case.result),)


def _pairs(case: OrderCase, bed: int, found: Sequence[Trial]) -> tuple[Trial, ...]:
    """Return the best pair of a gardener's own remedies for a bed, if none of them cures it alone."""
    alone = {one.remedy: one for one in found if one.bed == bed and one.remedy in OWN_REMEDIES}
    if any(one.verdict == "cures" for one in alone.values()):
        return ()
    helpful = {remedy for remedy, one in alone.items() if one.verdict == "helps"}
    pairs = [pair for parts, pair in _PAIRS.items() if parts <= helpful]
    tried = [pair(case, bed) for pair in pairs]
    return (max(tried, key=lambda one: one.worth),) if tried else ()


def _deeper_and_split(case: OrderCase, bed: int) -> Trial:
    def tried(more: float) -> Trial:
        garden = deeper_garden(case.setup.garden, bed, more)
        result, _ = replanned(case, garden)
        trial = split_runs(case, bed, garden, result, remedy="deeper soil and split runs")
        return replace(trial, amount=more)

    return least_soil(tried)


def _mulch_and_split(case: OrderCase, bed: int) -> Trial:
    garden = mulched_garden(case, bed)
    result, _ = replanned(case, garden)
    return split_runs(case, bed, garden, result, remedy="mulch and split runs")


_PAIRS: dict[frozenset[Remedy], Callable[[OrderCase, int], Trial]] = {
    frozenset({"deeper soil", "mulch"}): partial(deeper_soil, under_mulch=True),
    frozenset({"deeper soil", "split runs"}): _deeper_and_split,
    frozenset({"mulch", "split runs"}): _mulch_and_split,
}
