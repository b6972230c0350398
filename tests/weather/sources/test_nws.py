"""The gridpoint forecast: addresses, local days through clock changes, and spoiled documents."""

from __future__ import annotations

import json
from copy import deepcopy
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from scheduler.errors import SourceError
from scheduler.weather.sources.nws import grid_url, issued_at, parse_gridpoint, parse_point, point_url
from tests.weather.sources.samples import SITE, text_of

GRID = json.loads(text_of("nws_gridpoint.json"))


def grid(issued="2024-06-01T10:12:44+00:00", **layers):
    """Return a document of these layers, each (unit, {interval: value})."""
    properties = {"updateTime": issued}
    for name, (unit, values) in layers.items():
        entries = [{"validTime": span, "value": value} for span, value in values.items()]
        properties[name] = {"uom": unit, "values": entries}
    return {"properties": properties}


def parse(document, timezone="America/Chicago"):
    return parse_gridpoint(json.dumps(document), timezone=timezone)


def refused(document) -> str:
    text = document if isinstance(document, str) else json.dumps(document)
    with pytest.raises(SourceError) as caught:
        parse_gridpoint(text, timezone="America/Chicago")
    return str(caught.value)


def by_day(record, name):
    return {str(day): float(value) for day, value in zip(record.dates, record.values[name], strict=True)}


def changed(layer, **parts):
    document = deepcopy(GRID)
    document["properties"][layer] |= parts
    return document


def with_time(text):
    return grid(windSpeed=("wmoUnit:km_h-1", {text: 10}))


class TestAddress:
    def test_point(self):
        assert point_url(SITE) == "https://api.weather.gov/points/44.1,-92.5"
        exact = replace(SITE, latitude=44.123456, longitude=-90.0)
        assert point_url(exact) == "https://api.weather.gov/points/44.1235,-90"
        with pytest.raises(SourceError, match="longitude"):
            point_url(replace(SITE, longitude=None))

    def test_cell(self):
        cell = parse_point(text_of("nws_points.json"))
        assert grid_url(cell) == "https://api.weather.gov/gridpoints/ARX/30,60"
        assert cell.timezone == "America/Chicago"

    @pytest.mark.parametrize(
        "change",
        [
            {"gridId": "../evil"},
            {"gridId": None},
            {"gridX": "30"},
            {"gridX": -1},
            {"gridY": True},
            {"gridY": 1e3},
            {"timeZone": "Nowhere/Town"},
            {"timeZone": 5},
        ],
    )
    def test_cell_refused(self, change):
        document = json.loads(text_of("nws_points.json"))
        document["properties"] |= change
        with pytest.raises(SourceError):
            parse_point(json.dumps(document))

    def test_issue_time(self):
        assert issued_at(text_of("nws_gridpoint.json")) == datetime(2024, 6, 1, 10, 12, 44, tzinfo=UTC)
        with pytest.raises(SourceError, match="updateTime"):
            issued_at('{"properties": {"updateTime": "yesterday"}}')


class TestDays:
    def test_evening_of_the_day_before_is_no_day(self):
        assert str(parse(GRID).dates[0]) == "2024-06-01"

    def test_day_of_23_hours(self):
        # In Chicago, 10 March 2024 runs from 06Z to 05Z of the next day.
        spans = {"2024-03-10T06:00:00+00:00/PT23H": 23.0, "2024-03-11T05:00:00+00:00/PT24H": 0.0}
        record = parse(grid("2024-03-09T20:00:00+00:00", quantitativePrecipitation=("wmoUnit:mm", spans)))
        assert by_day(record, "rain") == {"2024-03-10": 23.0, "2024-03-11": 0.0}

    def test_day_of_25_hours(self):
        # 3 November 2024 runs from 05Z to 06Z of the next day: of 50 hours from 05Z on, it has 25.
        spans = {"2024-11-03T05:00:00+00:00/P2DT2H": 50.0}
        document = grid("2024-11-02T20:00:00+00:00", quantitativePrecipitation=("wmoUnit:mm", spans))
        rain = by_day(parse(document), "rain")
        assert rain["2024-11-03"] == pytest.approx(25.0)
        assert rain["2024-11-04"] == pytest.approx(24.0)
        # One hour of 5 November is not a day.
        assert np.isnan(rain["2024-11-05"])

    def test_wind_is_weighted_by_the_hours_of_the_day(self):
        spans = {"2024-11-03T05:00:00+00:00/PT5H": 36.0, "2024-11-03T10:00:00+00:00/PT20H": 0.0}
        record = parse(grid(windSpeed=("wmoUnit:km_h-1", spans)))
        assert by_day(record, "wind")["2024-11-03"] == pytest.approx(10.0 * 5 / 25)

    def test_hole_in_the_rain(self):
        spans = {"2024-06-01T05:00:00+00:00/PT6H": 1.0, "2024-06-01T12:00:00+00:00/PT41H": 1.0}
        record = parse(grid("2024-05-31T10:00:00+00:00", quantitativePrecipitation=("wmoUnit:mm", spans)))
        assert np.isnan(by_day(record, "rain")["2024-06-01"])
        assert by_day(record, "rain")["2024-06-02"] == pytest.approx(24 / 41)

    def test_only_the_day_of_the_forecast_may_begin_late(self):
        spans = {"2024-06-01T18:00:00+00:00/PT11H": 4.0}
        layer = ("wmoUnit:mm", spans)
        today = parse(grid("2024-06-01T17:00:00+00:00", quantitativePrecipitation=layer))
        assert by_day(today, "rain") == {"2024-06-01": 4.0}
        assert any("of the last 11 hours of the day" in note for note in today.notes)
        wind = ("wmoUnit:m_s-1", {"2024-05-30T05:00:00+00:00/P1D": 3})
        tomorrow = grid("2024-05-30T10:00:00+00:00", quantitativePrecipitation=layer, windSpeed=wind)
        earlier = parse(tomorrow)
        # A forecast of two days before has no reason to lack that morning.
        assert by_day(earlier, "wind")["2024-05-30"] == 3
        assert np.isnan(by_day(earlier, "rain")["2024-06-01"])

    def test_null_at_the_beginning_is_not_gone_by(self):
        spans = {"2024-06-01T12:00:00+00:00/PT6H": None, "2024-06-01T18:00:00+00:00/PT35H": 7.0}
        record = parse(grid("2024-06-01T11:00:00+00:00", quantitativePrecipitation=("wmoUnit:mm", spans)))
        assert np.isnan(by_day(record, "rain")["2024-06-01"])

    def test_temperatures_from_the_hours_where_the_day_has_none(self):
        hours = {f"2024-06-01T{hour:02d}:00:00+00:00/PT1H": float(hour) for hour in range(5, 24)} | {
            f"2024-06-02T{hour:02d}:00:00+00:00/PT1H": -1.0 for hour in range(5)
        }
        night = {"2024-06-01T00:00:00+00:00/PT14H": 3.0}
        record = parse(grid(temperature=("wmoUnit:degC", hours), minTemperature=("wmoUnit:degC", night)))
        assert by_day(record, "tmax")["2024-06-01"] == 23.0
        assert by_day(record, "tmin")["2024-06-01"] == 3.0
        assert any("tmax from the hourly temperatures: 2024-06-01" in note for note in record.notes)

    def test_too_few_hours_for_a_mean(self):
        for hours, known in ((20, True), (19, False)):
            spans = {f"2024-06-01T05:00:00+00:00/PT{hours}H": 10.0}
            document = grid(
                windSpeed=("wmoUnit:m_s-1", spans),
                dewpoint=("wmoUnit:degC", {"2024-06-01T05:00:00+00:00/P1D": 9}),
            )
            assert np.isfinite(by_day(parse(document), "wind")["2024-06-01"]) == known

    def test_units(self):
        document = grid(windSpeed=("unit:kt", {"2024-06-01T05:00:00+00:00/P1D": 10}))
        assert by_day(parse(document), "wind")["2024-06-01"] == pytest.approx(5.14444, abs=1e-5)
        layer = {
            "unitCode": "wmoUnit:degF",
            "values": [{"validTime": "2024-06-01T05:00:00+00:00/P1D", "value": 50}],
        }
        document["properties"]["dewpoint"] = layer
        assert by_day(parse(document), "dew_point")["2024-06-01"] == pytest.approx(10.0)


@pytest.mark.parametrize(
    ("document", "part"),
    [
        ("<html>", "a page, not JSON"),
        (text_of("nws_gridpoint.json")[:900], "not JSON"),
        ({}, "properties: missing"),
        ({"properties": {"updateTime": "2024-06-01T10:12:44+00:00"}}, "no values in its layers"),
        (changed("windSpeed", uom="wmoUnit:furlong"), "wmoUnit:furlong"),
        (changed("windSpeed", uom=None), "no unit is declared"),
        (changed("windSpeed", uom=3), "one of degC"),
        (changed("windSpeed", uom="wmoUnit:mm"), "not a speed"),
        (changed("windSpeed", values=None), "a list of intervals"),
        (changed("windSpeed", values=[1]), "an interval with its value"),
        (
            changed("windSpeed", values=[{"validTime": "2024-06-01T05:00:00+00:00/PT1H"}]),
            "an interval with its value",
        ),
        (
            changed("windSpeed", values=[{"validTime": "2024-06-01T05:00:00+00:00/PT1H", "value": "7"}]),
            "a number, or null",
        ),
        (
            changed("windSpeed", values=[{"validTime": "2024-06-01T05:00:00+00:00/P1D", "value": 900}]),
            "0 to 60 m/s",
        ),
        (
            changed("windSpeed", values=[{"validTime": "2024-06-01T05:00:00+00:00/PT2H", "value": 1}] * 2),
            "two values at",
        ),
        (with_time("2024-06-01T05:00:00/PT1H"), "not a moment with its offset"),
        (with_time("2024-06-01T05:00:00+00:00"), "not a duration"),
        (with_time("2024-06-01T05:00:00+00:00/P"), "not a duration"),
        (with_time("2024-06-01T05:00:00+00:00/PT"), "not a duration"),
        (with_time("2024-06-01T05:00:00+00:00/PT0H"), "a duration of nothing"),
        (with_time("2024-06-01T05:00:00+00:00/P1M"), "not a duration"),
        (with_time("2024-06-01T05:00:00+00:00/P1Y"), "not a duration"),
        (with_time("2024-06-31T05:00:00+00:00/PT1H"), "interval such as"),
        (with_time("9999-12-31T23:00:00+00:00/P9999D"), "out of all reach"),
        (with_time("2024-06-01T05:00:00+00:00/P99D"), "at most 45 days"),
        (with_time("2024-06-01T05:00:00+00:00/PT1H"), "no day is covered"),
    ],
)
def test_refused(document, part):
    assert part in refused(document)


def test_crossed_humidities_of_other_layers_do_not_matter():
    document = changed("skyCover", uom="wmoUnit:furlong")
    assert parse(document).dates.size == 3
