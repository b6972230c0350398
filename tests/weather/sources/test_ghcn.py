"""Files of the station archive in its three layouts, sound and spoiled."""

from __future__ import annotations

import numpy as np
import pytest

from scheduler.errors import SourceError
from scheduler.weather.sources.ghcn import parse_ghcn, request_url
from tests.weather.sources.samples import text_of

STATION = "USC00999901"


def dly(month, element, cells, station=STATION):
    """Return a line of a month; `cells` are day -> "value" or ("value", flags)."""
    groups = []
    for day in range(1, 32):
        value, flags = (
            cells.get(day, ("-9999", "   "))
            if isinstance(cells.get(day), tuple)
            else (cells.get(day, "-9999"), "  7")
        )
        groups.append(f"{value:>5}{flags:<3}")
    return f"{station}{month}{element}{''.join(groups)}"


def year(*rows):
    return "\n".join(f"{STATION},{row}" for row in rows)


def refused(text, **options) -> str:
    with pytest.raises(SourceError) as caught:
        parse_ghcn(text, **options)
    return str(caught.value)


def said(record, part):
    return any(part in note for note in record.notes)


class TestAddress:
    def test_station(self):
        assert request_url(STATION, base="http://127.0.0.1:1") == f"http://127.0.0.1:1/{STATION}.dly"

    @pytest.mark.parametrize("station", ["", "USC0099990", "../../secret", "usc00999901", "USC00999901\n"])
    def test_refused(self, station):
        with pytest.raises(SourceError, match="11 letters and digits"):
            request_url(station)


class TestSound:
    def test_the_three_layouts_agree(self):
        three = [parse_ghcn(text_of(name)) for name in ("ghcn.dly", "ghcn_access.csv", "ghcn_by_year.csv")]
        for record in three:
            assert record.values["tmax"][:2].tolist() == [21.8, 22.6]
            assert record.values["tmin"][:3].tolist() == [9.5, 10.0, 10.5]
            assert said(record, "STATION USC00999901".replace("STATION", "station"))

    def test_elements(self):
        lines = [
            dly("202406", "TMAX", {1: "250"}),
            dly("202406", "ADPT", {1: "121"}),
            dly("202406", "RHAV", {1: "66"}),
            dly("202406", "RHMX", {1: "101"}),
            dly("202406", "RHMN", {1: "41"}),
            dly("202406", "TSUN", {1: "630"}),
            dly("202406", "WDMV", {1: "216", 2: "864"}),
            dly("202406", "AWND", {2: "50"}),
            dly("202406", "SNOW", {1: "x"}),
        ]
        record = parse_ghcn("\r\n".join(lines) + "\r\n")
        first = {name: column[0] for name, column in record.values.items()}
        expected = {
            "tmax": 25.0,
            "dew_point": 12.1,
            "rh_mean": 66.0,
            "rh_max": 100.0,
            "rh_min": 41.0,
            "sunshine": 10.5,
            "wind": 2.5,
        }
        assert {name: first[name] for name in expected} == pytest.approx(expected)
        assert record.values["wind"][1] == 5.0
        assert said(record, "run of 24 hours")

    def test_total_of_several_days_is_on_none(self):
        lines = [
            dly("202406", "PRCP", {1: "0", 5: "10"}),
            dly("202406", "MDPR", {4: "203"}),
            dly("202406", "DAPR", {4: "3"}),
        ]
        record = parse_ghcn("\n".join(lines))
        np.testing.assert_array_equal(record.values["rain"], [0, np.nan, np.nan, np.nan, 1.0])
        assert said(record, "20.3 mm over 3 days up to 2024-06-04 is on no single day")

    def test_presumed_zero_is_missing(self):
        record = parse_ghcn(dly("202406", "PRCP", {1: ("0", "P 7"), 2: ("0", "T 7"), 3: ("25", "B 7")}))
        np.testing.assert_array_equal(record.values["rain"], [np.nan, 0, 2.5])
        assert said(record, "a presumed 0 counts as missing: 2024-06-01")

    def test_trace_is_none_whatever_stands_there(self):
        assert parse_ghcn(dly("202406", "PRCP", {1: ("3", "T 7")})).values["rain"].tolist() == [0.0]

    def test_hour_of_observation(self):
        morning = parse_ghcn(year("20240601,PRCP,10,,,7,0700"))
        assert said(morning, "read at 07:00")
        midnight = parse_ghcn(year("20240601,PRCP,10,,,7,2400"))
        assert not said(midnight, "read at")
        assert not said(midnight, "not told")
        assert said(parse_ghcn(year("20240601,PRCP,10,,,7,")), "not told")

    def test_one_slip_that_no_flag_has_caught(self):
        days = {day: "250" for day in range(1, 31)} | {7: "990"}
        record = parse_ghcn(dly("202406", "TMAX", days))
        assert np.isnan(record.values["tmax"][6])
        assert said(record, "tmax cannot be and counts as missing: 2024-06-07")

    def test_crossed_temperatures_count_as_missing(self):
        days = {day: "250" for day in range(1, 31)}
        record = parse_ghcn(f"{dly('202406', 'TMAX', days)}\n{dly('202406', 'TMIN', days | {9: '260'})}")
        assert np.isnan(record.values["tmax"][8])
        assert np.isnan(record.values["tmin"][8])
        assert np.isfinite(record.values["tmax"]).sum() == 29

    def test_same_value_twice(self):
        line = dly("202406", "TMAX", {1: "250"})
        assert parse_ghcn(f"{line}\n{line}").values["tmax"].tolist() == [25.0]

    def test_one_of_many_stations(self):
        text = (
            f"{dly('202406', 'TMAX', {1: '250'})}\n{dly('202406', 'TMAX', {1: '110'}, station='USC00999902')}"
        )
        assert parse_ghcn(text, station="USC00999902").values["tmax"].tolist() == [11.0]
        assert "2 stations" in refused(text)
        assert "no values of USC00999903" in refused(text, station="USC00999903")

    def test_leap_day(self):
        record = parse_ghcn(dly("202402", "PRCP", {29: "10"}))
        assert record.dates.astype(str).tolist() == ["2024-02-29"]

    def test_lines_whose_last_blanks_were_cut(self):
        line = dly("202406", "TMAX", {1: "250"}).rstrip()
        assert parse_ghcn(line).values["tmax"].tolist() == [25.0]


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("", "not in a layout"),
        ("<html>", "not in a layout"),
        ('{"error": 1}', "not in a layout"),
        (dly("202406", "TMAX", {1: "250"})[:200], "200 characters"),
        (dly("202406", "TMAX", {1: "21.8"}), "a whole number, in tenths"),
        (dly("202413", "TMAX", {1: "250"}), "a day that the calendar has"),
        (dly("202406", "TMAX", {31: "250"}), "day 31 of 2024-06"),
        (dly("202302", "TMAX", {29: "250"}), "day 29 of 2023-02"),
        (dly("202406", "SNOW", {1: "0"}), "no values"),
        (
            dly("202406", "TMAX", {1: "250"}) + "\n" + dly("202406", "TMAX", {1: "251"}),
            "two values that differ",
        ),
        (dly("202406", "TMAX", {day: "780" for day in range(1, 31)}), "30 of 30 days cannot be"),
        (year("20240601,TMAX,21.8,,,7,"), "a whole number, in tenths"),
        (year("20240601,PRCP,0.50,,,7,0700"), "a whole number, in tenths"),
        (year("20240601,TMAX,218"), "not in a layout"),
        (year("20240601,TMAX,218,,,7,", "20240602,TMAX,218"), "4 cells"),
        (year("20240601,TMAX,218,,,7,", "20240631,TMAX,218,,,7,"), "day 31 of 2024-06"),
        (year("20240601,TMAX,218,,,7,", '20240602,TMAX,"218,,,7,'), "quotation marks in pairs"),
        ('"STATION","DATE"\n"USC00999901"', "1 cells"),
        ('"STATION","DATE","TMAX"\n"USC00999901","2024-06-01","218"', "no flags"),
        ('"STATION","DATE","TMAX","TMAX"\n"USC00999901","2024-06-01","218","218"', "a column twice"),
        ('STATION","DATE","TMAX"\n"USC00999901","2024-06-01","218"', "STATION or DATE missing"),
        (
            '"STATION","DATE","TMAX","TMAX_ATTRIBUTES"\n"USC00999901","06/01/2024","218",",,7"',
            "a day in digits",
        ),
        ('"STATION","DATE","TMAX","TMAX_ATTRIBUTES"\n"USC00999901","2024-06-01","71.2",",,7"', "in tenths"),
    ],
)
def test_refused(text, part):
    assert part in refused(text)


def test_whole_degrees_are_noticed():
    # A year in whole degrees Fahrenheit, as another front end sends it, read as tenths of a degree Celsius.
    def fahrenheit(month, day):
        return round(50 - 35 * np.cos(month / 6 * np.pi) + day % 5)

    def lines(convert):
        days = range(1, 29)
        return "\n".join(
            dly(f"2023{month:02d}", "TMAX", {day: str(convert(fahrenheit(month, day))) for day in days})
            for month in range(1, 13)
        )

    assert "tenths of a degree, as the archive keeps them" in refused(lines(int))
    assert parse_ghcn(lines(lambda degrees: round((degrees - 32) * 50 / 9))).has("tmax")
