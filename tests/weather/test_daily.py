"""Filling, refusing and flagging on the way to complete daily weather."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.errors import WeatherError
from scheduler.garden.plan import Site, WeatherChoice
from scheduler.weather import reference_et as et
from scheduler.weather.daily import prepare_weather
from scheduler.weather.gaps import long_term_mean, mean_of_neighbours
from scheduler.weather.record import DailyWeather, WeatherRecord
from tests.weather.records import SITE, choice, full_record, record

PUBLISHED = tomllib.loads(
    (Path(__file__).parents[1] / "published" / "weather_missing_data.toml").read_text(encoding="utf-8")
)
WITH_WIND = choice(wind_height=2.0)
FILLED = {
    "humidity": "dew point from tmin",
    "radiation": "from temperature",
    "wind": 2.0,
    "rain": "count as none",
}


def refused(weather: WeatherRecord, plan: WeatherChoice, site: Site = SITE) -> list[str]:
    with pytest.raises(WeatherError) as caught:
        prepare_weather(weather, site, plan)
    assert caught.value.source == "weather.csv"
    return [str(fault) for fault in caught.value.faults]


def one_day(case: dict[str, Any]) -> tuple[WeatherRecord, Site]:
    degrees, minutes = case["latitude_deg_min"]
    weather = record(str(case["date"]), tmax=[case["tmax"]], tmin=[case["tmin"]])
    return weather, Site(degrees + minutes / 60, case["elevation"], "UTC")


def with_radiation(weather: WeatherRecord, solar_radiation: float) -> WeatherRecord:
    return replace(weather, values=weather.values | {"solar_radiation": np.array([solar_radiation])})


def without(weather: WeatherRecord, variable: str, *days: int) -> WeatherRecord:
    weather.values[variable][list(days)] = np.nan
    return weather


def assert_complete(daily: DailyWeather) -> None:
    for name in ("reference_et", "rain", "wind_2m", "rh_min", "tmax", "tmin"):
        assert np.isfinite(getattr(daily, name)).all(), name
    assert all(days.any() for days in daily.estimated.values())


class TestPublished:
    """FAO-56 examples 5, 15 and 20: see tests/published/weather_missing_data.toml."""

    @pytest.mark.parametrize("case", PUBLISHED["vapour_pressure"], ids=lambda case: case["source"])
    def test_humidity_by_its_order(self, case: dict[str, Any]) -> None:
        humidity = {name: [case[name]] for name in ("rh_max", "rh_min", "rh_mean") if name in case}
        temperatures = {"tmax": [case["tmax"]], "tmin": [case["tmin"]]}
        weather = record(**temperatures, **humidity, solar_radiation=[20.0], wind=[2.0], rain=[0.0])
        daily = prepare_weather(weather, SITE, WITH_WIND)
        dry, damp = (
            et.reference_et(
                **temperatures,
                ea=case["printed_ea"] + sign * case["tolerance"],
                solar_radiation=20.0,
                wind_2m=et.wind_at_2m(2.0, 2.0),
                elevation=SITE.elevation,
                latitude=SITE.latitude,
                day_of_year=152,
            )
            for sign in (-1, 1)
        )
        assert damp < daily.reference_et < dry

    @pytest.mark.parametrize("case", PUBLISHED["radiation"], ids=lambda case: case["source"])
    def test_radiation_from_temperature(self, case: dict[str, Any]) -> None:
        weather, site = one_day(case)
        daily = prepare_weather(weather, site, choice(**FILLED))
        plan = choice(**(FILLED | {"radiation": "refuse"}))
        dim, bright = (
            prepare_weather(
                with_radiation(weather, case["printed_rs"] + sign * case["tolerance"]), site, plan
            )
            for sign in (-1, 1)
        )
        assert dim.reference_et < daily.reference_et < bright.reference_et
        assert "radiation" in daily.estimated
        assert "radiation" not in dim.estimated

    @pytest.mark.parametrize("case", PUBLISHED["reference_et"], ids=lambda case: case["source"])
    def test_reference_et(self, case: dict[str, Any]) -> None:
        weather, site = one_day(case)
        plan = choice(**(FILLED | {"wind": case["wind"], "method": case["method"]}))
        daily = prepare_weather(weather, site, plan)
        assert daily.reference_et[0] == pytest.approx(case["printed_et"], abs=case["tolerance"])

    @pytest.mark.parametrize("case", PUBLISHED["least_humidity"], ids=lambda case: case["source"])
    def test_least_humidity(self, case: dict[str, Any]) -> None:
        weather, site = one_day(case)
        daily = prepare_weather(weather, site, choice(method=case["method"], rain="count as none"))
        assert daily.rh_min[0] == pytest.approx(case["printed_rh_min"], abs=case["tolerance"])
        assert daily.wind_2m[0] == 2.0


class TestMeasured:
    def test_nothing_is_estimated(self) -> None:
        weather = full_record()
        daily = prepare_weather(weather, SITE, WITH_WIND)
        assert_complete(daily)
        assert daily.estimated == {}
        np.testing.assert_array_equal(daily.rain, weather.values["rain"])
        np.testing.assert_array_equal(daily.rh_min, weather.values["rh_min"])
        np.testing.assert_allclose(daily.wind_2m, et.wind_at_2m(weather.values["wind"], 2.0))
        assert daily.attribution == "nobody; made up"

    def test_wind_is_brought_to_2_m_and_has_a_floor(self) -> None:
        daily = prepare_weather(full_record(wind=[0.3, *[4.0] * 29]), SITE, choice(wind_height=10.0))
        assert daily.wind_2m[0] == 0.5
        assert daily.wind_2m[1] == pytest.approx(4.0 * 0.748, abs=0.002)
        assert any(note.startswith("wind: 1 days below 0.5 m/s at 2 m") for note in daily.notes)

    def test_wind_without_its_height_is_refused(self) -> None:
        (fault,) = refused(full_record(), choice())
        assert fault.startswith("wind: the height of its sensor is not in the plan; [weather] wind_height")

    def test_impossible_height_is_refused_under_the_file(self) -> None:
        (fault,) = refused(full_record(), choice(wind_height=400.0))
        assert "height of the wind sensor" in fault

    def test_dew_point_goes_before_humidities(self) -> None:
        weather = full_record()
        tmin = weather.values["tmin"]
        both = prepare_weather(full_record(dew_point=tmin - 1.0), SITE, WITH_WIND)
        alone = prepare_weather(
            full_record(dew_point=tmin - 1.0, rh_max=np.nan, rh_min=np.nan), SITE, WITH_WIND
        )
        np.testing.assert_array_equal(both.reference_et, alone.reference_et)
        assert any("30 days from dew point, Eq. 14" in note for note in both.notes)

    def test_each_day_takes_the_best_humidity_it_has(self) -> None:
        weather = without(without(full_record(3, rh_mean=70.0), "rh_min", 1, 2), "rh_max", 2)
        daily = prepare_weather(weather, SITE, WITH_WIND)
        said = [note for note in daily.notes if note.startswith("humidity on")]
        assert [note.split("from ")[1] for note in said] == [
            "rh_max and rh_min, Eq. 17",
            "rh_max, Eq. 18",
            "rh_mean, Eq. 19",
        ]
        assert daily.estimated == {}

    def test_sunshine_stands_in_for_radiation(self) -> None:
        sunshine = 4.0 + np.arange(30) % 9
        daily = prepare_weather(full_record(solar_radiation=np.nan, sunshine=sunshine), SITE, WITH_WIND)
        expected = et.solar_radiation_from_sunshine(sunshine, SITE.latitude, np.arange(152, 182))
        measured = prepare_weather(full_record(solar_radiation=expected), SITE, WITH_WIND)
        np.testing.assert_allclose(daily.reference_et, measured.reference_et, rtol=1e-12)
        assert "solar radiation on 30 days from hours of sunshine, Eq. 35" in daily.notes

    def test_vapour_that_the_air_cannot_hold_is_lowered_and_said(self) -> None:
        tmax = full_record().values["tmax"]
        dew_point = np.where(np.arange(30) == 2, tmax, tmax - 12)
        daily = prepare_weather(full_record(dew_point=dew_point), SITE, WITH_WIND)
        assert_complete(daily)
        assert any("lowered to saturation: 2025-06-03" in note for note in daily.notes)


class TestRefused:
    def test_faults_of_the_checks(self) -> None:
        assert refused(full_record(rain=-1.0), WITH_WIND)[0].startswith("rain, 2025-06-01 to 2025-06-30")

    def test_bare_temperatures_name_every_setting(self) -> None:
        found = refused(record(tmax=[20.0, 21.5], tmin=[10.0, 11.0]), choice())
        assert found == [
            'rain: the record has none; a column of it, or set [weather.fill] rain = "count as none"',
            "humidity: the record has none; a column of it, or set [weather.fill] humidity = "
            '"dew point from tmin"',
            "solar radiation or sunshine: the record has none; a column of it, or set [weather.fill] "
            'radiation = "from temperature"',
            'wind: the record has none; a column of it, or set [weather.fill] wind = "2 m/s"',
        ]

    def test_missing_days_are_named_once(self) -> None:
        weather = full_record()
        for column in weather.values.values():
            column[[3, 4, 9]] = np.nan
        assert refused(weather, WITH_WIND) == [
            "tmax and tmin, 2025-06-04 to 2025-06-05, 2025-06-10: missing on 3 days; put the measured values "
            'in, or set [weather.fill] gaps = "mean of neighbours" or "long-term mean"'
        ]

    @pytest.mark.parametrize(
        ("variable", "what", "setting"),
        [
            ("rain", "rain", 'rain = "count as none"'),
            ("solar_radiation", "solar radiation or sunshine", 'radiation = "from temperature"'),
            ("wind", "wind", 'wind = "2 m/s"'),
        ],
    )
    def test_one_missing_value(self, variable: str, what: str, setting: str) -> None:
        (fault,) = refused(without(full_record(), variable, 7), WITH_WIND)
        assert fault.startswith(f"{what}, 2025-06-08: missing on 1 day; ")
        assert fault.endswith(f"or set [weather.fill] {setting}")

    def test_many_gaps_are_counted(self) -> None:
        weather = without(full_record(), "rain", *range(0, 30, 2))
        assert "2025-06-11 and 9 more days: missing on 15 days" in refused(weather, WITH_WIND)[0]

    def test_four_days_are_too_many_for_neighbours(self) -> None:
        plan = choice(wind_height=2.0, gaps="mean of neighbours")
        weather = without(full_record(), "rain", 3, 4, 5, 6, 10)
        (fault,) = refused(weather, plan)
        assert fault.startswith(
            "rain, 2025-06-04 to 2025-06-07: missing on 4 days; the mean of neighbours fills at"
        )

    def test_gap_at_an_end_is_refused(self) -> None:
        plan = choice(wind_height=2.0, gaps="mean of neighbours")
        assert "rain, 2025-06-30: missing" in refused(without(full_record(), "rain", 29), plan)[0]

    def test_long_term_mean_needs_other_years(self) -> None:
        plan = choice(wind_height=2.0, gaps="long-term mean")
        (fault,) = refused(without(full_record(), "rain", 5), plan)
        assert "needs values of the same season from 2 other years" in fault


class TestFilled:
    def test_temperatures_alone_with_every_setting(self) -> None:
        daily = prepare_weather(record(tmax=[20.0, 21.5], tmin=[10.0, 11.0]), SITE, choice(**FILLED))
        assert_complete(daily)
        assert sorted(daily.estimated) == ["humidity", "radiation", "rain", "wind"]
        assert all(days.all() for days in daily.estimated.values())
        assert daily.notes[-4:] == (
            "estimated: rain on 2 of 2 days: missing rain counts as none",
            "estimated: humidity on 2 of 2 days: dew point = tmin (Eq. 48)",
            "estimated: radiation on 2 of 2 days: from tmax - tmin with kRs 0.16 for inland (Eq. 50)",
            "estimated: wind on 2 of 2 days: 2 m/s at 2 m, as the plan says",
        )

    def test_only_the_days_that_lack_a_value(self) -> None:
        weather = without(without(full_record(), "rh_max", 4), "rh_min", 4)
        weather = without(without(weather, "solar_radiation", 6, 7), "wind", 9)
        daily = prepare_weather(weather, SITE, choice(wind_height=2.0, **FILLED))
        flagged = {key: np.flatnonzero(days).tolist() for key, days in daily.estimated.items()}
        assert flagged == {"humidity": [4], "radiation": [6, 7], "wind": [9]}
        assert_complete(daily)
        whole = prepare_weather(full_record(), SITE, WITH_WIND)
        same = ~np.logical_or.reduce(list(daily.estimated.values()))
        np.testing.assert_array_equal(daily.reference_et[same], whole.reference_et[same])

    def test_dew_point_below_tmin(self) -> None:
        weather = record(tmax=[30.0], tmin=[15.0])
        at_tmin = prepare_weather(weather, SITE, choice(**FILLED))
        below = prepare_weather(weather, SITE, choice(dew_point_below_tmin=2.0, **FILLED))
        assert below.reference_et[0] > at_tmin.reference_et[0]
        ratio = et.saturation_vapour_pressure(13.0) / et.saturation_vapour_pressure(30.0)
        assert below.rh_min[0] == pytest.approx(100 * float(ratio))
        assert any("dew point = tmin - 2 degC" in note for note in below.notes)

    def test_coast(self) -> None:
        weather = record(tmax=[22.0], tmin=[15.0])
        inland = prepare_weather(weather, SITE, choice(**FILLED))
        coast = prepare_weather(weather, SITE, choice(radiation_site="coast", **FILLED))
        assert coast.reference_et[0] > inland.reference_et[0]

    def test_neighbours(self) -> None:
        weather = full_record()
        for column in weather.values.values():
            column[[3, 4]] = np.nan
        daily = prepare_weather(weather, SITE, choice(wind_height=2.0, gaps="mean of neighbours"))
        assert_complete(daily)
        assert np.flatnonzero(daily.estimated["gap"]).tolist() == [3, 4]
        for name in ("tmax", "tmin", "rain"):
            middle = (weather.values[name][2] + weather.values[name][5]) / 2
            np.testing.assert_allclose(getattr(daily, name)[[3, 4]], middle)
        assert daily.notes[-1] == (
            "estimated: gap on 2 of 30 days: mean of neighbours (2025-06-04 to 2025-06-05)"
        )

    def test_own_setting_goes_before_the_rule_for_gaps(self) -> None:
        plan = choice(wind_height=2.0, gaps="mean of neighbours", rain="count as none")
        daily = prepare_weather(without(full_record(rain=8.0), "rain", 5), SITE, plan)
        assert daily.rain[5] == 0.0
        assert sorted(daily.estimated) == ["rain"]

    def test_filled_tmax_never_below_measured_tmin(self) -> None:
        weather = without(full_record(3, tmin=[5.0, 25.0, 5.0], tmax=[20.0, 30.0, 20.0]), "tmax", 1)
        daily = prepare_weather(weather, SITE, choice(wind_height=2.0, gaps="mean of neighbours"))
        assert daily.tmax[1] == daily.tmin[1] == 25.0

    def test_temperature_only_needs_nothing_else(self) -> None:
        weather = full_record()
        daily = prepare_weather(weather, SITE, choice(method="temperature only"))
        assert daily.estimated["method"].all()
        expected = et.reference_et_from_temperature(
            weather.values["tmax"],
            weather.values["tmin"],
            latitude=SITE.latitude,
            day_of_year=np.arange(152, 182),
        )
        np.testing.assert_array_equal(daily.reference_et, expected)
        assert (daily.wind_2m == 2.0).all()
        assert "wind of 2 m/s and dew point = tmin (Eq. 64) are assumed" in daily.notes[-1]

    def test_sign_of_latitude_is_a_warning(self) -> None:
        tmax = 20 - 8 * np.cos(2 * np.pi * np.arange(365) / 365)
        weather = record("2025-01-01", tmax=tmax, tmin=tmax - 10)
        plan = choice(method="temperature only", rain="count as none")
        warned = prepare_weather(weather, Site(-43.5, 120.0, "UTC"), plan)
        assert any("should the plan's latitude end in N?" in note for note in warned.notes)
        assert not any("latitude" in note for note in prepare_weather(weather, SITE, plan).notes)

    def test_inputs_are_not_written_into(self) -> None:
        weather = without(full_record(rh_max=103.0), "rain", 5)
        before = {name: column.copy() for name, column in weather.values.items()}
        prepare_weather(weather, SITE, choice(wind_height=2.0, gaps="mean of neighbours"))
        for name, column in before.items():
            np.testing.assert_array_equal(weather.values[name], column)


class TestGapRules:
    @given(st.lists(st.one_of(st.none(), st.floats(-40, 50)), min_size=1, max_size=40))
    def test_neighbours_fill_up_to_three_days_between_values(self, days: list[float | None]) -> None:
        values = np.array([np.nan if day is None else day for day in days])
        filled = mean_of_neighbours(values)
        for i, day in enumerate(days):
            before = next((j for j in range(i, -1, -1) if days[j] is not None), None)
            after = next((j for j in range(i, len(days)) if days[j] is not None), None)
            if day is not None:
                assert filled[i] == day
            elif before is None or after is None or after - before > 4:
                assert np.isnan(filled[i])
            else:
                assert filled[i] == pytest.approx((values[before] + values[after]) / 2)

    def test_long_term_mean_of_the_same_season(self) -> None:
        dates = np.arange("2021-01-01", "2025-01-01", dtype="datetime64[D]")
        year = dates.astype("datetime64[Y]").astype(int) + 1970
        values = np.where(year == 2023, 100.0, year - 2020.0)
        gap = int(np.flatnonzero(dates == np.datetime64("2023-06-15"))[0])
        values[gap] = np.nan
        filled = long_term_mean(values, dates, measured=np.ones(dates.size, dtype=bool))
        # 1, 2 and 4 in the other three years, seven days of each; the 100 of its own year does not count.
        assert filled[gap] == pytest.approx(7 / 3)
        assert np.isfinite(filled).all()

    @pytest.mark.parametrize("day", ["2022-01-01", "2022-12-31", "2024-02-29", "2021-01-02"])
    def test_long_term_mean_at_the_edges_of_years(self, day: str) -> None:
        dates = np.arange("2021-01-01", "2025-01-01", dtype="datetime64[D]")
        values = np.where(dates == np.datetime64(day), np.nan, 5.0)
        filled = long_term_mean(values, dates, measured=np.ones(dates.size, dtype=bool))
        assert (filled == 5.0).all()

    def test_forecasts_and_a_single_other_year_do_not_count(self) -> None:
        dates = np.arange("2022-01-01", "2025-01-01", dtype="datetime64[D]")
        values = np.where(dates == np.datetime64("2023-06-15"), np.nan, 5.0)
        measured = dates < np.datetime64("2024-01-01")
        assert np.isnan(long_term_mean(values, dates, measured=measured)).sum() == 1

    def test_long_term_mean_through_the_record(self) -> None:
        weather = full_record(3 * 365, "2022-01-01", solar_radiation=2.0 + np.arange(3 * 365) % 4 / 2)
        for column in weather.values.values():
            column[500:510] = np.nan
        daily = prepare_weather(weather, SITE, choice(wind_height=2.0, gaps="long-term mean"))
        assert_complete(daily)
        assert np.flatnonzero(daily.estimated["gap"]).tolist() == list(range(500, 510))
