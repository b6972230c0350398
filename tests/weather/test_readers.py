"""Weather tables as people have them, good and bad; every file here is made up."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.errors import WeatherError
from scheduler.weather.columns import COLUMN_MAP
from scheduler.weather.readers import parse_weather, read_weather
from scheduler.weather.record import VARIABLES, WeatherRecord
from tests.weather.records import choice

METRIC = (
    "date,tmax_c,tmin_c,rain_mm\n2025-06-01,24.5,12.5,0\n2025-06-02,25.5,13.0,4.2\n2025-06-03,26.0,14.1,\n"
)


def parse(text: str, **columns: tuple[str, str]) -> WeatherRecord:
    return parse_weather(text, choice(columns=columns), source="w.csv")


def refused(text: str, **columns: tuple[str, str]) -> list[str]:
    with pytest.raises(WeatherError) as caught:
        parse(text, **columns)
    assert caught.value.source == "w.csv"
    return [str(fault) for fault in caught.value.faults]


def table(rows: str, header: str = "date,tmax_c,tmin_c") -> str:
    return f"{header}\n{rows}\n"


def said(record: WeatherRecord, part: str) -> bool:
    return any(part in note for note in record.notes)


class TestSoundFiles:
    def test_metric(self) -> None:
        record = parse(METRIC)
        assert record.dates.astype(str).tolist() == ["2025-06-01", "2025-06-02", "2025-06-03"]
        np.testing.assert_array_equal(record.values["tmax"], [24.5, 25.5, 26.0])
        np.testing.assert_array_equal(record.values["rain"], [0, 4.2, np.nan])
        assert set(record.values) == set(VARIABLES)
        assert not record.has("wind")
        assert not record.forecast.any()
        assert record.source == "w.csv"

    def test_us_units_give_canonical_numbers(self) -> None:
        header = "Date,Tmax (°F),Tmin [degF],Precipitation (in),wind_mph,RH max (%),solar_w_m2,dew point (F)"
        record = parse(table("2025-06-01,77,50,0.5,10,90,250,41", header))
        expected = {
            "tmax": 25.0,
            "tmin": 10.0,
            "rain": 12.7,
            "wind": 4.4704,
            "rh_max": 90.0,
            "solar_radiation": 21.6,
            "dew_point": 5.0,
        }
        for name, value in expected.items():
            assert record.values[name][0] == pytest.approx(value, abs=1e-12), name

    @pytest.mark.parametrize(
        ("name", "variable", "unit"),
        [
            ("tmax_c", "tmax", "degC"),
            ("temp_max_degc", "tmax", "degC"),
            ("tmin_f", "tmin", "degF"),
            ("rain_mm", "rain", "mm"),
            ("precipitation_in", "rain", "in"),
            ("rh_max_pct", "rh_max", "%"),
            ("solar_mj_m2", "solar_radiation", "MJ/m2"),
            ("solar_w_m2", "solar_radiation", "W/m2"),
            ("wind_m_s", "wind", "m/s"),
            ("wind_mph", "wind", "mph"),
            ("sunshine_h", "sunshine", "h"),
            ("dew_point_c", "dew_point", "degC"),
            ("tmax", "tmax", None),
        ],
    )
    def test_column_map(self, name: str, variable: str, unit: str | None) -> None:
        assert COLUMN_MAP[name] == (variable, unit)

    def test_every_unit_of_the_column_map_is_read(self) -> None:
        kinds = {pair for pair in COLUMN_MAP.values() if pair[1] and pair[0] not in ("tmax", "tmin")}
        for variable, unit in sorted(kinds):
            name = next(n for n, pair in COLUMN_MAP.items() if pair == (variable, unit))
            record = parse(table("2025-06-01,20,10,1", f"date,tmax_c,tmin_c,{name}"))
            assert np.isfinite(record.values[variable][0]), name

    def test_no_header_means_two_things(self) -> None:
        words = [word for word, pair in COLUMN_MAP.items() if pair[0] == "sunshine" and pair[1] == "min"]
        assert "sunshine_min" in words
        assert COLUMN_MAP["rh_min"] == ("rh_min", None)

    def test_comments_and_attribution(self) -> None:
        record = parse(f"# made up\n# attribution: Nobody, free to use\n{METRIC}")
        assert record.attribution == "Nobody, free to use"

    def test_byte_order_mark_and_windows_line_ends(self, tmp_path: Path) -> None:
        path = tmp_path / "w.csv"
        path.write_bytes(b"\xef\xbb\xbf" + METRIC.replace("\n", "\r\n").encode())
        record = read_weather(path, choice())
        np.testing.assert_array_equal(record.values["tmin"], [12.5, 13.0, 14.1])
        assert record.source == "w.csv"

    def test_windows_text_is_read_and_said(self, tmp_path: Path) -> None:
        path = tmp_path / "w.csv"
        path.write_bytes("date;tmax (°C);tmin (°C)\n2025-06-01;21,5;9,5\n".encode("cp1252"))
        record = read_weather(path, choice())
        assert record.values["tmax"][0] == 21.5
        assert said(record, "Windows-1252")

    def test_missing_marks(self) -> None:
        rows = "\n".join(
            f"2025-06-0{i},20,10,{m}" for i, m in enumerate(("NA", "nan", "--", "-", "M", ""), 1)
        )
        record = parse(table(rows, "date,tmax_c,tmin_c,rain_mm"))
        assert np.isnan(record.values["rain"]).all()

    def test_forecast_rows(self) -> None:
        rows = "2025-06-01,observed,20,10\n2025-06-03,Forecast,21,11\n2025-06-05,forecast,21,11"
        record = parse(table(rows, "date,origin,tmax_c,tmin_c"))
        assert record.forecast.tolist() == [False, False, True, True, True]

    def test_unknown_columns_are_named(self) -> None:
        record = parse(table("2025-06-01,20,10,7", "date,tmax_c,tmin_c,station"))
        assert said(record, 'columns not read: "station"')

    def test_declared_columns_win(self) -> None:
        text = table("2025-06-01,77,50,3", "DATE,TMAX,TMIN,tmax_c")
        record = parse(text, tmax=("TMAX", "degF"), tmin=("TMIN", "degF"), date=("DATE", ""))
        assert record.values["tmax"][0] == pytest.approx(25.0)
        assert said(record, 'columns not read: "tmax_c"')

    def test_humidity_a_little_over_100_is_clipped_and_said(self) -> None:
        record = parse(table("2025-06-01,20,10,103\n2025-06-02,20,10,99", "date,tmax_c,tmin_c,rh_max_pct"))
        np.testing.assert_array_equal(record.values["rh_max"], [100.0, 99.0])
        assert said(record, "rh_max: 1 day above 100 %, at most 103.0 %, set to 100 %")


class TestSeparatorsAndDecimals:
    @pytest.mark.parametrize(("sign", "name"), [(";", "semicolon"), ("\t", "tab")])
    def test_decimal_comma(self, sign: str, name: str) -> None:
        text = "date;tmax_c;tmin_c\n2025-06-01;12,5;-3,25\n2025-06-02;13;,\n".replace(";,", ";").replace(
            ";", sign
        )
        record = parse(text)
        np.testing.assert_array_equal(record.values["tmax"], [12.5, 13.0])
        np.testing.assert_array_equal(record.values["tmin"], [-3.25, np.nan])
        assert said(record, f"separator: {name}")
        assert said(record, 'decimal comma: "12,5" was read as 12.5')

    def test_semicolons_with_points(self) -> None:
        record = parse("date;tmax_c;tmin_c\n2025-06-01;12.5;3.25\n")
        assert record.values["tmax"][0] == 12.5
        assert not said(record, "decimal comma")

    def test_decimal_comma_between_commas_is_refused(self) -> None:
        faults = refused(table("2025-06-01,12,5,8,1"))
        assert faults == [
            'row 2: 5 cells in "2025-06-01,12,5,8,1"; 3 cells, as in the header; numbers with a decimal '
            "comma need semicolons or tabs between the columns"
        ]

    def test_quoted_decimal_comma_between_commas_is_refused(self) -> None:
        (fault,) = refused(table('2025-06-01,"12,5",8'))
        assert fault.startswith('row 2, column "tmax_c": "12,5"; decimals with a point')

    def test_thousands_are_refused(self) -> None:
        (fault,) = refused("date;tmax_c;tmin_c;solar_wh_m2\n2025-06-01;12,5;8,1;1.234,5\n")
        assert fault.startswith('row 2, column "solar_wh_m2": "1.234,5"')

    def test_point_among_decimal_commas_is_refused(self) -> None:
        (fault,) = refused("date;tmax_c;tmin_c\n2025-06-01;12,5;8.1\n")
        assert "decimals with a comma" in fault

    def test_comma_that_may_stand_between_thousands_is_refused(self) -> None:
        (fault,) = refused("date;tmax_c;tmin_c;solar_wh_m2\n2025-06-01;20;8;5,123\n")
        assert '"5,123" may be a decimal or thousands' in fault

    def test_thousands_beside_decimal_points_are_refused(self) -> None:
        (fault,) = refused("date;tmax_c;tmin_c;solar_wh_m2\n2025-06-01;20.5;8;5,123\n")
        assert fault.startswith('row 2, column "solar_wh_m2": "5,123"; decimals with a point')

    @pytest.mark.parametrize("text", ["12,5,1", "1 2", "12.5C", "1_0", "inf", "1e999", "٣", "twelve", "0x1F"])
    def test_what_is_no_number_is_refused(self, text: str) -> None:
        (fault,) = refused(f"date;tmax_c;tmin_c\n2025-06-01;{text};8\n")
        assert fault.startswith(f'row 2, column "tmax_c": "{text}"')

    @given(
        st.lists(st.tuples(st.integers(-400, 550), st.integers(0, 200)), min_size=1, max_size=40),
        st.sampled_from([(",", "."), (";", "."), ("\t", "."), (";", ","), ("\t", ",")]),
    )
    def test_all_spellings_give_the_same_numbers(
        self, days: list[tuple[int, int]], style: tuple[str, str]
    ) -> None:
        separator, decimal = style
        lines = [separator.join(("date", "tmax_c", "tmin_c"))]
        for i, (least, rise) in enumerate(days):
            cells = [f"{(least + rise) / 10:.1f}", f"{least / 10:.1f}"]
            day = str(np.datetime64("2025-01-01") + i)
            lines.append(separator.join([day, *(cell.replace(".", decimal) for cell in cells)]))
        record = parse("\n".join(lines))
        np.testing.assert_array_equal(record.values["tmax"], [round((a + b) / 10, 1) for a, b in days])
        np.testing.assert_array_equal(record.values["tmin"], [a / 10 for a, _ in days])


class TestDates:
    @pytest.mark.parametrize("text", ["03/04/2025", "3.4.2025", "20250403", "2025-4-3", "2025-W14-4", ""])
    def test_only_iso(self, text: str) -> None:
        (fault,) = refused(table(f"{text},20,10"))
        assert fault.startswith(f'row 2: date "{text}" in "{text},20,10"; year-month-day')

    def test_slashes_say_why(self) -> None:
        assert "may be 3 April or 4 March" in refused(table("03/04/2025,20,10"))[0]

    def test_day_that_does_not_exist(self) -> None:
        assert "a day that the calendar has" in refused(table("2025-02-30,20,10"))[0]

    def test_unsorted_rows_are_sorted_and_said(self) -> None:
        record = parse(table("2025-06-02,21,11\n2025-06-01,20,10"))
        np.testing.assert_array_equal(record.values["tmax"], [20.0, 21.0])
        assert said(record, "sorted")

    def test_missing_days_become_gaps(self) -> None:
        record = parse(table("2025-06-01,20,10\n2025-06-04,21,11"))
        np.testing.assert_array_equal(record.values["tmax"], [20.0, np.nan, np.nan, 21.0])

    def test_identical_rows_are_said(self) -> None:
        record = parse(table("2025-06-01,20,10\n2025-06-01,20.0,10\n2025-06-02,21,11"))
        assert record.dates.size == 2
        assert said(record, "given twice with the same values: 2025-06-01")

    def test_different_rows_of_a_date_are_quoted(self) -> None:
        faults = refused(table("2025-06-01,20,10\n2025-06-02,21,11\n2025-06-01,25,10"))
        assert faults == [
            '2025-06-01: rows that differ: row 2 "2025-06-01,20,10" and row 4 "2025-06-01,25,10"; '
            "one row for each date"
        ]

    def test_measurement_stays_before_a_forecast(self) -> None:
        rows = "2025-06-01,forecast,25,12\n2025-06-01,observed,20,10\n2025-06-02,forecast,21,11"
        record = parse(table(rows, "date,origin,tmax_c,tmin_c"))
        np.testing.assert_array_equal(record.values["tmax"], [20.0, 21.0])
        assert record.forecast.tolist() == [False, True]
        assert said(record, "measured, so the forecast row was left out: 2025-06-01")

    def test_slip_in_a_year(self) -> None:
        (fault,) = refused(table("2025-06-01,20,10\n0205-06-02,20,10"))
        assert "dates from 0205-06-02 to 2025-06-01" in fault


class TestHeaders:
    def test_name_without_unit(self) -> None:
        faults = refused(table("2025-06-01,77,10", "date,TMAX,tmin_c"))
        assert faults == [
            'column "TMAX": no unit for tmax; name it in the header, or declare it in the plan: '
            '[weather.columns] tmax = { column = "TMAX", unit = "degF" }'
        ]

    def test_unit_of_the_wrong_kind(self) -> None:
        (fault,) = refused(table("2025-06-01,20,10", "date,tmax (gal),tmin_c"))
        assert fault.startswith('column "tmax (gal)" (tmax)')

    def test_rate_is_no_depth(self) -> None:
        (fault,) = refused(table("2025-06-01,20,10,1", "date,tmax_c,tmin_c,rain (in/h)"))
        assert fault.startswith('column "rain (in/h)" (rain)')

    def test_needed_columns(self) -> None:
        faults = refused(table("1,2", "station,rain_mm"))
        assert [fault.split(": ")[1].split(";")[0] for fault in faults] == [
            "none is date",
            "none is tmax",
            "none is tmin",
        ]

    def test_two_columns_of_one_variable(self) -> None:
        faults = refused(table("2025-06-01,20,68,10", "date,tmax_c,tmax_f,tmin_c"))
        assert faults[0].startswith('columns "tmax_c" and "tmax_f": both hold tmax')

    def test_declared_column_that_is_not_there(self) -> None:
        faults = refused(table("2025-06-01,20,10", "date,hot,tmin_c"), tmax=("TMAX", "degC"))
        assert faults == [
            '[weather.columns] tmax: no column named "TMAX"; exactly one; the file has "date", "hot", '
            '"tmin_c"'
        ]

    def test_one_column_for_two_variables(self) -> None:
        faults = refused(table("2025-06-01,20", "date,t"), tmax=("t", "degC"), tmin=("t", "degC"))
        assert faults == ['column "t": declared as tmax and tmin; one of them']

    def test_declared_variable_that_is_none(self) -> None:
        assert "no such variable" in refused(METRIC, snow=("rain_mm", "mm"))[0]

    def test_no_header(self) -> None:
        assert "a header that names the columns first" in refused("2025-06-01,20,10\n")[0]

    def test_one_column_only(self) -> None:
        assert "commas, semicolons or tabs" in refused("hello\n")[0]

    def test_header_alone(self) -> None:
        assert "a header but no rows" in refused("date,tmax_c,tmin_c\n")[0]

    @pytest.mark.parametrize("text", ["", "\n \n", "# attribution: nobody\n"])
    def test_empty(self, text: str) -> None:
        assert "the file is empty" in refused(text)[0]

    def test_unknown_origin(self) -> None:
        faults = refused(table("2025-06-01,guess,20,10", "date,origin,tmax_c,tmin_c"))
        assert faults == ['row 2, column "origin": "guess"; "observed" or "forecast"']

    def test_open_quotation(self) -> None:
        assert "quotation marks in pairs" in refused(table('2025-06-01,"20,10'))[0]


class TestMissingCodes:
    @pytest.mark.parametrize("code", ["-99", "-99.9", "-999", "-9999", "9999.9", "999.9", "-996", "32767"])
    def test_temperature(self, code: str) -> None:
        faults = refused(table(f"2025-06-01,20,10\n2025-06-02,{code},10"))
        assert faults == [
            f'row 3, column "tmax_c": {code} looks like a code for a missing value; leave the cell empty '
            "where nothing was measured"
        ]

    def test_inches_of_rain(self) -> None:
        (fault,) = refused(table("2025-06-01,20,10,99.99", "date,tmax_c,tmin_c,rain_in"))
        assert "99.99 looks like a code" in fault

    def test_millimetres_of_rain(self) -> None:
        record = parse(table("2025-06-01,20,10,99.99", "date,tmax_c,tmin_c,rain_mm"))
        assert record.values["rain"][0] == 99.99

    def test_a_sunny_day_in_watt_hours(self) -> None:
        record = parse(table("2025-06-01,20,10,9999", "date,tmax_c,tmin_c,solar_wh_m2"))
        assert record.values["solar_radiation"][0] == pytest.approx(35.9964)


class TestManyFaults:
    def test_all_at_once(self) -> None:
        text = table("03/04/2025,20,10\n2025-06-02,hot,10\n2025-06-03,20,-999\n2025-06-04,20")
        assert [fault.split(":")[0] for fault in refused(text)] == [
            "row 5",
            "row 2",
            'row 3, column "tmax_c"',
            'row 4, column "tmin_c"',
        ]

    def test_list_is_capped(self) -> None:
        faults = refused(table("\n".join(f"{day:02d}/04/2025,20,10" for day in range(1, 31))))
        assert len(faults) == 26
        assert faults[-1] == "5 more faults of these kinds; mend the ones above first"


class TestFiles:
    def refused(self, path: Path) -> str:
        with pytest.raises(WeatherError) as caught:
            read_weather(path, choice())
        (fault,) = caught.value.faults
        assert Path(caught.value.source).name == path.name
        return str(fault)

    def test_too_large_is_not_read(self, tmp_path: Path) -> None:
        path = tmp_path / "big.csv"
        with path.open("wb") as file:
            file.truncate(200_000_000)
        assert self.refused(path) == (
            "the file has 200.0 MB; at most 50 MB; a daily record of a century is under 5 MB"
        )

    def test_empty(self, tmp_path: Path) -> None:
        path = tmp_path / "w.csv"
        path.write_bytes(b" \n")
        assert self.refused(path).startswith("the file is empty")

    def test_only_a_byte_order_mark(self, tmp_path: Path) -> None:
        path = tmp_path / "w.csv"
        path.write_bytes(b"\xef\xbb\xbf")
        assert self.refused(path).startswith("the file is empty")

    @pytest.mark.parametrize("data", [b"PK\x03\x04spread", "date,tmax_c".encode("utf-16"), b"\x81\x8d\xff"])
    def test_not_text(self, tmp_path: Path, data: bytes) -> None:
        path = tmp_path / "w.csv"
        path.write_bytes(data)
        assert self.refused(path).startswith("this is not a text file")

    def test_no_such_file(self, tmp_path: Path) -> None:
        assert "cannot be read" in self.refused(tmp_path / "none.csv")

    def test_folder(self, tmp_path: Path) -> None:
        assert "cannot be read" in self.refused(tmp_path)


def read_or_refused(text: str) -> bool:
    """Whether the text became a sound record, or an error that lists its faults."""
    try:
        return bool(parse(text).dates.size)
    except WeatherError as error:
        return bool(error.faults)


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text: str) -> None:
    assert read_or_refused(text)


CELLS = ["2025-06-01", "2025-06-02", "20", "-999", "1,5", "", '"', ";", "x"]


@given(st.lists(st.sampled_from(CELLS), max_size=30))
def test_any_rows_are_read_or_refused(cells: list[str]) -> None:
    assert read_or_refused(table("\n".join(",".join(cells[i : i + 3]) for i in range(0, len(cells), 3))))
