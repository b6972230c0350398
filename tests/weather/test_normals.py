"""Normals by day of the year, and the outlook made of them and a forecast."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from scheduler.errors import WeatherError
from scheduler.weather.normals import day_of_year_normals, outlook
from scheduler.weather.record import DailyWeather
from tests.builders import make_daily


def plain_daily(begins, values, *, n_forecast=0):
    """A record whose four variables are the same series, apart by a factor."""
    values = np.asarray(values, dtype=float)
    forecast = np.arange(values.size) >= values.size - n_forecast
    dates = np.datetime64(begins) + np.arange(values.size)
    return DailyWeather(dates, values, 2 * values, 3 * values, 4 * values, values, values, forecast)


def day_index(daily):
    return np.array([day.astype(object).timetuple().tm_yday - 1 for day in daily.dates])


def test_a_steady_record_is_its_own_normal():
    normals = day_of_year_normals(plain_daily("2021-01-01", np.full(1461, 3.0)))
    for values, expected in (
        (normals.reference_et, 3.0),
        (normals.rain, 6.0),
        (normals.wind_2m, 9.0),
        (normals.rh_min, 12.0),
    ):
        np.testing.assert_allclose(values, np.full(366, expected), rtol=1e-14)
    assert normals.years == (2021, 2024, 4)


def test_against_the_definition_day_by_day():
    daily = make_daily(date(2015, 3, 4), 2500, forecast_from=date(2021, 12, 20))
    normals = day_of_year_normals(daily)
    day = day_index(daily)
    for one in range(366):
        apart = np.abs(day - one)
        near = (np.minimum(apart, 366 - apart) <= 7) & ~daily.forecast
        assert normals.reference_et[one] == pytest.approx(daily.reference_et[near].mean(), rel=1e-12)
        assert normals.rain[one] == pytest.approx(daily.rain[near].mean(), rel=1e-9, abs=1e-12)


def test_window_reaches_round_the_end_of_the_year():
    values = np.zeros(365)
    values[0] = 15.0
    normals = day_of_year_normals(plain_daily("2023-01-01", values))
    assert normals.reference_et[365] > 0
    assert normals.reference_et[359] > 0
    assert normals.reference_et[7] > 0
    assert normals.reference_et[8] == 0
    assert normals.reference_et[358] == 0


def test_forecast_days_do_not_count():
    values = np.full(407, 2.0)
    values[-7:] = 100.0
    normals = day_of_year_normals(plain_daily("2023-01-01", values, n_forecast=7))
    np.testing.assert_allclose(normals.reference_et, 2.0, rtol=1e-14)
    assert normals.years == (2023, 2024, 1)


def test_short_record_is_refused():
    with pytest.raises(WeatherError, match="199 observed days; normals need 200"):
        day_of_year_normals(plain_daily("2023-01-01", np.ones(206), n_forecast=7))


def test_record_without_a_season_is_refused():
    with pytest.raises(WeatherError, match=r"day of year 308: nothing observed within 7 days of 52 days"):
        day_of_year_normals(plain_daily("2023-01-01", np.ones(300)))


def test_record_without_any_observed_day_is_refused():
    with pytest.raises(WeatherError, match="0 observed days"):
        day_of_year_normals(plain_daily("2023-01-01", np.ones(5), n_forecast=5))


def test_200_days_in_every_season_are_enough():
    whole = plain_daily("2022-01-01", np.ones(730))
    chosen = np.arange(0, 730, 3)
    arrays = ("dates", "reference_et", "rain", "wind_2m", "rh_min", "tmax", "tmin", "forecast")
    thin = replace(whole, **{name: getattr(whole, name)[chosen] for name in arrays})
    np.testing.assert_allclose(day_of_year_normals(thin).reference_et, 1.0, rtol=1e-14)


def test_outlook_takes_the_forecast_and_then_normals():
    daily = make_daily(date(2022, 1, 1), 1000, forecast_from=date(2024, 9, 20))
    normals = day_of_year_normals(daily)
    ahead = outlook(daily, normals, date(2024, 9, 20), 10)
    assert ahead.origin.tolist() == ["forecast"] * 7 + ["normal"] * 3
    assert ahead.dates[0] == np.datetime64("2024-09-20")
    for name in ("reference_et", "rain", "wind_2m", "rh_min"):
        values = getattr(ahead, name)
        np.testing.assert_array_equal(values[:7], getattr(daily, name)[-7:])
        # 27 September 2024 is day 271 of a leap year.
        np.testing.assert_array_equal(values[7:], getattr(normals, name)[270:273])


def test_outlook_leaves_observed_days_of_the_future_alone():
    daily = make_daily(date(2022, 1, 1), 1096)
    normals = day_of_year_normals(daily)
    ahead = outlook(daily, normals, date(2023, 7, 1), 14)
    assert set(ahead.origin) == {"normal"}
    np.testing.assert_array_equal(ahead.reference_et, normals.reference_et[181:195])


def test_outlook_across_new_year_and_beyond_the_record():
    daily = make_daily(date(2020, 1, 1), 731)
    normals = day_of_year_normals(daily)
    ahead = outlook(daily, normals, np.datetime64("2024-12-30"), 4)
    np.testing.assert_array_equal(ahead.rain, normals.rain[[364, 365, 0, 1]])
    before = outlook(daily, normals, date(2001, 3, 1), 2)
    assert before.origin.tolist() == ["normal", "normal"]


def test_outlook_that_begins_before_the_forecast():
    daily = make_daily(date(2022, 1, 1), 1000, forecast_from=date(2024, 9, 20))
    ahead = outlook(daily, day_of_year_normals(daily), date(2024, 9, 18), 4)
    assert ahead.origin.tolist() == ["normal", "normal", "forecast", "forecast"]


def test_outlook_of_no_days():
    daily = make_daily()
    assert outlook(daily, day_of_year_normals(daily), date(2024, 9, 18), 0).rain.shape == (0,)
