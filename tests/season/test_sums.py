"""Sums over a season, against plain loops over its days."""

from collections import defaultdict
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from scheduler.season.run import run_season
from scheduler.season.sums import litres_by_day, litres_by_month, peak_week, stress_days
from tests.builders import make_bed, make_daily, make_garden, make_planting

LATE = make_planting(planted=date(2025, 6, 20), removed=date(2025, 8, 3))
RESULT = run_season(make_garden([make_bed("a"), make_bed("b", plantings=(LATE,))]), make_daily())


def test_litres_by_month_and_bed():
    sums = defaultdict(lambda: [0.0, 0.0])
    for day, litres in zip(RESULT.dates.tolist(), RESULT.litres.tolist(), strict=True):
        for bed in (0, 1):
            sums[f"{day:%Y-%m}"][bed] += litres[bed]
    months, litres = litres_by_month(RESULT)
    assert months == tuple(sorted(sums)) == tuple(f"2025-{month:02}" for month in range(4, 11))
    assert litres == pytest.approx(np.array([sums[month] for month in months]))
    assert litres[months.index("2025-05"), 1] == 0.0
    assert litres.sum() == pytest.approx(RESULT.litres.sum())


def test_litres_by_day():
    by_day = litres_by_day(RESULT)
    assert list(by_day)[0] == date(2025, 4, 1)
    assert list(by_day)[-1] == date(2025, 10, 1)
    assert by_day[date(2025, 7, 20)] == pytest.approx(RESULT.litres[110].sum())


def test_the_peak_week_is_the_greatest_of_all_weeks():
    peak = peak_week(RESULT)
    daily = RESULT.litres.sum(axis=1)
    weeks = [daily[n : n + 7].sum() for n in range(len(daily) - 6)]
    assert peak.litres == pytest.approx(max(weeks))
    start = (peak.first - date(2025, 4, 1)).days
    assert weeks[start] == pytest.approx(max(weeks))


def test_a_season_shorter_than_a_week_is_its_own_peak():
    few = replace(RESULT, dates=RESULT.dates[100:103], litres=RESULT.litres[100:103])
    assert peak_week(few).first == few.dates[0].item()
    assert peak_week(few).litres == pytest.approx(few.litres.sum())


def test_days_short_of_water_count_only_where_something_grows():
    garden = make_garden([make_bed("a"), make_bed("b", plantings=(LATE,))], windows=())
    result = run_season(garden, make_daily(rain_scale=0.0))
    counts, lowest = stress_days(result)
    for bed in (0, 1):
        stressed = [
            float(ks)
            for ks, grows in zip(result.stress_coefficient[:, bed], result.growth.in_use[:, bed], strict=True)
            if grows and ks < 1.0 - 1e-9
        ]
        assert counts[bed] == len(stressed) > 20
        assert lowest[bed] == min(stressed)
    # Bare soil dries too, but no crop is there to be short.
    before = result.dates < np.datetime64("2025-06-20")
    assert result.stress_coefficient[before, 1].min() < 1.0
