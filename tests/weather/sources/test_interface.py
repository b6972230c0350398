"""Daily weather from each kind of source, through the local server."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pytest

from scheduler.errors import RillbookError, SourceError, WeatherError
from scheduler.weather.sources.choices import (
    GhcnOptions,
    NwsOptions,
    OpenMeteoOptions,
    SourceChoice,
    StationOptions,
)
from scheduler.weather.sources.interface import fetch_daily
from scheduler.weather.sources.session import open_session
from tests.weather.sources.conftest import PATIENT, make_old
from tests.weather.sources.samples import DATA, SITE, US_STATION, text_of
from tests.weather.sources.server import Answer

DOWN = Answer("gone", status=500, content_type="text/plain")
GEO = "application/geo+json"
STATION = "USC00999901"
SPAN = {"begins": date(2024, 6, 1), "ends": date(2024, 6, 5)}


def open_meteo(server, *answers, **options):
    """Return the choice of a forecast from the local server."""
    base = server.will("/forecast", *answers)
    return SourceChoice("open-meteo", OpenMeteoOptions(base=base, **options))


def archive_answer(begins, ends):
    """Return what the archive says about a span: each day's maximum is its day of the month."""
    document = json.loads(text_of("openmeteo_archive_us_units.json"))
    days = [begins + timedelta(days=number) for number in range((ends - begins).days + 1)]
    document["daily"] = {"time": [str(day) for day in days], "temperature_2m_max": [day.day for day in days]}
    document["daily_units"]["temperature_2m_max"] = "°C"
    return Answer(json.dumps(document))


class TestOpenMeteo:
    def test_forecast(self, server, opened, clock):
        choice = open_meteo(server, Answer(text_of("openmeteo_forecast.json")))
        fetched = fetch_daily(choice, SITE, **SPAN, session=opened())
        assert fetched.record.dates.astype(str).tolist() == [f"2024-06-0{number}" for number in range(1, 6)]
        assert fetched.record.values["rain"].tolist() == [0, 12.7, 3.2, 0, 0]
        assert fetched.record.forecast.all()
        assert (fetched.fetched_at, fetched.age, fetched.stale) == (clock.at, timedelta(0), False)
        assert "Open-Meteo" in fetched.attribution
        assert "CC BY 4.0" in fetched.licence
        assert fetched.wind_height == 10.0
        assert fetched.record.attribution == f"{fetched.attribution}; {fetched.licence}"

    def test_outage_tells_the_age(self, server, opened, clock):
        choice = open_meteo(server, Answer(text_of("openmeteo_forecast.json")), DOWN)
        session = opened()
        fetch_daily(choice, SITE, **SPAN, session=session)
        make_old(session)
        clock.at += timedelta(hours=26)
        fetched = fetch_daily(choice, SITE, **SPAN, session=session)
        assert fetched.stale
        assert fetched.age >= timedelta(hours=26)
        assert any("status 500" in note for note in fetched.record.notes)
        assert any("stored since 2024-06-01 12:00 UTC, 26.0 h ago" in note for note in fetched.record.notes)

    @pytest.mark.parametrize(
        "spoiled",
        [
            text_of("openmeteo_forecast.json")[:500],
            text_of("openmeteo_forecast.json").replace('"mm"', '"furlong"'),
            text_of("openmeteo_forecast.json").replace("12.7", "NaN"),
            text_of("openmeteo_forecast.json").replace("America/Chicago", "GMT"),
            text_of("openmeteo_error.json"),
            "<html>busy</html>",
        ],
    )
    def test_spoiled_answer_does_not_replace_a_good_one(self, server, opened, clock, spoiled):
        choice = open_meteo(server, Answer(text_of("openmeteo_forecast.json")), Answer(spoiled))
        session = opened()
        good = fetch_daily(choice, SITE, **SPAN, session=session)
        make_old(session)
        clock.at += timedelta(hours=2)
        fetched = fetch_daily(choice, SITE, **SPAN, session=session)
        assert fetched.stale
        np.testing.assert_array_equal(fetched.record.values["rain"], good.record.values["rain"])
        fresh = open_meteo(server, Answer(spoiled), past_days=9)
        with pytest.raises(SourceError):
            fetch_daily(fresh, SITE, **SPAN, session=session)

    def test_archive_asks_again_for_recent_days_only(self, server, opened, clock):
        clock.at = datetime(2024, 3, 10, 12, tzinfo=UTC)
        answers = [
            archive_answer(date(2023, 12, 20), date(2023, 12, 31)),
            archive_answer(date(2024, 1, 1), date(2024, 2, 29)),
            archive_answer(date(2024, 3, 1), date(2024, 3, 8)),
        ]
        base = server.will("/archive", *answers)
        choice = SourceChoice("open-meteo", OpenMeteoOptions(product="archive", base=base))
        session = opened()
        span = {"begins": date(2023, 12, 20), "ends": date(2024, 3, 8)}
        for _ in range(2):
            fetched = fetch_daily(choice, SITE, **span, session=session)
            assert fetched.age == timedelta(0)
            make_old(session)
            clock.at += timedelta(hours=20)
        assert fetched.record.values["tmax"].tolist() == [day.day for day in fetched.record.dates.tolist()]
        assert not fetched.record.forecast.any()
        starts = [parse_qs(urlsplit(path).query)["start_date"][0] for path, _ in server.asked]
        assert starts == ["2023-12-20", "2024-01-01", "2024-03-01", "2024-03-01"]

    def test_age_is_that_of_what_may_still_change(self, server, opened, clock):
        clock.at = datetime(2024, 3, 10, 12, tzinfo=UTC)
        base = server.will("/archive", archive_answer(date(2024, 1, 1), date(2024, 2, 29)), DOWN)
        choice = SourceChoice("open-meteo", OpenMeteoOptions(product="archive", base=base))
        session = opened()
        settled = {"begins": date(2024, 1, 1), "ends": date(2024, 2, 29)}
        fetch_daily(choice, SITE, **settled, session=session)
        clock.at += timedelta(hours=5)
        again = fetch_daily(choice, SITE, **settled, session=session)
        assert (again.age, again.stale) == (timedelta(hours=5), False)
        server.will("/archive", archive_answer(date(2024, 3, 1), date(2024, 3, 8)), DOWN)
        both = settled | {"ends": date(2024, 3, 8)}
        assert fetch_daily(choice, SITE, **both, session=session).age == timedelta(0)
        make_old(session)
        clock.at += timedelta(hours=7)
        old = fetch_daily(choice, SITE, **both, session=session)
        assert timedelta(hours=7) <= old.age < timedelta(hours=8)
        assert old.stale

    def test_none_of_the_days(self, server, opened):
        choice = open_meteo(server, Answer(text_of("openmeteo_forecast.json")))
        later = {"begins": date(2024, 7, 1), "ends": date(2024, 7, 2)}
        with pytest.raises(SourceError, match="days from 2024-06-01 to 2024-06-07 only"):
            fetch_daily(choice, SITE, **later, session=opened())


class TestNws:
    def choice(self, server, *grids):
        server.will("/points/44.1,-92.5", Answer(text_of("nws_points.json"), content_type=GEO))
        server.will("/gridpoints/ARX/30,60", *grids)
        return SourceChoice("nws", NwsOptions(base=server.base))

    def test_forecast(self, server, opened):
        choice = self.choice(server, Answer(text_of("nws_gridpoint.json"), content_type=GEO))
        session = opened()
        for _ in range(2):
            fetched = fetch_daily(choice, SITE, **SPAN, session=session)
        assert fetched.record.dates.astype(str).tolist() == ["2024-06-01", "2024-06-02", "2024-06-03"]
        assert fetched.record.values["rain"][:2] == pytest.approx([5.08, 3.316])
        assert fetched.issued_at == datetime(2024, 6, 1, 10, 12, 44, tzinfo=UTC)
        assert fetched.wind_height == 10.0
        # Never the address that the answer names: that would be another host.
        assert [path for path, _ in server.asked] == ["/points/44.1,-92.5", "/gridpoints/ARX/30,60"]

    def test_not_modified(self, server, opened, clock):
        stamp = {"Last-Modified": "Sat, 01 Jun 2024 10:12:44 GMT"}
        sound = Answer(text_of("nws_gridpoint.json"), content_type=GEO, headers=stamp)
        choice = self.choice(server, sound, Answer("", status=304, headers=stamp))
        session = opened()
        fetch_daily(choice, SITE, **SPAN, session=session)
        make_old(session)
        clock.at += timedelta(hours=3)
        fetched = fetch_daily(choice, SITE, **SPAN, session=session)
        assert server.asked[-1][1]["If-Modified-Since"] == stamp["Last-Modified"]
        assert not fetched.stale
        assert fetched.age == timedelta(0)


class TestGhcn:
    def test_station(self, server, opened):
        server.will(f"/{STATION}.dly", Answer(text_of("ghcn.dly"), content_type="text/plain"))
        choice = SourceChoice("ghcn-daily", GhcnOptions(STATION, base=server.base))
        fetched = fetch_daily(choice, SITE, **SPAN, session=opened())
        assert fetched.record.values["rain"].tolist() == [0, 0, 12.7, 0, 0.8]
        assert not fetched.record.forecast.any()
        assert "Menne" in fetched.attribution
        assert fetched.wind_height is None

    def test_no_such_station(self, server, opened):
        choice = SourceChoice("ghcn-daily", GhcnOptions("USC00999999", base=server.base))
        with pytest.raises(SourceError, match="status 404"):
            fetch_daily(choice, SITE, **SPAN, session=opened())


class TestStationFile:
    def test_file(self, server, opened, clock, tmp_path):
        path = tmp_path / "station.csv"
        shutil.copyfile(DATA / "pws_us.csv", path)
        choice = SourceChoice("station csv", StationOptions(path, US_STATION, wind_height=1.5))
        clock.at = datetime.now(UTC) + timedelta(hours=7)
        fetched = fetch_daily(choice, SITE, **SPAN, session=opened(offline=True))
        assert fetched.record.values["rain"][0] == pytest.approx(12.7)
        assert timedelta(hours=6.9) < fetched.age < timedelta(hours=7.1)
        assert fetched.wind_height == 1.5
        assert server.asked == []

    def test_fault_of_the_file(self, opened, tmp_path):
        choice = SourceChoice("station csv", StationOptions(tmp_path / "none.csv", US_STATION))
        with pytest.raises(WeatherError) as caught:
            fetch_daily(choice, SITE, **SPAN, session=opened())
        assert caught.value.exit_code == 1


def test_options_of_another_kind(opened):
    with pytest.raises(RillbookError, match="options of NwsOptions"):
        fetch_daily(SourceChoice("nws", OpenMeteoOptions()), SITE, **SPAN, session=opened())


def test_days_in_order(opened):
    with pytest.raises(RillbookError, match="in order"):
        fetch_daily(
            SourceChoice("nws", NwsOptions()),
            SITE,
            begins=SPAN["ends"],
            ends=SPAN["begins"],
            session=opened(),
        )


def test_garden_without_a_longitude(server, opened):
    for choice in (open_meteo(server, Answer()), SourceChoice("nws", NwsOptions(base=server.base))):
        with pytest.raises(SourceError, match="longitude"):
            fetch_daily(choice, replace(SITE, longitude=None), **SPAN, session=opened())
    assert server.asked == []


def test_reading_loads_neither_network_nor_tables():
    code = (
        "import sys, scheduler.weather.sources.interface\n"
        "print(sorted({'requests', 'requests_cache', 'urllib3', 'pandas', 'sqlite3'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=600
    )
    assert done.stdout.strip() == "[]"


def test_clock_of_the_machine(server, tmp_path):
    choice = open_meteo(server, Answer(text_of("openmeteo_forecast.json")))
    with open_session(tmp_path / "a.sqlite", contact="me@example.org", limits=PATIENT) as session:
        fetched = fetch_daily(choice, SITE, **SPAN, session=session)
    assert abs(datetime.now(UTC) - fetched.fetched_at) < timedelta(minutes=1)
    assert fetched.age < timedelta(minutes=1)
