"""A hot spell in the forecast, and whether a setting of the timer carries the beds through it. Pure.

The timer is taken to hold a standing setting. A bed fails if it passes its limit under the forecast by more
than it would in usual weather. A hot spell is made of forecast days in a row with clearly more reference ET
than usual; it counts only if a bed fails in it or on its account.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from scheduler.season.heat_days import DAYS_SEEN, Heat, HeatAhead, beyond_usual, driest_past_limit
from scheduler.season.results import WeekResult
from scheduler.season.setup import Setup
from scheduler.season.standing import water_of
from scheduler.season.temporary import temporary_setting
from scheduler.timetable.week import ZoneSetting

__all__ = ["HOT_SHARE", "hot_runs", "look_for_heat", "spell_of"]

BoolArray = NDArray[np.bool_]

#: Reference ET over the usual of its day from which on a forecast day is hot. Judgement, no source.
HOT_SHARE = 1.10

#: A bed fails if it lies past its limit by so much more than in usual weather, summed over days [mm d].
NOTABLE_SHORTAGE = 0.5


def hot_runs(hot: BoolArray) -> list[tuple[int, int]]:
    """Return first and last day of every run of hot days in a row."""
    edges = np.diff(np.concatenate([[0], hot.astype(np.int64), [0]]))
    begins, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    return list(zip(begins.tolist(), ends.tolist(), strict=True))


def spell_of(hot: BoolArray, failing_days: BoolArray) -> tuple[int, int] | None:
    """Return first and last day of the spell that makes beds fail; None if no hot day is behind a failure.

    A failure is laid to the last hot run that began no later. The spell goes from the first run that has one
    to the last, days between two such runs included.
    """
    runs = hot_runs(hot)
    guilty = []
    for number, run in enumerate(runs):
        until = runs[number + 1][0] if number + 1 < len(runs) else failing_days.shape[0]
        if failing_days[run[0] : until].any():
            guilty.append(run)
    return (guilty[0][0], guilty[-1][1]) if guilty else None


def look_for_heat(
    setup: Setup, result: WeekResult, ahead: HeatAhead, standing: Sequence[ZoneSetting]
) -> Heat:
    """Return what the forecast does under the standing setting, and the temporary one if it is needed.

    Parameters
    ----------
    setup : Setup
    result : WeekResult
        Today's table, whose morning gives the soil.
    ahead : HeatAhead
    standing : sequence of ZoneSetting
        One a zone in the plan's order, masks from the table's first day on.
    """
    state, evening = result.outlook.state, bool(result.outlook.evening)
    timer = setup.garden.timer
    _, water = water_of(standing, setup.zones, ahead.forecast, timer=timer, n_days=DAYS_SEEN)
    usual = driest_past_limit(ahead.usual, state, water, evening=evening)
    heat_excess = beyond_usual(
        driest_past_limit(ahead.forecast, state, water, evening=evening), usual, ahead.foretold
    )
    failing = heat_excess.sum(axis=0) > NOTABLE_SHORTAGE
    hot = ahead.foretold & (ahead.reference_et > HOT_SHARE * ahead.usual_et)
    spell = spell_of(hot, np.asarray((heat_excess[:, failing] > 0.0).any(axis=1)))
    heat = Heat(ahead, tuple(standing), hot, heat_excess, failing, spell, None)
    if spell is None:
        return heat
    touched = _zones_with(setup, failing)
    temporary = temporary_setting(setup, result, heat, water=water, usual=usual, touched=touched)
    helped = failing & (heat_excess.sum(axis=0) - temporary.heat_excess > NOTABLE_SHORTAGE)
    if not helped.any():
        return heat
    if (useful := _zones_with(setup, helped)) != touched:
        temporary = temporary_setting(setup, result, heat, water=water, usual=usual, touched=useful)
    return replace(heat, temporary=temporary)


def _zones_with(setup: Setup, beds: BoolArray) -> tuple[bool, ...]:
    """Return which zones hold one of the beds."""
    return tuple(bool(beds[zone.index].any()) for zone in setup.zones)
