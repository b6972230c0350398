"""The service that stays: at once if today's table is missing, then by the clock, and a clean stop."""

import json
import os
import signal
import subprocess
import sys
import threading
import time as clock_time
from datetime import UTC, datetime, time, timedelta

import pytest
from apscheduler.triggers.interval import IntervalTrigger

from scheduler.errors import PlanError, RillbookError
from scheduler.service import serve as serve_module
from scheduler.service.health import health_path
from scheduler.service.serve import serve, stopped_by_signals
from tests.cli.conftest import weather_rows, weather_text
from tests.publish.broker import PATIENCE
from tests.service.conftest import MONDAY, plan_text
from tests.service.serving import NOW, Service


def test_missing_table_is_made_at_once(place):
    with Service(place) as service:
        service.until(lambda: service.said)
    assert service.runs == [MONDAY]
    assert [kept.entry.first_day for kept in place.tables()] == [MONDAY]
    assert service.said == [
        "Test garden: table of 2026-06-15 recorded, 1 notice; next run 2026-06-16 04:10 +0200",
        "stopped",
    ]
    health = service.health
    assert health["schema"] == "rillbook.health/1"
    assert health["last_success"] == "2026-06-15T11:00:00+02:00"
    assert health["next_run"] == "2026-06-16T04:10:00+02:00"
    assert health["last_error"] is None


def test_table_that_is_there_is_left_alone(place):
    place.day(MONDAY)
    before = place.count()
    with Service(place) as service:
        service.until(lambda: service.said)
    assert service.runs == []
    assert service.said[0] == "Test garden: today's table is there; next run 2026-06-16 04:10 +0200"
    assert place.count() == before


def test_last_success_outlasts_the_process(place):
    with Service(place) as service:
        service.until(lambda: service.said)
    before = service.health["last_success"]
    with Service(place) as service:
        service.until(lambda: service.said)
    assert service.runs == []
    assert service.health["last_success"] == before
    assert before is not None


@pytest.mark.parametrize("content", ["", "[]", "{}", '{"last_success": 4}', '{"last_success": "yesterday"}'])
def test_broken_health_file_is_replaced(place, content):
    health_path(place.ledger).write_text(content, encoding="utf-8")
    with Service(place) as service:
        service.until(lambda: service.said)
    assert service.health["last_success"] is not None


def test_runs_come_by_the_clock_one_at_a_time(place, monkeypatch):
    monkeypatch.setattr(serve_module, "job_trigger", lambda *_: IntervalTrigger(seconds=0.05))
    together, most = [0], [0]

    def slow(_number):
        together[0] += 1
        most[0] = max(most[0], together[0])
        clock_time.sleep(0.12)
        together[0] -= 1

    with Service(place, slow) as service:
        service.until(lambda: len(service.runs) >= 4)
    assert most[0] == 1
    # Again and again on one day, and still one table.
    assert len(place.tables()) == 1


def test_settings_of_the_job(place, monkeypatch):
    seen = []

    class Scheduler(serve_module.BackgroundScheduler):
        def add_job(self, *arguments, **settings):
            seen.append(settings)
            return super().add_job(*arguments, **settings)

    monkeypatch.setattr(serve_module, "BackgroundScheduler", Scheduler)
    with Service(place) as service:
        service.until(lambda: service.said)
    (settings,) = seen
    assert settings["coalesce"] is True
    assert settings["max_instances"] == 1
    assert settings["misfire_grace_time"] is None


def test_fault_is_told_and_does_not_end_the_service(place, monkeypatch):
    monkeypatch.setattr(serve_module, "job_trigger", lambda *_: IntervalTrigger(seconds=0.05))

    def fails(number):
        if number == 1:
            raise RillbookError("no weather")
        if number == 2:
            raise ZeroDivisionError

    with Service(place, fails) as service:
        service.until(lambda: service.said)
        assert service.said[0].startswith("Test garden: FAILED: no weather; next run")
        service.until(lambda: any("recorded" in line for line in service.said))
    assert any("Traceback" in line and "ZeroDivisionError" in line for line in service.said)
    assert service.health["last_error"] is None
    assert service.health["last_success"] is not None


def test_last_error_stands_in_the_health_file(place):
    def fails(_number):
        raise RillbookError("no weather")

    with Service(place, fails) as service:
        service.until(lambda: service.said)
    assert service.health["last_error"] == "no weather"
    assert service.health["last_success"] is None


def test_problems_are_told_and_kept(place):
    place.write('[[notify]]\nkind = "command"\ncommand = ["no-such-program-anywhere"]')
    with Service(place) as service:
        service.until(lambda: len(service.said) > 1)
    assert "cannot be started" in service.said[0]
    assert "1 problem" in service.said[1]
    assert len(service.health["problems"]) == 1


def test_stop_during_a_job_finishes_the_days_work(place):
    started, go_on = threading.Event(), threading.Event()

    def slow(_number):
        started.set()
        go_on.wait(PATIENCE)

    with Service(place, slow) as service:
        assert started.wait(PATIENCE)
        service.stop.set()
        assert place.ledger.exists() is False or place.tables() == ()
        go_on.set()
        service.join()
    assert len(place.tables()) == 1
    assert service.health["last_success"] is not None
    assert service.said[-1] == "stopped"


def test_work_that_waits_is_not_begun_after_a_stop(place, tmp_path):
    second = type(place)(tmp_path / "second")
    second.folder.mkdir()
    second.write()
    stop, said, runs = threading.Event(), [], []

    def run_day(plan, *, on, moment):
        runs.append(plan)
        stop.set()
        return place.day(on)

    serve(
        [place.plan, second.plan],
        at=time(4, 10),
        stop=stop,
        say=said.append,
        run_day=run_day,
        clock=lambda _: NOW,
    )
    assert runs == [place.plan]


def test_faulty_plan_ends_it_at_once(place):
    place.plan.write_text("format = 1\n", encoding="utf-8")
    with pytest.raises(PlanError):
        serve([place.plan], at=time(4, 10), stop=threading.Event(), say=print, clock=lambda _: NOW)


def test_health_file_that_cannot_be_written_is_told(place):
    health_path(place.ledger).mkdir()
    with Service(place) as service:
        service.until(lambda: len(service.said) > 1)
    assert "cannot be written" in service.said[0]
    assert "recorded" in service.said[1]


def test_signals_set_the_stop_and_are_given_back():
    stop, before = threading.Event(), signal.getsignal(signal.SIGTERM)
    with stopped_by_signals(stop):
        os.kill(os.getpid(), signal.SIGTERM)
        assert stop.wait(PATIENCE)
    assert signal.getsignal(signal.SIGTERM) is before


def write_garden_of_today(folder):
    """Write a garden in mid-season, and its weather up to yesterday, whatever day it is."""
    today = datetime.now(UTC).date()
    text = plan_text(timezone="Etc/UTC")
    for written, days in {
        "planted = 2026-05-12": -40,
        "planted = 2026-04-20": -60,
        "removed = 2026-07-12": 60,
        "removed = 2026-07-14": 62,
        "on = 2026-04-15": -61,
    }.items():
        text = text.replace(written, f"{written.split()[0]} = {today + timedelta(days=days)}")
    rows = weather_rows()
    moved = {}
    for days in range(500, 0, -1):
        day = today - timedelta(days=days)
        # Each day has the weather of its day in the invented year, which has no leap day.
        moved[day.isoformat()] = rows[f"2025-{day.month:02d}-{min(day.day, 28):02d}"]
    (folder / "garden.toml").write_text(text, encoding="utf-8")
    (folder / "weather.csv").write_text(weather_text(moved), encoding="utf-8")
    return today


def test_process_ends_on_sigterm(tmp_path):
    """The whole command, as a service manager runs it: today's work, then a clean end."""
    today = write_garden_of_today(tmp_path)
    process = subprocess.Popen(
        [sys.executable, "-m", "scheduler", "serve", "garden.toml"],
        cwd=tmp_path,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": os.getcwd()},
    )
    try:
        line = process.stderr.readline()
        process.send_signal(signal.SIGTERM)
        _, rest = process.communicate(timeout=PATIENCE)
    finally:
        process.kill()
    assert line.startswith(f"Test garden: table of {today} recorded, 1 notice; next run ")
    assert process.returncode == 0
    assert rest == "stopped\n"
    health = json.loads((tmp_path / "garden.ledger.sqlite.health.json").read_text(encoding="utf-8"))
    assert health["last_success"] is not None
    assert health["next_run"][11:16] == "04:10"
