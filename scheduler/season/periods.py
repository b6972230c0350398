"""Billing periods of real days, counted from one meter reading both ways."""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.errors import RillbookError
from scheduler.garden.plan import Tariff

__all__ = ["BillingPeriod", "billing_periods"]


@dataclass(frozen=True, slots=True)
class BillingPeriod:
    """The days of one bill: from a reading day up to the day before the next one, both included."""

    first: date
    last: date

    @property
    def days(self) -> int:
        """Return the number of days from first to last, both counted [d]."""
        return (self.last - self.first).days + 1


def billing_periods(tariff: Tariff, begins: date, *, ends: date) -> tuple[BillingPeriod, ...]:
    """Return the billing periods that cover every day from `begins` to `ends`.

    The meter is taken as read at the start of a reading day, so that day opens the new period. Monthly
    readings keep the day of the month of the first one; in a month too short for it they fall on its last
    day, and the next one is back on the usual day.

    Parameters
    ----------
    tariff : Tariff
        Its `first_reading` and its `period_months` or `period_days` set the reading days.
    begins, ends : date
        First and last day of the span, both included.

    Returns
    -------
    tuple of BillingPeriod
        In order of time, none missing, none overlapping. The first may begin before the span and the last
        may end after it.

    Raises
    ------
    RillbookError
        If the span ends before it begins, or reaches to the edge of the calendar.
    ValueError
        If the tariff does not have exactly one length of period, above zero.
    """
    if (tariff.period_months is None) == (tariff.period_days is None):
        raise ValueError("a tariff has a period of months or of days, and not both")
    if (tariff.period_months or tariff.period_days or 0) <= 0:
        raise ValueError("a billing period is longer than nothing")
    if ends < begins:
        raise RillbookError(f"the span ends on {ends}, before it begins on {begins}; swap the two dates")
    count = _period_holding(begins, tariff)
    periods = []
    first = _reading_day(tariff, count)
    while first <= ends:
        count += 1
        following = _reading_day(tariff, count)
        periods.append(BillingPeriod(first=first, last=following - timedelta(days=1)))
        first = following
    return tuple(periods)


def _period_holding(day: date, tariff: Tariff) -> int:
    """Return how many periods after the first reading the period begins that holds a day."""
    start = tariff.first_reading
    if tariff.period_days:
        return (day - start).days // tariff.period_days
    months = (day.year - start.year) * 12 + day.month - start.month
    count = months // (tariff.period_months or 1)
    # The meter may be read later in the month than the day asked for.
    return count - 1 if _reading_day(tariff, count) > day else count


def _reading_day(tariff: Tariff, count: int) -> date:
    """Return the reading day that lies `count` periods after the first reading (before it if negative)."""
    start = tariff.first_reading
    try:
        if tariff.period_days:
            return start + timedelta(days=count * tariff.period_days)
        months = start.year * 12 + start.month - 1 + count * (tariff.period_months or 1)
        year, month = months // 12, months % 12 + 1
        return date(year, month, min(start.day, monthrange(year, month)[1]))
    except (ValueError, OverflowError) as error:
        raise RillbookError(
            f"meter readings every {tariff.period}, counted from {start}, run off the calendar; "
            "give a first reading and a span of days in years such as 2026"
        ) from error
