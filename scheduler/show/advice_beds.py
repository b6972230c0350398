"""What the advice on spacing goes by: each bed's need this week, and what each choice would put down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduler.garden.plan import Bed, Garden
from scheduler.layout.advice import Advice, BedOptions, least_waste
from scheduler.layout.bed_choices import LineChoice, bed_choices
from scheduler.season.needs import weekly_need
from scheduler.season.results import WeekResult
from scheduler.season.supply import BedSupply, bed_supply
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.water.need import stored_share

__all__ = ["MOST_STEPS", "AdvisedBed", "AdvisedZone", "advised_zones"]

#: Steps that are told one by one before "as many as it takes".
MOST_STEPS = 2


@dataclass(frozen=True, slots=True)
class AdvisedBed:
    """A bed that is planted all week and needs water, and the ways to lay it.

    Attributes
    ----------
    choices : tuple of LineChoice
        What is there now as the first.
    supplies : tuple of BedSupply
        What each of them would put down.
    options : BedOptions
        The same in the figures that the search takes.
    """

    bed: Bed
    choices: tuple[LineChoice, ...]
    supplies: tuple[BedSupply, ...]
    options: BedOptions


@dataclass(frozen=True, slots=True)
class AdvisedZone:
    """What one outlet wastes, as it is and after 1, 2 and as many changes as it takes.

    Attributes
    ----------
    beds : tuple of AdvisedBed
    steps : tuple of Advice
        From no change on; fewer where more would save nothing. `Advice.chosen` are choices of each bed.
    without_need : tuple of str
        Beds behind it that need no water this week, or are not planted on all its days.
    """

    zone: str
    beds: tuple[AdvisedBed, ...]
    steps: tuple[Advice, ...]
    without_need: tuple[str, ...]


def advised_zones(garden: Garden, result: WeekResult) -> tuple[AdvisedZone, ...]:
    """Return the advice for each zone, in the plan's order; one without need has no steps."""
    advised = []
    for zone in garden.zones:
        numbers = [number for number, bed in enumerate(garden.beds) if bed.zone == zone.name]
        found = {number: _bed(garden, result, number) for number in numbers}
        beds = tuple(bed for bed in found.values() if bed is not None)
        without = tuple(garden.beds[number].name for number, bed in found.items() if bed is None)
        advised.append(AdvisedZone(zone.name, beds, _steps(beds), without))
    return tuple(advised)


def _steps(beds: Sequence[AdvisedBed]) -> tuple[Advice, ...]:
    """Return the advice from no change on, up to the step that no further change improves."""
    if not beds:
        return ()
    taken = [[number for number, choice in enumerate(bed.choices) if not choice.too_dry] for bed in beds]
    options = [_part(bed.options, numbers) for bed, numbers in zip(beds, taken, strict=True)]
    most = sorted({0, *range(1, min(MOST_STEPS, len(beds)) + 1), len(beds)})
    steps: list[Advice] = []
    for changes in most:
        best = least_waste(options, changes=changes)
        if not steps or best.chosen != steps[-1].chosen:
            steps.append(best)
    return tuple(
        replace(step, chosen=tuple(numbers[c] for numbers, c in zip(taken, step.chosen, strict=True)))
        for step in steps
    )


def _part(options: BedOptions, numbers: Sequence[int]) -> BedOptions:
    """Return some of the options of a bed."""
    return BedOptions(
        options.need,
        tuple(options.flow[number] for number in numbers),
        tuple(options.stored[number] for number in numbers),
        tuple(options.tube[number] for number in numbers),
    )


def _bed(garden: Garden, result: WeekResult, number: int) -> AdvisedBed | None:
    """Return what is known of a bed; None if it needs no water, or is not planted all week."""
    bed = garden.beds[number]
    in_use = result.growth.in_use[:DAYS_PER_WEEK, number]
    needs = weekly_need(garden, result, number)
    depth = needs.by_thirstiest if bed.need == "thirstiest plant" else needs.by_area
    if not (in_use.all() and depth > 0.0):
        return None
    choices = bed_choices(bed, garden.drip_lines)
    supplies = tuple(_supply(bed, choice) for choice in choices)
    leaching = float(result.growth.leaching[:DAYS_PER_WEEK, number].mean())
    stored = stored_share(np.array([supply.efficiency for supply in supplies]), leaching)
    options = BedOptions(
        need=depth * bed.area,
        flow=tuple(supply.flow for supply in supplies),
        stored=tuple(stored.tolist()),
        tube=tuple(choice.length or 0.0 for choice in choices),
    )
    return AdvisedBed(bed, choices, supplies, options)


def _supply(bed: Bed, choice: LineChoice) -> BedSupply:
    """Return what a choice puts down: more or less of the same line as measured, another line as printed."""
    now = bed_supply(bed)
    if choice.line != bed.drip:
        laid = replace(bed, drip=choice.line, emitters=choice.emitters, cup_test=None, flow_test=None)
        return bed_supply(laid)
    share = choice.emitters / bed.emitters
    return replace(now, flow=now.flow * share, rate=now.rate * share)
