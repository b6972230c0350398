"""How long beds last without any run, and the hottest spell that a record holds. Pure.

A bed lasts for a day if it ends the day within readily available water, so that its plants begin the next one
unhurt; the second count goes on until Ks has fallen below a half.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.season.ahead import (
    Ahead,
    course_with,
    expected_weather,
    full_beds,
    growth_ahead,
    look_ahead,
    normal_weather,
    side_by_side,
)
from scheduler.season.results import WeekResult
from scheduler.season.setup import Setup, dates_from
from scheduler.season.surroundings import DayWeather
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.water.balance import SoilState
from scheduler.water.need import effective_rainfall
from scheduler.water.rootzone import water_stress_coefficient
from scheduler.weather.record import DailyWeather

__all__ = [
    "HALF_USE",
    "LONGEST_LOOK",
    "Absence",
    "HotSpell",
    "Lasting",
    "days_lasted",
    "days_to_half",
    "hottest_spell",
    "look_at_absence",
]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]
WeatherName = Literal["normals", "forecast", "hottest"]

#: Days that are looked at; a bed that lasts longer is told as lasting more than these.
LONGEST_LOOK = 60

#: Ks below which plants use less than half of what they would.
HALF_USE = 0.5

#: Rain of a dry spell, as a share of its reference ET at most. Judgement, no source.
DRY_SPELL_RAIN = 0.25

#: Differences below this are rounding [mm].
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class HotSpell:
    """Days of a record in a row, `first` to `last`; mean reference ET [mm/d]; row of the first day."""

    first: date
    last: date
    reference_et: float
    row: int


@dataclass(frozen=True, slots=True, eq=False)
class Lasting:
    """How long the beds last from one soil under one weather.

    Attributes
    ----------
    soil : str
        ``full`` or ``today``.
    weather : str
        ``normals``, ``forecast`` (its rows first, then normals) or ``hottest``.
    to_stress, to_half : arrays of int, shape (n_beds,)
        Days that a bed lasts; `n_days` if it lasts through all of them.
    """

    soil: Literal["full", "today"]
    weather: WeatherName
    to_stress: IntArray
    to_half: IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Absence:
    """A garden left alone from a morning on.

    Attributes
    ----------
    lasting : tuple of Lasting
        Full soil before today's, and for each normals, forecast (if there is one), hottest spell.
    ahead : dict of str to Ahead
        The beds under each weather.
    spell : HotSpell
    forecast_days : int
        Forecast rows among the days away.
    standing : array of bool, shape (n_days, n_beds)
        True while what grows on the first morning, or is sown in its place at once, still stands.
    """

    lasting: tuple[Lasting, ...]
    ahead: dict[WeatherName, Ahead]
    spell: HotSpell
    forecast_days: int
    standing: BoolArray

    @property
    def expected(self) -> WeatherName:
        """The weather that the planner would go by."""
        return "forecast" if self.forecast_days else "normals"

    def of(self, soil: Literal["full", "today"], weather: WeatherName) -> Lasting:
        """Return one case."""
        return next(case for case in self.lasting if (case.soil, case.weather) == (soil, weather))

    def first_beds(self) -> IntArray:
        """Return the beds in the order in which to look at them, those without a plant left out.

        From today's soil under the weather expected: first stress, then half use.
        """
        case = self.of("today", self.expected)
        order = np.lexsort((np.arange(case.to_stress.size), case.to_half, case.to_stress))
        return np.asarray(order[self.standing[0][order]])


def days_lasted(stressed: BoolArray) -> IntArray:
    """Return the days before the first stressed one along the first axis; all of them if there is none."""
    n_days = stressed.shape[0]
    return np.where(stressed.any(axis=0), np.argmax(stressed, axis=0), n_days).astype(np.int64)


def days_to_half(
    driest: FloatArray, taw: FloatArray, *, raw: FloatArray, standing: BoolArray
) -> tuple[IntArray, IntArray]:
    """Return the days that beds last to first stress, and to Ks below a half.

    Arrays of shape (n_days, n_beds); `driest` is the depletion at the end of each day's use [mm].
    """
    stress = water_stress_coefficient(driest, taw, raw=raw)
    first = days_lasted(standing & (driest > raw + ROUNDING))
    return first, days_lasted(standing & (stress < HALF_USE - ROUNDING))


def hottest_spell(daily: DailyWeather, n_days: int, *, months: frozenset[int]) -> HotSpell:
    """Return the days in a row with the greatest reference ET that lie in some months of the record.

    Of spells with little rain if there is one (rain that counts at most a quarter of reference ET). The
    earliest of equals. A record too short for `n_days` in a row gives as many as it has.
    """
    observed = np.flatnonzero(~daily.forecast)
    # Forecast rows follow what was observed.
    et, dates = daily.reference_et[observed], daily.dates[observed]
    month = dates.astype("datetime64[M]").astype(np.int64) % 12 + 1
    length = min(n_days, et.size)
    kernel = np.ones(length)

    def summed(values: FloatArray) -> FloatArray:
        return np.convolve(values, kernel, mode="valid")

    rain = summed(effective_rainfall(daily.rain[observed], et))
    total = summed(et)
    ordered = np.diff(dates.astype(np.int64), prepend=dates[0].astype(np.int64) - 1) == 1
    inside = np.isin(month, sorted(months)).astype(float)
    whole = summed(inside) > length - 0.5
    # A spell may not jump over a hole of the record: a first day after one is no fault.
    whole &= summed((~ordered).astype(float)) - (~ordered[: total.size]) < 0.5
    candidates = whole if whole.any() else np.ones_like(whole)
    dry = candidates & (rain <= DRY_SPELL_RAIN * total)
    chosen = dry if dry.any() else candidates
    row = int(np.argmax(np.where(chosen, total, -np.inf)))
    return HotSpell(
        dates[row].item(), dates[row + length - 1].item(), float(total[row]) / length, int(observed[row])
    )


def _spell_weather(setup: Setup, on: date, n_days: int, spell: HotSpell) -> DayWeather:
    """Return the weather of a hot spell and of the days that followed it, as if it began on `on`, dry.

    Past the record's observed end its last day is held: a look of two months seldom gets there.
    """
    daily = setup.daily
    last = int(np.flatnonzero(~daily.forecast)[-1])
    rows = np.minimum(spell.row + np.arange(n_days), last)
    before = daily.reference_et[max(0, spell.row - DAYS_PER_WEEK) : spell.row]
    return DayWeather(
        dates=dates_from(on, n_days),
        reference_et=daily.reference_et[rows],
        rain=np.zeros(n_days),
        wind_2m=daily.wind_2m[rows],
        rh_min=daily.rh_min[rows],
        tmax=daily.tmax[rows],
        tmin=daily.tmin[rows],
        before=before,
    )


def look_at_absence(
    setup: Setup, result: WeekResult, *, days_away: int, n_days: int = LONGEST_LOOK
) -> Absence:
    """Return how long each bed lasts without any run from the table's first morning on.

    Parameters
    ----------
    setup : Setup
    result : WeekResult
        Today's table, whose morning gives the soil.
    days_away : int
        Length of the hottest spell that is looked for.
    n_days : int
        Days looked at.
    """
    on = result.on
    dates = dates_from(on, days_away)
    months = frozenset((np.unique(dates.astype("datetime64[M]").astype(np.int64)) % 12 + 1).tolist())
    spell = hottest_spell(setup.daily, days_away, months=months)
    growth = growth_ahead(setup, on, n_days)
    expected = expected_weather(setup, on, n_days)
    foretold = int((expected.origin[:days_away] == "forecast").sum())
    weathers: dict[WeatherName, DayWeather] = {"normals": normal_weather(setup, on, n_days)}
    if foretold:
        weathers["forecast"] = expected.met
    weathers["hottest"] = _spell_weather(setup, on, n_days, spell)
    ahead = {name: look_ahead(setup, result, met, growth=growth) for name, met in weathers.items()}
    standing = np.logical_and.accumulate(growth.in_use, axis=0)
    return Absence(
        lasting=_lasting(ahead, standing, result.outlook.state),
        ahead=ahead,
        spell=spell,
        forecast_days=foretold,
        standing=standing,
    )


def _lasting(ahead: dict[WeatherName, Ahead], standing: BoolArray, today: SoilState) -> tuple[Lasting, ...]:
    """Return every case of soil and weather, all of them columns of one run of the balance."""
    names = list(ahead)
    full = full_beds(ahead[names[0]].conditions, today)
    soils: dict[Literal["full", "today"], SoilState] = {"full": full, "today": today}
    cases = [(soil, name) for soil in soils for name in names]
    conditions = side_by_side([ahead[name].conditions for _, name in cases])
    state = SoilState(*(np.concatenate(parts) for parts in zip(*(soils[s] for s, _ in cases), strict=True)))
    n_days, n_beds = standing.shape
    course = course_with(conditions, state, np.zeros((n_days, 1)))
    counts = days_to_half(
        course.driest, conditions.taw, raw=conditions.raw, standing=np.tile(standing, (1, len(cases)))
    )
    stress, half = (count.reshape(len(cases), n_beds) for count in counts)
    return tuple(Lasting(*case, stress[i], half[i]) for i, case in enumerate(cases))
