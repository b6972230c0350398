"""The best few settings of a timer over a whole season: dates, days, start times and minutes. Pure.

All outlets are set on the same days, for it is the trip to the timer that counts. Each stretch of weeks
between two trips has its best settings, whatever the others are, and the season is divided so that the sum of
all stretches is least.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial

import numpy as np
from numpy.typing import NDArray

from scheduler.season.between_runs import LongGap, beds_run_too_long, weeks_not_lasted
from scheduler.season.outlet_settings import FewSettings, OutletSetting, Stretch
from scheduler.season.pulses import pulse_limits
from scheduler.season.setup import Setup, timer_limits
from scheduler.season.week_needs import NeedYears, WeekNeeds, needs_to_meet
from scheduler.timetable.changes import Division, least_settled
from scheduler.timetable.choices import ZoneBeds
from scheduler.timetable.lasting import (
    LastingRoom,
    WeekSpans,
    hours_in_common,
    lasting_patterns,
    weekdays_used,
)
from scheduler.timetable.limits import hours_ahead
from scheduler.timetable.outlet_need import ANY_GAP, ROUNDING, OutletNeed, least_short
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.stretch import (
    OFF,
    PENALTY,
    OutletOptions,
    outlet_ladder,
    outlet_options,
    patterns_of,
)
from scheduler.timetable.together import OutletArrangement, Outlets, arrange_outlets
from scheduler.timetable.windows import WateringHours

__all__ = ["SeasonWeeks", "ShortWeek", "outlet_needs"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class ShortWeek:
    """A week that an outlet's setting leaves short by more than the share.

    `share` is by how much of the need of the bed that is shortest, or of the mean of all by the zone's rule;
    `least` is by how much it would be short if the timer were set for that week alone.
    """

    begins: date
    zone: str
    outlet: int
    share: float
    least: float


def outlet_needs(zones: Sequence[ZoneBeds], needs: WeekNeeds, *, years: NeedYears) -> tuple[OutletNeed, ...]:
    """Return what the beds of each outlet need, by the rule of its zone."""
    outlets = []
    for zone in zones:
        beds = zone.index
        days, raw = needs.days[:, beds], needs.raw[:, beds]
        by_mean = zone.zone.rule == "area mean"
        weight = needs.kept[:, beds] if by_mean else np.broadcast_to(needs.flow[beds], days.shape)
        series, usual = needs.minutes[:, :, beds] * weight, needs.usual[:, beds] * weight
        use, usual_use = needs.use[:, :, beds], needs.usual_use[:, beds]
        each = days * weight
        if by_mean:
            series, usual, each = (part.sum(axis=-1, keepdims=True) for part in (series, usual, each))
            share = np.where(days > 0.0, zone.area, 0.0)
            use, usual_use, raw = (
                (part * share).sum(axis=-1, keepdims=True) for part in (use, usual_use, raw)
            )
        used = needs_to_meet(use, usual_use, years=years)
        lasts = np.divide(raw, used, out=np.full(raw.shape, float(ANY_GAP)), where=used > 0.0)
        lasts = np.where(each > 0.0, np.minimum(lasts, ANY_GAP), ANY_GAP)
        outlets.append(
            OutletNeed(
                need=needs.minutes[:, :, beds],
                days=days,
                flow=needs.flow[beds],
                asked=needs_to_meet(series, usual, years=years),
                each=each,
                gap=np.floor(lasts.min(axis=1, initial=ANY_GAP)).astype(np.int64),
                longest_pulse=zone.longest_pulse,
                soak=zone.soak,
            )
        )
    return tuple(outlets)


class SeasonWeeks:
    """A season's weeks, ready to be divided into stretches.

    Parameters
    ----------
    setup : Setup
        Of the plan's own year.
    needs : WeekNeeds
    share : float
        By which a week may be short, 0..1.
    years : {"normals", "p80", "worst"}
        Which need of a week has to be met.
    """

    def __init__(self, setup: Setup, needs: WeekNeeds, *, share: float, years: NeedYears) -> None:
        # A season may reach past the record, and into another change of clocks.
        last = needs.begins[-1] + timedelta(days=DAYS_PER_WEEK)
        self._limits = timer_limits(setup.garden, needs.begins[0], last)
        self._zones = setup.zones
        self._share = share
        self._begins = needs.begins
        self.outlets = outlet_needs(setup.zones, needs, years=years)
        self._patterns = lasting_patterns(setup.limits.timer)
        self._known = patterns_of(self._patterns)
        self._room = LastingRoom(setup.limits.timer)
        self._hours = hours_ahead(needs.begins[0], self._limits, n_days=DAYS_PER_WEEK * len(needs.begins))
        self._pulses = pulse_limits(setup.garden)
        self._grown = needs.days
        self._flow = [(needs.days[:, zone.index] > 0.0) @ zone.flow for zone in setup.zones]
        self._used = {n: weekdays_used(self._patterns, n) for n in range(1, len(needs.begins) + 1)}
        self._stretches: dict[tuple[int, int], tuple[Stretch, float]] = {}

    @property
    def n_weeks(self) -> int:
        """Number of weeks."""
        return len(self._begins)

    def bounds(self) -> FloatArray:
        """Return what stretches cost at least, (n_weeks, n_weeks + 1): each outlet with the clock to itself.

        Where outlets run one at a time and need more minutes than there are, the shortage that this forces
        counts too.
        """
        cost = np.full((self.n_weeks, self.n_weeks + 1), np.inf)
        for begin in range(self.n_weeks):
            for end in range(begin + 1, self.n_weeks + 1):
                alone = sum(float(one.cost[0]) for one in self._options(begin, end))
                cost[begin, end] = max(alone, PENALTY * self._forced_short(begin, end))
        return cost

    def _forced_short(self, begin: int, end: int) -> float:
        """Return the water that weeks of a stretch lack at least since outlets run one at a time [L]."""
        if not self._limits.timer.one_zone_at_a_time:
            return 0.0
        hours = sum(until - since for spans in self._spans(begin, end) for since, until in spans)
        return least_short(self.outlets, begin, end, share=self._share, most=hours / DAYS_PER_WEEK)

    def divide(self, counts: Sequence[int]) -> tuple[FewSettings, ...]:
        """Return the best settings for each greatest number of changes."""
        divisions = least_settled(self.bounds(), counts, lambda begin, end: self._settled(begin, end)[1])
        return tuple(self._few(most, division) for most, division in zip(counts, divisions, strict=True))

    def stretch(self, begin: int, end: int) -> Stretch:
        """Return the best settings of the weeks `begin`..`end` (end left out) that fit together."""
        return self._settled(begin, end)[0]

    def _few(self, most: int, division: Division) -> FewSettings:
        """Return a division with its settings."""
        return FewSettings(most, tuple(self.stretch(begin, end) for begin, end in division))

    def _spans(self, begin: int, end: int) -> WeekSpans:
        """Return the hours that all weeks of a stretch share."""
        days = self._hours.spans[DAYS_PER_WEEK * begin : DAYS_PER_WEEK * end]
        return hours_in_common(WateringHours(days, self._hours.evening))

    def _options(
        self, begin: int, end: int, ways: Callable[..., OutletOptions] = outlet_options
    ) -> list[OutletOptions]:
        """Return the options of every outlet for a stretch, or other ways to set it."""
        longest = self._room.longest(self._used[end - begin], self._spans(begin, end))
        return [
            ways(
                outlet,
                begin,
                end,
                patterns=self._known,
                longest=longest,
                timer=self._limits.timer,
                share=self._share,
            )
            for outlet in self.outlets
        ]

    def _ladders(self, begin: int, end: int) -> list[list[OutletOptions]]:
        """Return the ladders of every outlet, and those of the least room where soil limits a run."""
        ladders = [self._options(begin, end, outlet_ladder)]
        if any(np.isfinite(outlet.longest_pulse) for outlet in self.outlets):
            ladders.append(self._options(begin, end, partial(outlet_ladder, keep_pulse=False)))
        return ladders

    def _settled(self, begin: int, end: int) -> tuple[Stretch, float]:
        """Return the best settings of a stretch that fit together, and what they cost."""
        if (begin, end) not in self._stretches:
            outlets = Outlets(
                used=self._used[end - begin],
                spans=self._spans(begin, end),
                flow=[float(flow[begin:end].max()) for flow in self._flow],
                limits=self._limits,
            )
            found = arrange_outlets(
                self._options(begin, end),
                outlets,
                ladders=lambda: self._ladders(begin, end),
            )
            stretch = Stretch(begin, end, self._begins[begin], self._settings(found, begin, end))
            self._stretches[begin, end] = stretch, found.cost
        return self._stretches[begin, end]

    def short_weeks(self, few: FewSettings) -> tuple[ShortWeek, ...]:
        """Return where settings leave a week of an outlet short by more than the share."""
        weeks = []
        for stretch in few.stretches:
            for number, setting in enumerate(stretch.settings):
                if setting.short > 0.0:
                    weeks += [
                        self._short_week(number, setting, week)
                        for week in range(stretch.first, stretch.after)
                        if self._lacking(number, setting, week) > self._share + ROUNDING
                    ]
        return tuple(weeks)

    def _lacking(self, number: int, setting: OutletSetting, week: int) -> float:
        """Return the greatest share by which a setting leaves a bed of an outlet, or its mean, short."""
        asked, each = self.outlets[number].asked[week], self.outlets[number].each[week]
        grown = asked > 0.0
        given = setting.minutes_a_day * each[grown]
        return float(np.max(1.0 - given / asked[grown], initial=0.0))

    def _short_week(self, number: int, setting: OutletSetting, week: int) -> ShortWeek:
        """Return a week that a setting leaves short."""
        alone = self.stretch(week, week + 1).settings[number]
        return ShortWeek(
            begins=self._begins[week],
            zone=setting.zone,
            outlet=setting.outlet,
            share=self._lacking(number, setting, week),
            least=self._lacking(number, alone, week),
        )

    def long_gaps(self, few: FewSettings) -> tuple[LongGap, ...]:
        """Return where runs lie further apart than beds last; those that last no day count as lasting one."""
        found = []
        for stretch in few.stretches:
            for number, setting in enumerate(stretch.settings):
                lasts = self.outlets[number].gap
                weeks = self.outlets[number].thirsty(stretch.first, stretch.after).tolist()
                dry = weeks_not_lasted(setting.pattern, lasts, weeks)
                if setting.pattern is None or not dry:
                    continue
                forced = [w for w in dry if self._dry_alone(number, w)]
                found.append(
                    LongGap(
                        begins=stretch.begins,
                        zone=setting.zone,
                        outlet=setting.outlet,
                        gap=setting.pattern.gap,
                        lasts=int(lasts[dry].min()),
                        weeks=tuple(self._begins[week] for week in dry),
                        forced=len(forced),
                    )
                )
        return tuple(found)

    def _dry_alone(self, number: int, week: int) -> bool:
        """Return True if an outlet's beds lie dry in a week though the timer is set for it alone."""
        alone = self.stretch(week, week + 1).settings[number].pattern
        return alone is None or bool(weeks_not_lasted(alone, self.outlets[number].gap, [week]))

    def _settings(self, found: OutletArrangement, begin: int, end: int) -> tuple[OutletSetting, ...]:
        """Return an arrangement of a stretch as settings."""
        settings = []
        for number, (zone, options, at, begins) in enumerate(
            zip(self._zones, found.options, found.number, found.begins, strict=True)
        ):
            pattern, minutes = int(options.pattern[at]), int(options.minutes[at])
            grown = self._grown[begin:end, zone.index].sum(axis=0)
            settings.append(
                OutletSetting(
                    zone=zone.zone.name,
                    outlet=zone.zone.outlet,
                    pattern=None if pattern == OFF else self._patterns[pattern],
                    begins=begins,
                    minutes=minutes,
                    over=float(options.over[at]),
                    short=float(options.short[at]),
                    dry=float(options.dry[at]),
                    hasty=float(options.hasty[at]),
                    lasts=int(self.outlets[number].gap[begin:end].min()),
                    too_long_for=beds_run_too_long(zone, self._pulses, minutes=minutes, grown=grown),
                )
            )
        return tuple(settings)
