"""A daily job that failed is tried again the same day, with growing pauses, and never beside itself."""

import threading
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from apscheduler.schedulers.background import BackgroundScheduler
from apscheduler.triggers.cron import CronTrigger

from scheduler.errors import RillbookError, SourceError
from scheduler.service import retry as retry_module
from scheduler.service import serve as serve_module
from scheduler.service.retry import Retry, next_run, not_later, pause_after
from scheduler.service.serve import job_trigger
from tests.publish.broker import PATIENCE
from tests.service.conftest import MONDAY, ZONE
from tests.service.serving import Service

HOUR = timedelta(hours=1)
BERLIN = ZoneInfo(ZONE)


def fails(_number):
    raise RillbookError("no weather")


@pytest.fixture
def at_once(monkeypatch):
    """Let pauses pass at once, as if the machine had slept through them."""
    monkeypatch.setattr(serve_module, "TICK", 0.01)
    monkeypatch.setattr(retry_module, "PAUSES", (-HOUR, -2 * HOUR))


# --- when -----------------------------------------------------------------------------------------------


def test_pauses_grow_to_two_hours():
    minutes = [pause_after(failures) / timedelta(minutes=1) for failures in range(1, 8)]
    assert minutes == [15, 30, 60, 120, 120, 120, 120]


def day_of_failures(begin, timezone=ZONE):
    """Return the runs of a job that fails at once each time, from one instant up to two days later."""
    trigger, at, found = job_trigger(time(4, 10), timezone), begin, []
    while at.astimezone(UTC) < begin.astimezone(UTC) + timedelta(days=2):
        found.append(at)
        daily = trigger.get_next_fire_time(None, at + timedelta(seconds=1))
        at = next_run(at, daily, failures=len(found))
    return found


def test_daily_run_takes_over():
    found = day_of_failures(datetime(2026, 6, 15, 4, 10, tzinfo=BERLIN))
    told = [f"{at:%d %H:%M}" for at in found]
    assert told[:7] == ["15 04:10", "15 04:25", "15 04:55", "15 05:55", "15 07:55", "15 09:55", "15 11:55"]
    assert "16 03:55" in told
    assert told[told.index("16 03:55") + 1] == "16 04:10"
    assert told[told.index("16 04:10") + 1] == "16 06:10"


def test_success_is_followed_by_the_daily_run():
    daily = datetime(2026, 6, 16, 4, 10, tzinfo=BERLIN)
    assert next_run(datetime(2026, 6, 15, 11, 0, tzinfo=BERLIN), daily, failures=0) is daily


# Clocks go on at 01:00 UTC on 29 March, and back at 01:00 UTC on 25 October.
@pytest.mark.parametrize(
    ("ended", "failures", "following"),
    [
        ("2026-03-29T01:50:00+01:00", 1, "2026-03-29T03:05:00+02:00"),
        ("2026-03-29T01:30:00+01:00", 9, "2026-03-29T04:10:00+02:00"),
        ("2026-10-25T01:50:00+02:00", 4, "2026-10-25T02:50:00+01:00"),
        ("2026-10-25T02:50:00+02:00", 1, "2026-10-25T02:05:00+01:00"),
        ("2026-10-25T02:50:00+01:00", 3, "2026-10-25T03:50:00+01:00"),
    ],
)
def test_pause_over_a_change_of_the_clock(ended, failures, following):
    moment = datetime.fromisoformat(ended).astimezone(BERLIN)
    daily = job_trigger(time(4, 10), ZONE).get_next_fire_time(None, moment)
    found = next_run(moment, daily, failures=failures)
    assert found.isoformat() == following
    assert found.tzinfo is daily.tzinfo


@pytest.mark.parametrize("day", [date(2026, 3, 28), date(2026, 10, 24)])
def test_runs_only_go_forward_over_a_change_of_the_clock(day):
    found = [at.astimezone(UTC) for at in day_of_failures(datetime.combine(day, time(4, 10), BERLIN))]
    steps = [after - before for before, after in zip(found, found[1:], strict=False)]
    assert all(timedelta(0) < step <= 2 * HOUR for step in steps)
    local = [f"{at.astimezone(BERLIN):%d %H:%M}" for at in found]
    assert f"{day.day + 1} 04:10" in local


def test_retry_lies_no_farther_ahead_than_its_pause():
    at = datetime(2026, 6, 15, 9, 15, tzinfo=UTC)
    retry = Retry("daily 0", at, HOUR / 4)
    for moment in (at - HOUR / 4, at - HOUR / 8, at, at + 3 * HOUR):
        assert not_later(retry, moment) is retry
    back = datetime(2026, 6, 13, 12, 0, tzinfo=BERLIN)
    assert not_later(retry, back).at == datetime(2026, 6, 13, 10, 15, tzinfo=UTC)


# --- in the scheduler -----------------------------------------------------------------------------------


@pytest.fixture
def planning(monkeypatch):
    """Return a scheduler that stands still, with one job, and a function that plans at a moment."""
    scheduler = BackgroundScheduler(timezone=UTC)
    scheduler.add_job(print, CronTrigger(hour=4, minute=10, timezone=UTC), id="daily 0")
    scheduler.start(paused=True)
    asked, planned = serve_module.SimpleQueue(), {}

    def plan(moment, *retries):
        for retry in retries:
            asked.put(retry)
        monkeypatch.setattr(serve_module, "now", lambda _zone: moment)
        serve_module._plan_retries(scheduler, asked, planned)
        return scheduler.get_job("daily 0").next_run_time

    yield scheduler, plan
    scheduler.shutdown()


def test_retry_follows_a_clock_that_is_set_back(planning):
    _, plan = planning
    moment = datetime(2026, 6, 15, 9, 0, tzinfo=UTC)
    retry = Retry("daily 0", moment + HOUR, HOUR)
    assert plan(moment, retry) == moment + HOUR
    assert plan(moment + HOUR / 2) == moment + HOUR
    two_days_back = moment - 48 * HOUR
    assert plan(two_days_back) == two_days_back + HOUR
    assert plan(two_days_back + HOUR / 2) == two_days_back + HOUR


def test_retry_that_has_begun_is_let_go(planning):
    scheduler, plan = planning
    moment = datetime(2026, 6, 15, 9, 0, tzinfo=UTC)
    plan(moment, Retry("daily 0", moment + HOUR, HOUR))
    daily = datetime(2026, 6, 16, 4, 10, tzinfo=UTC)
    scheduler.modify_job("daily 0", next_run_time=daily)
    assert plan(moment + HOUR) == daily
    # Nor does a clock that is set back bring it again.
    assert plan(moment - 48 * HOUR) == daily


# --- as a whole -----------------------------------------------------------------------------------------


def test_retry_is_told_and_a_stop_during_the_pause_is_clean(place, monkeypatch):
    jobs = []

    class Scheduler(serve_module.BackgroundScheduler):
        def modify_job(self, *arguments, **changes):
            jobs.append(super().modify_job(*arguments, **changes))
            return jobs[-1]

    monkeypatch.setattr(serve_module, "TICK", 0.01)
    monkeypatch.setattr(serve_module, "BackgroundScheduler", Scheduler)
    before = datetime.now(UTC)
    with Service(place, fails) as service:
        service.until(lambda: jobs)
    after = datetime.now(UTC)
    assert service.runs == [MONDAY]
    assert service.said == ["Test garden: FAILED: no weather; next run 2026-06-15 11:15 +0200", "stopped"]
    assert service.health["next_run"] == "2026-06-15T11:15:00+02:00"
    assert service.health["failures"] == 1
    (job,) = jobs
    assert before + HOUR / 4 <= job.next_run_time <= after + HOUR / 4


def test_tried_again_until_it_succeeds(place, at_once):
    def fails_thrice(number):
        if number == 1:
            raise SourceError("service", [])
        if number == 2:
            raise ZeroDivisionError
        if number == 3:
            raise RillbookError("ledger locked")

    with Service(place, fails_thrice) as service:
        service.until(lambda: any("recorded" in line for line in service.said))
    assert service.runs == [MONDAY] * 4
    told = [line.partition(";")[0] for line in service.said if "FAILED" in line]
    assert told[0].startswith("Test garden: FAILED: service")
    assert told[1].startswith("Test garden: FAILED (2 times in a row): ZeroDivisionError")
    assert told[2] == "Test garden: FAILED (3 times in a row): ledger locked"
    assert [kept.entry.first_day for kept in place.tables()] == [MONDAY]
    health = service.health
    assert (health["failures"], health["last_error"]) == (0, None)
    assert health["next_run"] == "2026-06-16T04:10:00+02:00"


def test_success_forgets_the_failures(place, at_once, monkeypatch):
    """Of a garden that fails, succeeds and fails again, the last failure is the first of its row."""
    watch = serve_module._watch(place.plan, time(4, 10), job="daily 0")
    said = []
    runs = iter([fails, fails, lambda _number: None, fails])

    def run_day(_plan, *, on, moment):
        next(runs)(0)
        return place.day(on)

    now = datetime(2026, 6, 15, 11, 0, tzinfo=BERLIN)
    work = serve_module._job(
        watch, stop=threading.Event(), say=said.append, run_day=run_day, clock=lambda _zone: now
    )
    found = [(work(), watch.health.failures) for _ in range(4)]
    assert [failures for _, failures in found] == [1, 2, 0, 1]
    assert [retry and retry.pause for retry, _ in found] == [-HOUR, -2 * HOUR, None, -HOUR]


def test_delivery_that_fails_is_no_failure_of_the_job(place, at_once, dead_port):
    place.write(f'[[notify]]\nkind = "webhook"\nurl = "http://127.0.0.1:{dead_port}/hook"')
    with Service(place) as service:
        service.until(lambda: any("recorded" in line for line in service.said))
    assert service.runs == [MONDAY]
    assert service.health["failures"] == 0
    assert len(service.health["problems"]) == 1


def test_never_two_runs_at_once(place, at_once):
    together, most = [0], [0]

    def slow_failure(number):
        together[0] += 1
        most[0] = max(most[0], together[0])
        threading.Event().wait(0.03)
        together[0] -= 1
        if number < 6:
            raise RillbookError("no weather")

    with Service(place, slow_failure) as service:
        service.until(lambda: any("recorded" in line for line in service.said))
    assert most[0] == 1
    assert len(service.runs) == 6


def test_failure_while_the_service_ends_does_not_hold_it_up(place, at_once):
    started, go_on = threading.Event(), threading.Event()

    def slow_failure(_number):
        started.set()
        go_on.wait(PATIENCE)
        raise RillbookError("no weather")

    with Service(place, slow_failure) as service:
        assert started.wait(PATIENCE)
        service.stop.set()
        go_on.set()
        service.join()
    assert service.runs == [MONDAY]
    assert service.said[1:] == ["stopped"]


def test_gardens_are_tried_again_each_by_itself(place, at_once, tmp_path):
    second = type(place)(tmp_path / "second")
    second.folder.mkdir()
    second.write()
    stop, said, runs = threading.Event(), [], []

    def run_day(plan, *, on, moment):
        runs.append(plan)
        if plan == second.plan and runs.count(plan) < 3:
            raise RillbookError("no weather")
        return (second if plan == second.plan else place).day(on)

    def say(line):
        said.append(line)
        if sum("recorded" in each for each in said) == 2:
            stop.set()

    serve_module.serve(
        [place.plan, second.plan],
        at=time(4, 10),
        stop=stop,
        say=say,
        run_day=run_day,
        clock=lambda _zone: datetime(2026, 6, 15, 11, 0, tzinfo=BERLIN),
    )
    assert runs.count(place.plan) == 1
    assert runs.count(second.plan) == 3
