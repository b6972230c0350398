"""Rows of a station's own file: clocks, totals, gaps, and what is refused."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import WeatherError
from scheduler.weather.sources.station_csv import parse_station_csv, read_station_csv
from scheduler.weather.sources.station_layout import StationLayout
from tests.weather.sources.samples import METRIC_STATION, US_STATION, station, text_of

CHICAGO = ZoneInfo("America/Chicago")
PLAIN = StationLayout(("time",), "%Y-%m-%d %H:%M", {"rain": ("rain", "mm"), "temperature": ("temp", "degC")})


def written(rows):
    """Return a file of (local time, rain, temperature)."""
    lines = [f"{when:%Y-%m-%d %H:%M},{rain},{temp}" for when, rain, temp in rows]
    return "\n".join(["time,rain,temp", *lines])


def clock_rows(
    first, last, *, step=timedelta(minutes=30), zone=CHICAGO, rain=lambda moment: 0, temp=lambda moment: 20
):
    """Return rows as a local clock shows them, from one moment to another."""
    moment, rows = first.astimezone(UTC), []
    while moment <= last.astimezone(UTC):
        rows.append((moment.astimezone(zone), rain(moment), temp(moment)))
        moment += step
    return rows


def parse(text, timezone="America/Chicago", **changes):
    return station(text, PLAIN, timezone=timezone, **changes)


def refused(text, layout=PLAIN, **changes) -> str:
    with pytest.raises(WeatherError) as caught:
        station(text, layout, **changes)
    return str(caught.value)


def rain_of(record):
    return {str(day): float(value) for day, value in zip(record.dates, record.values["rain"], strict=True)}


def said(record, part):
    return any(part in note for note in record.notes)


def day(year, month, number, hour=0, minute=0):
    return datetime(year, month, number, hour, minute, tzinfo=CHICAGO)


class TestClockChanges:
    @pytest.mark.parametrize(
        ("first", "hours"), [(day(2024, 3, 10), 23), (day(2024, 11, 3), 25), (day(2024, 6, 1), 24)]
    )
    def test_a_mm_an_hour(self, first, hours):
        """Amounts since the row before, a clock that changes: each real hour brings 1 mm."""
        last = (first + timedelta(days=1)).astimezone(UTC)
        rows = clock_rows(first, last, rain=lambda moment: 0.5)
        record = parse(written(rows), rain="interval")
        assert record.values["rain"][0] == pytest.approx(hours)
        assert np.isfinite(record.values["tmax"][0])

    def test_repeated_hour_is_told_apart_by_the_order(self):
        first = day(2024, 11, 3)
        start = first.astimezone(UTC)

        def temp(moment):
            return (moment - start).total_seconds() / 3600

        rows = clock_rows(first, first + timedelta(days=1), temp=temp)
        assert sum(f"{when:%H:%M}" == "01:30" for when, _, _ in rows) == 2
        record = parse(written(rows))
        assert record.values["tmax"][0] == 24.5
        assert not said(record, "too few hours")
        assert record.dates.size == 1

    def test_energy_of_a_short_day(self):
        layout = StationLayout(
            ("time",), "%Y-%m-%d %H:%M", {"solar": ("temp", "W/m2"), "rain": ("rain", "mm")}
        )
        rows = clock_rows(day(2024, 3, 10), day(2024, 3, 11), temp=lambda moment: 100)
        record = station(written(rows), layout)
        assert record.values["solar_radiation"][0] == pytest.approx(100 * 23 * 3600 / 1e6)

    def test_clock_on_standard_time_all_year(self):
        # Rain in the last half hour of the local 1 July, which the standard clock calls 22:30 to 23:00.
        rows = [
            (when.astimezone(ZoneInfo("Etc/GMT+6")), 4.0 if when == day(2024, 7, 2) else 0.0, temp)
            for when, _, temp in clock_rows(day(2024, 7, 1), day(2024, 7, 3))
        ]
        assert rows[0][0].hour == 23
        record = parse(written(rows), rain="interval", clock="standard")
        assert rain_of(record)["2024-07-01"] == pytest.approx(4.0)
        assert rain_of(record)["2024-07-02"] == pytest.approx(0.0)

    def test_clock_on_utc(self):
        rows = [
            (when.astimezone(UTC), 1.0, temp)
            for when, _, temp in clock_rows(day(2024, 7, 1), day(2024, 7, 2))
        ]
        assert rain_of(parse(written(rows), rain="interval", clock="utc"))["2024-07-01"] == pytest.approx(
            48.0
        )

    def test_offset_in_the_text(self):
        lines = [
            f"{when.astimezone(UTC):%Y-%m-%d %H:%M}+0000,1.0,20"
            for when, _, _ in clock_rows(day(2024, 7, 1), day(2024, 7, 2))
        ]
        text = "\n".join(["time,rain,temp", *lines])
        record = parse(text, rain="interval", time_format="%Y-%m-%d %H:%M%z")
        assert rain_of(record)["2024-07-01"] == pytest.approx(48.0)

    def test_time_that_the_clock_skipped(self):
        text = "time,rain,temp\n2024-03-10 01:30,0,1\n2024-03-10 02:30,0,1\n2024-03-10 03:30,0,1\n"
        assert "skipped by the change of clocks" in refused(text)
        assert parse(text, clock="standard").dates.size == 1

    def test_hour_without_its_second_pass(self):
        text = "time,rain,temp\n" + "".join(f"2024-11-03 {hour:02d}:00,0,{hour}\n" for hour in range(24))
        text += "2024-11-04 00:00,0,0\n"
        record = parse(text, longest_step=60.0)
        # One of 25 hours is not covered.
        assert record.values["tmax"][0] == 23.0
        assert said(parse(text, least_share=0.97), "too few hours, so missing: 2024-11-03 (23.0 of 25 h)")


class TestRain:
    def two_days(self, totals, **changes):
        """Return two days of rows from 00:00 to 24:00 every 6 hours with these totals."""
        moments = [day(2024, 6, 1) + timedelta(hours=6 * place) for place in range(len(totals))]
        rows = [(moment, total, 20) for moment, total in zip(moments, totals, strict=True)]
        return rain_of(parse(written(rows), longest_step=360.0, **changes))

    def test_daily_total_is_not_summed(self):
        found = self.two_days([0, 1, 3, 3, 0, 2, 2, 5, 0])
        assert found["2024-06-01"] == pytest.approx(3)
        assert found["2024-06-02"] == pytest.approx(5)

    def test_counter_with_a_new_start(self):
        found = self.two_days([100, 101, 103, 103, 103, 1, 2, 2, 4], rain="counter")
        assert found["2024-06-01"] == pytest.approx(3)
        assert found["2024-06-02"] == pytest.approx(4)

    def test_amounts(self):
        found = self.two_days([9, 1, 2, 0, 1, 0, 0, 5, 0.5], rain="interval")
        # What fell up to the first row fell before it; the row at midnight closes the day before.
        assert found["2024-06-01"] == pytest.approx(4)
        assert found["2024-06-02"] == pytest.approx(5.5)

    def test_total_that_starts_anew_a_little_late(self):
        first = day(2024, 6, 1)
        midnight = day(2024, 6, 2)

        def total(moment):
            local = moment.astimezone(CHICAGO)
            return (
                12.0
                if local < midnight + timedelta(minutes=15)
                and local.hour != 1
                and local >= first + timedelta(hours=9)
                else 0.0
            )

        start = first + timedelta(minutes=2)
        rows = clock_rows(start, day(2024, 6, 3), step=timedelta(minutes=5), rain=total)
        assert [rain for when, rain, _ in rows if when == midnight + timedelta(minutes=2)] == [12.0]
        found = rain_of(parse(written(rows)))
        assert found["2024-06-01"] == pytest.approx(12.0)
        assert found["2024-06-02"] == pytest.approx(0.0)

    def test_rain_right_after_midnight(self):
        found = self.two_days([0, 0, 0, 2, 0, 7, 7, 7, 0])
        assert found == pytest.approx({"2024-06-01": 2, "2024-06-02": 7})

    def test_total_that_starts_anew_in_the_day_is_the_days_own(self):
        """More than an hour after midnight the total is today's, though it falls back at noon."""

        def total(moment):
            local = moment.astimezone(CHICAGO)
            return 2.0 if local.day == 1 else 3.0 if local.hour < 12 else 0.0

        record = parse(written(clock_rows(day(2024, 6, 1, 0, 15), day(2024, 6, 3), rain=total)))
        # The first row of 2 June shows 3 mm, no less than the 2 mm of the evening before.
        assert rain_of(record) == pytest.approx({"2024-06-01": 2.0, "2024-06-02": 3.0})
        assert said(record, "started anew 1 times")

    def test_total_over_a_gap_belongs_to_its_own_day(self):
        rows = [row for row in clock_rows(day(2024, 6, 1), day(2024, 6, 3)) if not 5 <= row[0].hour < 6]
        rows = [(when, 0 if when.day == 1 else 6.0 if when.hour >= 6 else 0, temp) for when, _, temp in rows]
        found = rain_of(parse(written(rows)))
        assert found["2024-06-02"] == pytest.approx(6.0)

    def test_amount_in_a_gap_over_midnight_is_on_no_day(self):
        late, early = day(2024, 6, 1, 23), day(2024, 6, 2, 1)
        rows = clock_rows(day(2024, 6, 1), day(2024, 6, 3), rain=lambda moment: 0 if moment <= late else 8.0)
        rows = [row for row in rows if not late < row[0] < early]
        record = parse(written(rows), rain="counter")
        assert np.isnan(rain_of(record)["2024-06-01"])
        assert np.isnan(rain_of(record)["2024-06-02"])
        assert said(record, "8.0 mm fell in a gap from 2024-06-01 to 2024-06-02")

    def test_file_that_begins_within_a_day(self):
        rows = clock_rows(day(2024, 6, 1, 1), day(2024, 6, 2), rain=lambda moment: 3.0)
        assert rain_of(parse(written(rows)))["2024-06-01"] == pytest.approx(3.0)

    @settings(max_examples=60)
    @given(st.lists(st.floats(0, 20).map(lambda depth: round(depth, 1)), min_size=40, max_size=60))
    def test_three_ways_of_telling_the_same_rain(self, depths):
        zone = ZoneInfo("UTC")
        moments = [
            datetime(2024, 6, 1, tzinfo=zone) + timedelta(hours=place) for place in range(len(depths) + 1)
        ]
        falls = [0.0, *depths]
        counted = np.cumsum(falls).round(1)
        daily, total = [], 0.0
        for moment, fall in zip(moments, falls, strict=True):
            # What fell up to midnight is on the total of the day before, which the next row does not show.
            total = 0.0 if moment.hour == 0 else total + fall
            daily.append(round(total, 1))
        texts = {
            "interval": written((m, f, 20) for m, f in zip(moments, falls, strict=True)),
            "counter": written((m, c, 20) for m, c in zip(moments, counted, strict=True)),
            "daily total": written((m, d, 20) for m, d in zip(moments, daily, strict=True)),
        }
        found = {kind: parse(text, "UTC", rain=kind).values["rain"] for kind, text in texts.items()}
        np.testing.assert_allclose(found["counter"], found["interval"], atol=1e-6)
        assert found["interval"][0] == pytest.approx(sum(falls[1:25]))
        # A total read once an hour loses what falls in the hour before it starts anew.
        assert found["daily total"][0] == pytest.approx(sum(falls[1:24]), abs=1e-6)


class TestCoverage:
    def test_share_of_the_day(self):
        rows = clock_rows(day(2024, 6, 1), day(2024, 6, 1, 21, 30))
        enough = parse(written(rows), least_share=0.89)
        assert enough.values["tmax"].tolist() == [20.0]
        short = parse(written(rows))
        assert np.isnan(short.values["tmax"]).all()
        assert said(short, "temperature: too few hours, so missing: 2024-06-01 (21.5 of 24 h)")

    def test_gap_within_a_day(self):
        rows = [row for row in clock_rows(day(2024, 6, 1), day(2024, 6, 2)) if not 10 < row[0].hour < 14]
        assert said(parse(written(rows)), "temperature: too few hours, so missing: 2024-06-01 (20.5 of 24 h)")
        assert np.isfinite(parse(written(rows), longest_step=240.0).values["tmax"][0])

    def test_days_without_a_row_are_missing(self):
        rows = [row for row in clock_rows(day(2024, 6, 1), day(2024, 6, 5)) if row[0].day != 3]
        record = parse(written(rows))
        assert record.dates.size == 4
        assert np.isnan(record.values["rain"][2])
        assert rain_of(record)["2024-06-02"] == pytest.approx(0)

    def test_negative_flux_at_night_is_none(self):
        layout = StationLayout(
            ("time",), "%Y-%m-%d %H:%M", {"solar": ("temp", "W/m2"), "rain": ("rain", "mm")}
        )
        rows = clock_rows(day(2024, 6, 1), day(2024, 6, 2), temp=lambda moment: -3)
        assert station(written(rows), layout).values["solar_radiation"][0] == 0


class TestRows:
    def test_newest_first(self):
        rows = clock_rows(
            day(2024, 6, 1), day(2024, 6, 2), rain=lambda moment: moment.astimezone(CHICAGO).hour
        )
        record, turned = parse(written(rows)), parse(written(rows[::-1]))
        np.testing.assert_array_equal(record.values["rain"], turned.values["rain"])
        assert said(turned, "newest row came first")

    def test_rows_given_twice(self):
        rows = clock_rows(day(2024, 6, 1), day(2024, 6, 2))
        assert said(parse(written([*rows[:3], rows[2], *rows[3:]])), "1 rows given twice")

    def test_date_and_time_in_two_columns(self):
        rows = clock_rows(day(2024, 6, 1), day(2024, 6, 2))
        text = "\n".join(["date,clock,rain,temp", *(f"{w:%d.%m.%Y},{w:%H:%M},{r},{t}" for w, r, t in rows)])
        assert (
            parse(text, time_columns=("date", "clock"), time_format="%d.%m.%Y %H:%M").values["tmax"][0] == 20
        )

    def test_codes_for_missing(self):
        rows = clock_rows(day(2024, 6, 1), day(2024, 6, 2))
        for code in ("", "--", "65535", "NaN"):
            text = written([*rows[:5], (rows[5][0], 0, code), *rows[6:]])
            assert parse(text).values["tmax"][0] == 20

    def test_a_spike_is_no_reading(self):
        rows = clock_rows(day(2024, 6, 1), day(2024, 6, 2))
        record = parse(written([*rows[:5], (rows[5][0], 0, 850), *rows[6:]]))
        assert record.values["tmax"][0] == 20
        assert said(record, '"temp": 1 readings cannot be')

    def test_file(self, tmp_path):
        path = tmp_path / "station.csv"
        path.write_bytes(text_of("pws_metric_semicolon.csv").encode("cp1252"))
        record, changed = read_station_csv(path, METRIC_STATION, timezone="Europe/Berlin")
        assert record.values["rain"][0] == 12.7
        assert said(record, "read as Windows-1252")
        assert changed.tzinfo is UTC
        with pytest.raises(WeatherError, match="cannot be read"):
            read_station_csv(tmp_path / "none.csv", METRIC_STATION, timezone="Europe/Berlin")
        (tmp_path / "picture.csv").write_bytes(b"\x89PNG\x00\x00")
        with pytest.raises(WeatherError, match="not a text file"):
            read_station_csv(tmp_path / "picture.csv", METRIC_STATION, timezone="Europe/Berlin")
        (tmp_path / "odd.csv").write_bytes(b"time;\x81\x8d\n")
        with pytest.raises(WeatherError, match="not a text file"):
            read_station_csv(tmp_path / "odd.csv", METRIC_STATION, timezone="Europe/Berlin")


HEAD = "time,rain,temp\n"


@pytest.mark.parametrize(
    ("text", "changes", "part"),
    [
        ("", {}, "the file is empty"),
        (HEAD, {}, "a header but no rows"),
        (HEAD + "2024-06-01 00:00,0", {}, "2 cells"),
        (HEAD + "06/01/2024 00:00,0,1", {}, "a time written as %Y-%m-%d %H:%M"),
        (HEAD + "2024-06-01 25:00,0,1", {}, "a time written as"),
        (HEAD + "0001-06-01 00:00,0,1", {}, "a time written as"),
        (HEAD + "2024-06-01 00:00,0,1", {"time_format": "%Q"}, "a time written as"),
        (HEAD + "2024-06-01 00:00,x,1", {}, 'row 2, column "rain"'),
        (HEAD + '2024-06-01 00:00,"1,5",1', {}, "a number with"),
        (HEAD + "2024-06-01 00:00,0,1e5", {}, "a number with"),
        (HEAD + "2024-06-01 00:00,0,1\n2024-06-01 00:00,0,2", {}, "one for each time"),
        (
            HEAD + "2024-06-01 02:00,0,1\n2024-06-01 01:00,0,2\n2024-06-01 03:00,0,2",
            {},
            "in the order of time",
        ),
        (HEAD + "2024-06-01 00:00,0,1", {"time_columns": ("Time of day",)}, 'no column named "Time of day"'),
        (HEAD + "2024-06-01 00:00,0,1", {"time_columns": ()}, "one column with date and time, or two"),
        (HEAD + "2024-06-01 00:00,0,1", {"columns": {"rain": ("rain", "degC")}}, "not a depth"),
        (HEAD + "2024-06-01 00:00,0,1", {"columns": {"rain": ("rain", "")}}, "columns > rain"),
        (
            HEAD + "2024-06-01 00:00,0,1",
            {"columns": {"solar": ("temp", "MJ/m2"), "rain": ("rain", "mm")}},
            "a flux in W/m2",
        ),
        (
            HEAD + "2024-06-01 00:00,0,1",
            {"columns": {"solar": ("temp", "W/m2")}},
            "neither temperature nor rain",
        ),
        (
            HEAD + "2024-06-01 00:00,0,1",
            {"columns": {"rain": ("rain", "mm"), "snow": ("temp", "mm")}},
            "no such quantity",
        ),
        (
            HEAD + "2024-06-01 00:00,0,1",
            {"columns": {"rain": ("rain", "mm"), "wind": ("rain", "m/s")}},
            "one column for two purposes",
        ),
        (HEAD + "2024-06-01 00:00,0,1", {"longest_step": 0.0}, "a step above 0"),
        (HEAD + "2024-06-01 00:00,0,1", {"least_share": 1.5}, "shares of a day"),
        ("time,rain,rain,temp\n2024-06-01 00:00,0,0,1", {}, '2 columns named "rain"'),
        (HEAD + "1901-01-01 00:00,0,1\n2199-01-01 00:00,0,1", {}, "200 years"),
        (
            HEAD + "".join(f"2024-06-01 {hour:02d}:00,0,77\n" for hour in range(9)),
            {},
            "9 of 9 readings cannot be",
        ),
    ],
)
def test_refused(text, changes, part):
    assert part in refused(text, **changes)


def test_two_months_of_five_minutes():
    first = datetime(2024, 1, 1, tzinfo=UTC)
    lines = [
        f"{first + timedelta(minutes=5 * place):%Y-%m-%d %H:%M},{place % 288 / 10:.1f},{place % 30}"
        for place in range(288 * 60 + 1)
    ]
    record = parse_station_csv("\n".join(["time,rain,temp", *lines]), PLAIN, timezone="UTC", source="s.csv")
    np.testing.assert_allclose(record.values["rain"], 28.7)
    assert record.dates.size == 60


def test_samples_are_read_with_their_own_layouts_only():
    with pytest.raises(WeatherError, match='no column named "Zeit"'):
        station(text_of("pws_us.csv"), METRIC_STATION)
    with pytest.raises(WeatherError, match='no column named "Date Time"'):
        station(text_of("pws_metric_semicolon.csv"), US_STATION)
