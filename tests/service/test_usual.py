"""The tools as they are outside of tests: sources that answer or do not, and weather from the plan's file."""

from datetime import UTC, datetime

import pytest

from scheduler.errors import SourceError
from scheduler.service.day import daily_job
from tests.cli.conftest import weather_text
from tests.service.conftest import MONDAY, plan_text

NOW = datetime(2026, 6, 15, 2, 10, tzinfo=UTC)


def source(port):
    return "\n".join(
        [
            "[[weather.source]]",
            'kind = "open-meteo"',
            'product = "forecast"',
            f'base = "http://127.0.0.1:{port}"',
        ]
    )


@pytest.fixture
def quick(monkeypatch):
    """Sources that do not answer are given up at once."""
    from dataclasses import replace

    from scheduler.weather.sources import session

    usual = session.open_session

    def open_quickly(*arguments, **more):
        return usual(*arguments, **more, limits=replace(session.Limits(), total_time=0.2))

    monkeypatch.setattr(session, "open_session", open_quickly)


def write(place, port, *, contact=True, file=True):
    text = plan_text(source(port))
    if contact:
        text = text.replace('wind_height = "10 ft"', 'wind_height = "10 ft"\ncontact = "g@example.org"')
    if not file:
        text = text.replace('file = "weather.csv"\n', "")
    longitude = 'latitude = "44.6 N"\nlongitude = "12.1 W"'
    place.plan.write_text(text.replace('latitude = "44.6 N"', longitude), encoding="utf-8")
    (place.folder / "weather.csv").write_text(weather_text(), encoding="utf-8")


def test_plan_without_sources_uses_its_file(place):
    (place.folder / "weather.csv").write_text(weather_text(), encoding="utf-8")
    report = daily_job(place.plan, on=MONDAY, moment=NOW)
    assert report.recorded
    assert report.problems == ()
    again = daily_job(place.plan, on=MONDAY, moment=NOW)
    assert not again.recorded


def test_source_out_of_reach_leaves_the_file(place, quick, dead_port):
    write(place, dead_port)
    report = daily_job(place.plan, on=MONDAY, moment=NOW)
    assert report.recorded
    assert report.problems
    assert all(problem.startswith("weather: ") for problem in report.problems)


def test_source_out_of_reach_and_nothing_else(place, quick, dead_port):
    write(place, dead_port, file=False)
    with pytest.raises(SourceError) as unreachable:
        daily_job(place.plan, on=MONDAY, moment=NOW)
    assert unreachable.value.exit_code == 4
