"""Every row of data/expected.csv: what a reader must return for the samples."""

from __future__ import annotations

import csv

import numpy as np
import pytest

from scheduler.errors import SourceError
from scheduler.weather.record import VARIABLES, WeatherRecord
from tests.weather.sources.samples import DATA, PARSERS, SITE, text_of

ROWS = list(csv.DictReader((DATA / "expected.csv").read_text(encoding="utf-8").splitlines()))
RECORDS = {name: parse(text_of(name)) for name, parse in PARSERS.items()}
PLAIN = [row for row in ROWS if row["field"] in VARIABLES and row["expected"][0] in "0123456789"]
MISSING = [row for row in ROWS if row["expected"] in ("missing", "absent") and ":" not in row["date"]]
OTHERS = [row for row in ROWS if row not in PLAIN and row not in MISSING]


def day_of(record: WeatherRecord, day: str) -> int | None:
    found = np.flatnonzero(record.dates.astype(str) == day)
    return int(found[0]) if found.size else None


def name_of(row: dict[str, str]) -> str:
    return "{file} {date} {field}".format(**row)


@pytest.mark.parametrize("row", PLAIN, ids=name_of)
def test_value(row):
    record = RECORDS[row["file"]]
    printed = row["expected"]
    decimals = len(printed.partition(".")[2])
    found = record.values[row["field"]][day_of(record, row["date"])]
    # Half of the last printed digit, and what a sum of binary fractions may be off.
    assert abs(found - float(printed)) <= 0.5 * 10**-decimals + 1e-9


@pytest.mark.parametrize("row", MISSING, ids=name_of)
def test_missing(row):
    record = RECORDS[row["file"]]
    place = day_of(record, row["date"])
    if row["expected"] == "absent":
        assert place is None
        return
    fields = VARIABLES if row["field"] == "all" else [row["field"]]
    assert place is not None
    assert all(np.isnan(record.values[field][place]) for field in fields)


def test_each_row_is_checked_here():
    assert sorted(name_of(row) for row in OTHERS) == [
        "openmeteo_archive_us_units.json 2024-06-01 eto",
        "openmeteo_error.json  error",
        "openmeteo_forecast.json 2024-06-01 day",
        "openmeteo_forecast.json 2024-06-01 wind",
        "pws_us.csv 2024-06-01 rs",
        "pws_us.csv 2024-06-02 06:00 wind",
    ]
    assert len(PLAIN) + len(MISSING) + len(OTHERS) == len(ROWS) == 38


def test_greatest_wind_is_not_taken_for_the_mean():
    record = RECORDS["openmeteo_forecast.json"]
    assert not record.has("wind")
    assert any("greatest" in note for note in record.notes)


def test_reference_et_of_the_service_is_not_read():
    # It is a sum over hours, and in inches here; the engine works out its own from the other columns.
    assert any(
        "not read: et0_fao_evapotranspiration" in note
        for note in RECORDS["openmeteo_archive_us_units.json"].notes
    )


def test_days_are_those_of_the_garden():
    elsewhere = text_of("openmeteo_forecast.json").replace("America/Chicago", "GMT")
    with pytest.raises(SourceError, match="days of America/Chicago"):
        PARSERS["openmeteo_forecast.json"](elsewhere)
    other_name = text_of("openmeteo_forecast.json").replace("America/Chicago", "US/Central")
    assert PARSERS["openmeteo_forecast.json"](other_name).dates.size == 7
    assert SITE.timezone == "America/Chicago"


def test_reason_of_an_error():
    with pytest.raises(SourceError, match="invalid String value temperature_2m_maxx for key daily"):
        PARSERS["openmeteo_forecast.json"](text_of("openmeteo_error.json"))


def test_radiation_is_weighted_by_time():
    # Flux at 0, 6, 12, 18 h, 23:55 and 24 h: 0, 22, 780, 310, 0, 0 W/m2, straight between.
    watt_hours = 6 * (0 + 22) / 2 + 6 * (22 + 780) / 2 + 6 * (780 + 310) / 2 + (5 + 55 / 60) * (310 + 0) / 2
    found = RECORDS["pws_us.csv"].values["solar_radiation"][0]
    assert found == pytest.approx(watt_hours * 3600 / 1e6, rel=1e-9)


def test_a_missing_cell_is_no_reading():
    # With the wind of 06:00 missing, nothing of that morning is covered.
    record = RECORDS["pws_us.csv"]
    assert any("wind: too few hours, so missing: 2024-06-02 (0.0 of 24 h)" in note for note in record.notes)
    assert any(
        "temperature: too few hours, so missing: 2024-06-02 (6.0 of 24 h)" in note for note in record.notes
    )


@pytest.mark.parametrize("name", PARSERS)
def test_forecast_or_not(name):
    record = RECORDS[name]
    assert (
        record.forecast.all()
        == record.forecast.any()
        == (name in ("openmeteo_forecast.json", "nws_gridpoint.json"))
    )
    assert set(record.values) == set(VARIABLES)
    assert all(column.shape == record.dates.shape for column in record.values.values())
    assert name.startswith("pws") or record.attribution
