"""The service that stays: the daily job of each garden at its hour, until it is told to stop."""

from __future__ import annotations

import signal
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time
from pathlib import Path
from queue import SimpleQueue
from threading import Event
from typing import Any
from zoneinfo import ZoneInfo

from apscheduler.events import EVENT_JOB_EXECUTED, JobExecutionEvent
from apscheduler.executors.pool import ThreadPoolExecutor
from apscheduler.schedulers.background import BackgroundScheduler
from apscheduler.triggers.cron import CronTrigger

from scheduler.clock import now
from scheduler.errors import RillbookError
from scheduler.garden.planfile import load_plan
from scheduler.ledger.place import ledger_path
from scheduler.service.day import DayReport, daily_job, has_table
from scheduler.service.health import Health, health_line, health_path, last_success, write_health
from scheduler.service.retry import Retry, next_run, not_later

__all__ = ["USUAL_HOUR", "check_hour", "job_trigger", "serve", "stopped_by_signals"]

USUAL_HOUR = time(4, 10)

#: Hours in which clocks change; a time there may come twice in a day, or not at all.
CHANGING = (time(1, 0), time(3, 0))

#: How often the scheduler looks at the clock at least [s]: its own long wait stands still while the machine
#: sleeps, and would end late by as much.
TICK = 30.0

RunDay = Callable[..., DayReport]
Say = Callable[[str], None]
Asked = SimpleQueue[Retry]


@dataclass(slots=True)
class _Watch:
    """One garden that is served."""

    job: str
    plan_path: Path
    timezone: str
    trigger: CronTrigger
    health: Health
    health_path: Path


def check_hour(at: time) -> None:
    """Refuse an hour in which clocks may change.

    Raises
    ------
    RillbookError
    """
    begin, end = CHANGING
    if begin <= at < end:
        raise RillbookError(
            f"--at {at:%H:%M}: lies between {begin:%H:%M} and {end:%H:%M}, where clocks change and a time "
            f"may come twice or not at all; choose another, such as {USUAL_HOUR:%H:%M}"
        )


def job_trigger(at: time, timezone: str) -> CronTrigger:
    """Return the rule that gives the job's next run: every day at a time on the garden's clock."""
    return CronTrigger(hour=at.hour, minute=at.minute, timezone=ZoneInfo(timezone))


@contextmanager
def stopped_by_signals(stop: Event) -> Iterator[None]:
    """Set `stop` when the process is asked to end; the work under way is then finished first."""
    asked = (signal.SIGTERM, signal.SIGINT)
    before = {number: signal.signal(number, lambda _number, _frame: stop.set()) for number in asked}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def serve(
    plans: Sequence[Path],
    *,
    at: time,
    stop: Event,
    say: Say,
    run_day: RunDay = daily_job,
    clock: Callable[[str], datetime] = now,
) -> None:
    """Do each garden's daily job at its hour until `stop` is set; a run under way is finished first.

    A garden whose table of today is missing gets it at once. A job that fails is tried again after growing
    pauses, until it succeeds or the next daily run takes over.

    Parameters
    ----------
    plans : sequence of Path
    at : time
        On each garden's own clock.
    stop : Event
    say : callable
        Takes each line for the log.
    run_day : callable
        The job: (plan path, on=, moment=) -> DayReport.
    clock : callable
        IANA time zone -> now there.

    Raises
    ------
    RillbookError
        If a plan has faults, or for an hour in which clocks change; later faults are told and do not end
        the service.
    """
    check_hour(at)
    watches = [_watch(path, at, job=f"daily {number}") for number, path in enumerate(plans)]
    asked: Asked = SimpleQueue()
    planned: dict[str, Retry] = {}
    # No store of jobs: whatever was missed, the job asks the ledger.
    scheduler = BackgroundScheduler(timezone=UTC, executors={"default": ThreadPoolExecutor(1)})
    scheduler.add_listener(lambda ended: _keep_asked(ended, asked), EVENT_JOB_EXECUTED)
    for watch in watches:
        work = _job(watch, stop=stop, say=say, run_day=run_day, clock=clock)
        settings: dict[str, Any] = {"coalesce": True, "max_instances": 1, "misfire_grace_time": None}
        if _is_due(watch, clock):
            # Its first run is now, and those after it follow the rule: there is never a second job.
            settings["next_run_time"] = now("UTC")
        else:
            _tell(watch, clock, say=say)
        scheduler.add_job(work, watch.trigger, id=watch.job, **settings)
    scheduler.start()
    try:
        while not stop.wait(TICK):
            _plan_retries(scheduler, asked, planned)
            scheduler.wakeup()
    finally:
        scheduler.shutdown(wait=True)
    say("stopped")


def _keep_asked(ended: JobExecutionEvent, asked: Asked) -> None:
    """Keep the retry that a job asked for; until now it counted as running, and a second run was refused."""
    if ended.retval is not None:
        asked.put(ended.retval)


def _plan_retries(scheduler: BackgroundScheduler, asked: Asked, planned: dict[str, Retry]) -> None:
    """Bring forward the next run of each job that asked for a retry; keep those in `planned` until they run.

    Neither the jobs nor the listener to their ends do it: a scheduler that shuts down waits for the job under
    way with the lock held that a change of its next run needs.
    """
    moment = now("UTC")
    for retry in list(planned.values()):
        if scheduler.get_job(retry.job).next_run_time != retry.at:
            # It has begun; the rule has set the run after it.
            del planned[retry.job]
        elif (moved := not_later(retry, moment)) != retry:
            _plan(scheduler, moved, planned)
    while not asked.empty():
        _plan(scheduler, asked.get(), planned)


def _plan(scheduler: BackgroundScheduler, retry: Retry, planned: dict[str, Retry]) -> None:
    """Make a retry the next run of its job."""
    planned[retry.job] = retry
    scheduler.modify_job(retry.job, next_run_time=retry.at)


def _watch(path: Path, at: time, *, job: str) -> _Watch:
    """Return a garden to be served."""
    garden = load_plan(path)
    timezone = garden.site.timezone
    kept = health_path(ledger_path(path, garden))
    health = Health(garden.name, last_success=last_success(kept))
    return _Watch(job, path, timezone, job_trigger(at, timezone), health, kept)


def _is_due(watch: _Watch, clock: Callable[[str], datetime]) -> bool:
    """Return True if today's table is missing; a ledger that cannot be read is left to the job to tell."""
    try:
        return not has_table(watch.plan_path, on=clock(watch.timezone).date())
    except RillbookError:
        return True


def _tell(watch: _Watch, clock: Callable[[str], datetime], *, say: Say) -> None:
    """Say when a garden that has today's table is next looked at."""
    moment = clock(watch.timezone)
    watch.health = replace(watch.health, next_run=_next(watch, moment))
    _write(watch, say)
    say(f"{watch.health.garden}: today's table is there; next run {watch.health.next_run:%Y-%m-%d %H:%M %z}")


def _next(watch: _Watch, moment: datetime) -> datetime:
    """Return the job's next run by the rule."""
    following: datetime = watch.trigger.get_next_fire_time(None, moment)
    return following


def _write(watch: _Watch, say: Say) -> None:
    """Write the health file; a disk that refuses it is told."""
    try:
        write_health(watch.health_path, watch.health)
    except RillbookError as fault:
        say(f"{watch.health.garden}: {fault}")


def _job(
    watch: _Watch, *, stop: Event, say: Say, run_day: RunDay, clock: Callable[[str], datetime]
) -> Callable[[], Retry | None]:
    """Return the job of one garden; nothing that goes wrong in it ends the service, it asks for a retry."""

    def work() -> Retry | None:
        if stop.is_set():
            return None
        moment = clock(watch.timezone)
        report: DayReport | None = None
        error = ""
        try:
            report = run_day(watch.plan_path, on=moment.date(), moment=moment)
        except RillbookError as fault:
            error = str(fault)
        except Exception as fault:  # A bug is told with its traceback; a later run may still go well.
            error = f"{type(fault).__name__}: a fault of the program, see its log"
            say(traceback.format_exc().rstrip())
        retry = _take_down(watch, ended=clock(watch.timezone), report=report, error=error)
        _write(watch, say)
        for problem in watch.health.problems:
            say(f"{watch.health.garden}: {' '.join(problem.split())}")
        say(health_line(watch.health, report))
        return retry

    return work


def _take_down(watch: _Watch, *, ended: datetime, report: DayReport | None, error: str) -> Retry | None:
    """Take down how a run ended (no report: it failed), and return the retry if one comes first."""
    failures = 0 if report is not None else watch.health.failures + 1
    daily = _next(watch, ended)
    following = next_run(ended, daily, failures=failures)
    watch.health = Health(
        garden=watch.health.garden,
        last_run=ended,
        last_success=watch.health.last_success if report is None else ended,
        next_run=following,
        last_error=error,
        failures=failures,
        problems=() if report is None else report.problems,
    )
    if following.astimezone(UTC) >= daily.astimezone(UTC):
        return None
    pause = following.astimezone(UTC) - ended.astimezone(UTC)
    return Retry(watch.job, now("UTC") + pause, pause)
