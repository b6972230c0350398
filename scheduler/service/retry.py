"""When a job that failed is tried again: after pauses that grow, until the next daily run takes over."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

__all__ = ["PAUSES", "Retry", "next_run", "not_later", "pause_after"]

#: Pauses after the first failures in a row; the last one stands for all further ones. Long enough that a
#: weather service which is down is not pressed, short enough that the day's water is still put right.
PAUSES = (timedelta(minutes=15), timedelta(minutes=30), timedelta(hours=1), timedelta(hours=2))


@dataclass(frozen=True, slots=True)
class Retry:
    """A job that is to be tried again: its id, the instant, and the pause that led to it."""

    job: str
    at: datetime
    pause: timedelta


def pause_after(failures: int) -> timedelta:
    """Return how long to wait after so many failures in a row, at least one."""
    return PAUSES[min(failures, len(PAUSES)) - 1]


def next_run(ended: datetime, daily: datetime, *, failures: int) -> datetime:
    """Return when a job runs next that ended at an instant, with so many failures in a row up to then.

    Parameters
    ----------
    ended : datetime
        Aware.
    daily : datetime
        The next daily run after it, aware; no retry comes later, and the result is on its clock.
    failures : int
        0 after a success.
    """
    if failures == 0:
        return daily
    # Reckoned in UTC: on the garden's own clock a pause over a change of the clock would be an hour off.
    tried = ended.astimezone(UTC) + pause_after(failures)
    return min(tried, daily.astimezone(UTC)).astimezone(daily.tzinfo)


def not_later(retry: Retry, moment: datetime) -> Retry:
    """Return a retry that lies no farther ahead than its pause: it does if the clock was set back."""
    latest = moment.astimezone(UTC) + retry.pause
    return retry if retry.at <= latest else Retry(retry.job, latest, retry.pause)
