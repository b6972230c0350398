"""`fetch`: every source is asked, one that fails stops no other, and what is kept gives a table."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduler.garden.planfile import load_plan
from scheduler.ledger.reading import open_reader
from scheduler.season.run import run_week
from scheduler.weather.gather import gather_weather
from tests.cli.conftest import HEADER, Place, Run, weather_rows
from tests.weather.sources.samples import DATA, text_of
from tests.weather.sources.server import Answer, LocalServer

NOW = datetime(2024, 6, 6, 12, tzinfo=UTC)
STATION = "USC00999901"
HERE = (
    ('latitude = "44.6 N"', 'latitude = "44.1 N"\nlongitude = "92.5 W"'),
    ('timezone = "Etc/GMT+1"', 'timezone = "America/Chicago"'),
)
GEO = "application/geo+json"
GONE = Answer("gone", status=404, content_type="text/plain")


@pytest.fixture
def server() -> Iterator[LocalServer]:
    with LocalServer() as running:
        yield running


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> list[datetime]:
    """Return a list whose last entry is what every clock shows."""
    moments = [NOW]

    def now(timezone: str) -> datetime:
        return moments[-1].astimezone(ZoneInfo(timezone))

    for name in ("scheduler.clock.now", "scheduler.weather.sources.limits.now"):
        monkeypatch.setattr(name, now)
    return moments


def forecast(begins: date = date(2024, 6, 3), days: int = 18, **changes: float) -> str:
    """Return a forecast of even days as the service would send it."""
    document = json.loads(text_of("openmeteo_forecast.json"))
    even = {
        "temperature_2m_max": 25.0,
        "temperature_2m_min": 12.0,
        "relative_humidity_2m_max": 90.0,
        "relative_humidity_2m_min": 45.0,
        "wind_speed_10m_mean": 3.0,
        "shortwave_radiation_sum": 20.0,
        "precipitation_sum": 1.5,
    } | changes
    percent = {"relative_humidity_2m_max": "%", "relative_humidity_2m_min": "%"}
    known = document["daily_units"] | percent | {"wind_speed_10m_mean": "m/s"}
    document["daily_units"] = {name: known[name] for name in ("time", *even)}
    document["daily"] = {"time": [str(begins + timedelta(days=n)) for n in range(days)]}
    document["daily"] |= {name: [value] * days for name, value in even.items()}
    return json.dumps(document)


def source(kind: str, *lines: str) -> str:
    return "\n".join(["", "[[weather.source]]", f'kind = "{kind}"', *lines, ""])


def sky(server: LocalServer) -> str:
    return source("open-meteo", 'product = "forecast"', f'base = "{server.base}/forecast"')


def station(server: LocalServer) -> str:
    return source("ghcn-daily", f'station = "{STATION}"', f'base = "{server.base}"')


def plan(place: Place, *sources: str, file: bool = True) -> None:
    """Write the plan with sources."""
    record = 'file = "weather.csv"\n' if file else ""
    place.write_plan(*HERE, ('file = "weather.csv"\n', f'{record}contact = "name@example.org"\n'))
    text = place.plan.read_text(encoding="utf-8").replace("2026-", "2024-")
    place.plan.write_text(text + "".join(sources), encoding="utf-8")


def kept(place: Place) -> list[tuple[str, str, date]]:
    with open_reader(place.plan.with_suffix(".ledger.sqlite")) as reader:
        rows = reader.weather_between(date(2000, 1, 1), date(2100, 1, 1))
        return [(row.entry.origin, row.entry.source, row.entry.date) for row in rows]


class TestSources:
    def test_all_kinds(self, place: Place, server: LocalServer, clock: list[datetime]) -> None:
        clock.append(datetime(2024, 6, 3, 12, tzinfo=UTC))
        server.will("/forecast", Answer(forecast(begins=date(2024, 5, 31))))
        server.will("/points/44.1,-92.5", Answer(text_of("nws_points.json"), content_type=GEO))
        server.will("/gridpoints/ARX/30,60", Answer(text_of("nws_gridpoint.json"), content_type=GEO))
        server.will(f"/{STATION}.dly", Answer(text_of("ghcn.dly"), content_type="text/plain"))
        (place.folder / "station.csv").write_text(
            (DATA / "pws_us.csv").read_text(encoding="utf-8-sig"), "utf-8"
        )
        own = source(
            "station csv",
            'file = "station.csv"',
            'time_columns = ["Date Time"]',
            'time_format = "%m/%d/%Y %I:%M %p"',
            'longest_step = "360 min"',
            'columns.temperature = { column = "Outdoor Temperature (°F)", unit = "degF" }',
            'columns.rain = { column = "Daily Rain (in)", unit = "in" }',
        )
        plan(place, own, station(server), sky(server), source("nws", f'base = "{server.base}"'), file=False)
        answer = place.run("fetch", "--days-back", "10", "--json")
        assert answer.code == 0, answer.err
        document = answer.json
        assert (document["schema"], document["as_of"]) == ("rillbook.fetch/1", "2024-06-03")
        rows = document["rows"]
        assert [row["source"] for row in rows] == [
            "station.csv",
            f"GHCN-Daily {STATION}",
            "Open-Meteo forecast at 44.10, -92.50",
            "National Weather Service at 44.10, -92.50",
        ]
        assert [row["origin"] for row in rows] == ["measured", "measured", "foretold", "foretold"]
        assert [row["problem"] for row in rows] == ["", "", "", ""]
        assert rows[2]["days"] == rows[2]["new_days"] == rows[2]["kept_days"] == 18
        assert (rows[2]["first_day"], rows[2]["age_h"], rows[2]["stale"]) == ("2024-05-31", 0.0, False)
        assert rows[3]["days"] >= 2
        assert "CC BY 4.0" in rows[2]["licence"]
        assert "Menne" in rows[1]["attribution"]
        assert {origin for origin, *_ in kept(place)} == {"station", "forecast"}

    def test_people_are_told_age_and_credits(
        self, place: Place, server: LocalServer, clock: list[datetime]
    ) -> None:
        server.will("/forecast", Answer(forecast()))
        plan(place, sky(server))
        out = " ".join(place.run("fetch").answered().out.split())
        for words in (
            "weather fetched",
            "foretold",
            "up to date",
            "2024-06-20",
            "CC BY 4.0",
            "open-meteo.com",
        ):
            assert words in out
        assert place.run("fetch", "--csv").answered().out.startswith("source,origin,days,new_days,")

    def test_only_what_is_new_is_kept(self, place: Place, server: LocalServer, clock: list[datetime]) -> None:
        server.will("/forecast", Answer(forecast()), Answer(forecast(days=19)))
        plan(place, sky(server))
        first = place.run("fetch", "--json").json["rows"][0]
        again = place.run("fetch", "--json").json["rows"][0]
        assert (first["new_days"], again["new_days"]) == (18, 0)
        assert len(server.asked) == 1
        (place.folder / "garden.answers.sqlite").unlink()
        newer = place.run("fetch", "--json").json["rows"][0]
        assert (newer["days"], newer["new_days"], newer["kept_days"]) == (19, 1, 19)

    def test_caller_is_told_to_the_service(
        self, place: Place, server: LocalServer, clock: list[datetime]
    ) -> None:
        server.will("/forecast", Answer(forecast()))
        plan(place, sky(server))
        place.run("fetch")
        assert "name@example.org" in server.asked[0][1]["User-Agent"]

    def test_stored_answers_have_a_file_of_their_own(
        self, place: Place, server: LocalServer, clock: list[datetime]
    ) -> None:
        server.will("/forecast", Answer(forecast()))
        plan(place, sky(server))
        place.run("fetch")
        names = {path.name for path in place.folder.iterdir()}
        assert {"garden.answers.sqlite", "garden.ledger.sqlite"} <= names

    def test_ledger_of_the_plan(self, place: Place, server: LocalServer, clock: list[datetime]) -> None:
        server.will("/forecast", Answer(forecast()))
        plan(place, sky(server))
        text = place.plan.read_text(encoding="utf-8")
        place.plan.write_text(f'ledger = "own.sqlite"\n{text}', encoding="utf-8")
        place.run("fetch").answered()
        assert (place.folder / "own.sqlite").is_file()

    def test_table_from_what_is_kept(self, place: Place, server: LocalServer, clock: list[datetime]) -> None:
        """The reference ET of all days is computed and kept with them, so that a table is quick."""
        server.will("/forecast", Answer(forecast()))
        plan(place, sky(server))
        place.write_weather("".join([f"{HEADER}\n", *past_days()]))
        notes = place.run("fetch", "--json").json["notes"]
        assert any("Reference ET of 415 days computed and kept" in note for note in notes)
        garden = load_plan(place.plan)
        with open_reader(place.plan.with_suffix(".ledger.sqlite")) as reader:
            daily = gather_weather(garden, place.folder, reader=reader)
        assert daily.forecast.sum() == 15
        assert daily.rain[-1] == 1.5
        week = run_week(garden, daily, on=date(2024, 6, 6))
        assert week.weather.origin[0] == "forecast"
        assert place.run("fetch", "--json").json["rows"][0]["new_days"] == 0

    def test_wind_of_unknown_height_is_left_out_and_told(
        self, place: Place, server: LocalServer, clock: list[datetime]
    ) -> None:
        server.will(f"/{STATION}.dly", Answer(text_of("ghcn.dly"), content_type="text/plain"))
        plan(place, station(server))
        notes = place.run("fetch", "--days-back", "10", "--json").json["notes"]
        assert any("its wind is left out: write wind_height" in note for note in notes)
        with_height = station(server) + 'wind_height = "10 m"\n'
        plan(place, with_height)
        document = place.run("fetch", "--days-back", "10", "--json").json
        assert not any("wind is left out" in note for note in document["notes"])
        with open_reader(place.plan.with_suffix(".ledger.sqlite")) as reader:
            rows = reader.weather_between(date(2024, 6, 1), date(2024, 6, 5))
            heights = {row.entry.wind_height_m for row in rows if row.entry.wind_m_s is not None}
        assert heights == {10.0}


def past_days() -> list[str]:
    """Return rows of the weather file that end on the day before that of the clock."""
    moved = timedelta(days=(date(2024, 6, 5) - date(2026, 7, 16)).days)
    rows = ((date.fromisoformat(day) + moved, cells) for day, cells in weather_rows().items())
    return [f"{day},{','.join(cells)}\n" for day, cells in rows if day >= date(2023, 5, 3)]


class TestFailures:
    def test_one_source_stops_no_other(
        self, place: Place, server: LocalServer, clock: list[datetime]
    ) -> None:
        server.will("/forecast", Answer(forecast()))
        plan(place, station(server), sky(server))
        answer = place.run("fetch", "--json")
        assert answer.code == 0
        failed, fine = answer.json["rows"]
        assert "status 404" in failed["problem"]
        assert failed["state"] == "failed"
        assert (fine["problem"], fine["days"]) == ("", 18)

    def test_nothing_at_all(self, place: Place, server: LocalServer, clock: list[datetime]) -> None:
        plan(place, station(server), sky(server))
        answer = place.run("fetch")
        assert answer.code == 4
        assert "Traceback" not in answer.err
        for words in (STATION, "status 404", "try again later"):
            assert words in answer.err

    def test_what_is_kept_goes_on(self, place: Place, server: LocalServer, clock: list[datetime]) -> None:
        server.will("/forecast", Answer(forecast()))
        plan(place, sky(server))
        assert place.run("fetch").code == 0
        (place.folder / "garden.answers.sqlite").unlink()
        server.will("/forecast", GONE)
        answer = place.run("fetch", "--json")
        assert answer.code == 0
        row = answer.json["rows"][0]
        assert (row["state"], row["kept_days"]) == ("failed, kept days go on", 18)

    def test_offline(self, place: Place, server: LocalServer, clock: list[datetime]) -> None:
        server.will("/forecast", Answer(forecast()))
        plan(place, sky(server))
        assert place.run("fetch", "--offline").code == 4
        assert server.asked == []
        assert place.run("fetch").code == 0
        clock.append(NOW + timedelta(hours=30))
        row = place.run("fetch", "--offline", "--json").json["rows"][0]
        assert (row["age_h"], len(server.asked)) == (30.0, 1)

    def test_plan_without_sources(self, place: Place, run: Run) -> None:
        run("fetch", place.plan).refused("names no source", "[[weather.source]]")

    def test_usage(self, place: Place, run: Run) -> None:
        run("fetch", place.plan, "--days-back", "0").refused("days-back", code=2)
        run("fetch", place.plan, "--json", "--csv").refused("exclude", code=2)

    def test_spoiled_station_file(self, place: Place, server: LocalServer, clock: list[datetime]) -> None:
        server.will("/forecast", Answer(forecast()))
        own = source(
            "station csv",
            'file = "none.csv"',
            'time_columns = ["Time"]',
            'time_format = "%Y-%m-%d %H:%M"',
            'columns.rain = { column = "Rain", unit = "mm" }',
        )
        plan(place, own, sky(server))
        rows = place.run("fetch", "--json").json["rows"]
        assert "cannot be read" in rows[0]["problem"]
        assert rows[1]["problem"] == ""

    def test_weather_that_gives_no_table_yet_is_told(
        self, place: Place, server: LocalServer, clock: list[datetime]
    ) -> None:
        server.will("/forecast", Answer(forecast(begins=date(2024, 6, 8), days=9)))
        plan(place, sky(server))
        place.write_weather("date,tmax_c,tmin_c\n2024-06-05,20,9\n")
        answer = place.run("fetch", "--json")
        assert answer.code == 0
        assert any("No table can be made of this weather" in note for note in answer.json["notes"])
