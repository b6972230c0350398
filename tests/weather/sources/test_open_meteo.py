"""Addresses for Open-Meteo, and answers that are not as they should be."""

from __future__ import annotations

import json
from copy import deepcopy
from dataclasses import replace
from datetime import date
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pytest

from scheduler.errors import SourceError
from scheduler.weather.sources.open_meteo import ARCHIVE_DELAY, archive_spans, parse_open_meteo, request_url
from tests.weather.sources.samples import SITE, text_of

FORECAST = json.loads(text_of("openmeteo_forecast.json"))


def parse(document, site=SITE):
    text = document if isinstance(document, str) else json.dumps(document)
    return parse_open_meteo(text, site=site, forecast=True)


def refused(document) -> str:
    with pytest.raises(SourceError) as caught:
        parse(document)
    return str(caught.value)


def changed(**values):
    """Return the forecast with other top-level parts."""
    return deepcopy(FORECAST) | values


def daily(**columns):
    return changed(daily=FORECAST["daily"] | columns)


def units(**names):
    return changed(daily_units=FORECAST["daily_units"] | names)


class TestAddress:
    def test_forecast(self):
        url = request_url(SITE, "forecast")
        query = parse_qs(urlsplit(url).query)
        assert url.startswith("https://api.open-meteo.com/v1/forecast?")
        assert query["timezone"] == ["America/Chicago"]
        assert query["wind_speed_unit"] == ["ms"]
        assert (query["forecast_days"], query["past_days"]) == (["16"], ["2"])
        assert "wind_speed_10m_mean" in query["daily"][0]
        assert "wind_speed_10m_max" not in query["daily"][0]
        assert (query["latitude"], query["longitude"]) == (["44.1000"], ["-92.5000"])

    def test_archive(self):
        query = parse_qs(
            urlsplit(request_url(SITE, "archive", begins=date(2023, 4, 1), ends=date(2023, 4, 30))).query
        )
        assert (query["start_date"], query["end_date"]) == (["2023-04-01"], ["2023-04-30"])
        assert "past_days" not in query

    @pytest.mark.parametrize(
        ("site", "options"),
        [
            (replace(SITE, longitude=None), {"product": "forecast"}),
            (SITE, {"product": "archive"}),
            (SITE, {"product": "archive", "begins": date(2023, 5, 1), "ends": date(2023, 4, 1)}),
            (SITE, {"product": "forecast", "past_days": 93}),
        ],
    )
    def test_refused(self, site, options):
        product = options.pop("product")
        with pytest.raises(SourceError):
            request_url(site, product, **options)

    def test_spans_of_the_archive(self):
        on = date(2024, 6, 20)
        spans = archive_spans(date(2022, 11, 1), date(2024, 6, 18), on=on)
        assert spans == (
            (date(2022, 11, 1), date(2022, 12, 31), True),
            (date(2023, 1, 1), date(2023, 12, 31), True),
            (date(2024, 1, 1), date(2024, 5, 31), True),
            (date(2024, 6, 1), date(2024, 6, 18), False),
        )

    @pytest.mark.parametrize("on", [date(2024, 1, 3), date(2024, 1, 31), date(2024, 2, 29), date(2025, 3, 7)])
    @pytest.mark.parametrize("begins", [date(2023, 12, 30), date(2024, 1, 1), date(2024, 2, 28)])
    @pytest.mark.parametrize("length", [0, 1, 40, 400])
    def test_spans_leave_no_day_out(self, on, begins, length):
        ends = date.fromordinal(begins.toordinal() + length)
        spans = archive_spans(begins, ends, on=on)
        days = [day for first, last, _ in spans for day in range(first.toordinal(), last.toordinal() + 1)]
        assert days == list(range(begins.toordinal(), ends.toordinal() + 1))
        assert all(settled == ((on - last).days >= ARCHIVE_DELAY) for _, last, settled in spans)


class TestAnswer:
    def test_units_are_those_declared(self):
        in_fahrenheit = daily(
            temperature_2m_max=[
                None if c is None else c * 9 / 5 + 32 for c in FORECAST["daily"]["temperature_2m_max"]
            ]
        )
        in_fahrenheit["daily_units"]["temperature_2m_max"] = "°F"
        np.testing.assert_allclose(
            parse(in_fahrenheit).values["tmax"], parse(FORECAST).values["tmax"], rtol=1e-12
        )
        knots = changed(
            daily=FORECAST["daily"] | {"wind_speed_10m_mean": [10.0] * 7},
            daily_units=FORECAST["daily_units"] | {"wind_speed_10m_mean": "kn"},
        )
        np.testing.assert_allclose(parse(knots).values["wind"], 5.14444, atol=1e-5)

    def test_old_names(self):
        old = changed(
            daily=FORECAST["daily"] | {"windspeed_10m_mean": [2.0] * 7},
            daily_units=FORECAST["daily_units"] | {"windspeed_10m_mean": "m/s"},
        )
        assert parse(old).has("wind")

    def test_hours_of_sunshine(self):
        document = changed(
            daily=FORECAST["daily"] | {"sunshine_duration": [36_000] * 7},
            daily_units=FORECAST["daily_units"] | {"sunshine_duration": "s"},
        )
        np.testing.assert_allclose(parse(document).values["sunshine"], 10.0)

    def test_gap_between_days_is_visible(self):
        document = changed(daily={key: column[:2] + column[4:] for key, column in FORECAST["daily"].items()})
        record = parse(document)
        assert record.dates.size == 7
        assert np.isnan(record.values["tmax"][2:4]).all()

    @pytest.mark.parametrize(
        ("document", "part"),
        [
            ("<!DOCTYPE html><html>busy</html>", "a page, not JSON"),
            ("", "not JSON"),
            (text_of("openmeteo_forecast.json")[:600], "not JSON"),
            ('{"a": NaN}', "NaN is not a number"),
            (text_of("openmeteo_forecast.json").replace("12.7", "1e999"), "a number, or null"),
            ('{"a": 1, "a": 2}', "a key is given twice"),
            ("[" * 100_000, "not JSON"),
            (f'{{"a": {"9" * 5000}}}', "not JSON"),
            ([FORECAST, FORECAST], "one JSON object"),
            ("null", "one JSON object"),
            ({"error": True, "reason": 7}, 'the service says "7"'),
            ({"latitude": 44.1, "longitude": -92.5}, "daily: missing"),
            (changed(daily=[]), "daily: "),
            (changed(daily_units=None), "daily_units: "),
            (units(time="unixtime"), "iso8601"),
            (units(temperature_2m_max="furlong"), "unknown unit"),
            (units(temperature_2m_max="mm"), "not a temperature"),
            (units(temperature_2m_max=None), "no unit is declared"),
            (units(precipitation_sum=""), "no unit is declared"),
            (daily(temperature_2m_max=[25.0] * 6), "6 values"),
            (daily(temperature_2m_max="25"), "7 values, one for each day"),
            (daily(temperature_2m_max=["25"] * 7), "a number, or null"),
            (daily(temperature_2m_max=[True] * 7), "a number, or null"),
            (daily(temperature_2m_max=[10**400] * 7), "a number, or null"),
            (daily(temperature_2m_max=[78.0] * 7), "-60 to 60 degC"),
            (daily(precipitation_sum=[-1.0] * 7), "0 to 500 mm"),
            (daily(temperature_2m_min=[30.0] * 7), "the least not above the greatest"),
            (daily(time=["2024-06-01"] * 7), "days in order, each once"),
            (daily(time=["2024-W22-6"] * 7), "days in order"),
            (daily(time=["1 June"] * 7), "a day such as"),
            (daily(time=[1_717_200_000] * 7), "a day such as"),
            (daily(time=None), "a list of days"),
            (changed(daily={"time": []}), "at least one day"),
            (
                daily(
                    time=[
                        "0001-01-01",
                        "0001-01-02",
                        "0001-01-03",
                        "0001-01-04",
                        "0001-01-05",
                        "0001-01-06",
                        "9999-12-31",
                    ]
                ),
                "200 years",
            ),
            (changed(latitude=-44.1), "a grid cell near the garden"),
            (changed(longitude=92.5), "a grid cell near the garden"),
            (changed(latitude=None), "a grid cell near the garden"),
            (changed(timezone="Mars/Olympus"), "days of America/Chicago"),
            (changed(timezone="../../etc/passwd"), "days of America/Chicago"),
            (changed(timezone=None), "timezone"),
            (daily(windspeed_10m_mean=[1] * 7, wind_speed_10m_mean=[1] * 7), "under two names"),
        ],
    )
    def test_refused(self, document, part):
        if isinstance(document, dict) and "wind_speed_10m_mean" in document.get("daily", {}):
            document["daily_units"] |= {"windspeed_10m_mean": "m/s", "wind_speed_10m_mean": "m/s"}
        assert part in refused(document)

    def test_all_faults_at_once(self):
        document = daily(temperature_2m_max=[25.0], precipitation_sum=["x"] * 7)
        document["daily_units"]["temperature_2m_min"] = "m"
        assert "3 faults" in refused(document)

    def test_place_across_the_date_line(self):
        document = changed(longitude=-179.9)
        assert parse(document, replace(SITE, longitude=179.9)).dates.size == 7
