"""Billing periods of real days."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from scheduler.errors import RillbookError
from scheduler.garden.plan import BillBlock, Sewer, Tariff
from scheduler.season.periods import BillingPeriod, billing_periods

SEWER = Sewer("none", Decimal(0), Decimal(0), None, None, ())
MONTHLY = Tariff(
    currency="EUR",
    unit="m3",
    whole_units=False,
    period="1 month",
    period_months=1,
    period_days=None,
    first_reading=date(2026, 5, 12),
    fixed_charge=Decimal(0),
    fixed_per_days=None,
    blocks=(BillBlock(None, Decimal(2)),),
    blocks_per_days=None,
    sewer=SEWER,
    tax=Decimal(0),
)
BY_DAYS = replace(MONTHLY, period="33 days", period_months=None, period_days=33)


def firsts(tariff, begins, ends):
    return [period.first for period in billing_periods(tariff, begins, ends=ends)]


def test_a_month_runs_from_reading_day_to_the_day_before_the_next():
    periods = billing_periods(MONTHLY, date(2026, 5, 12), ends=date(2026, 6, 12))
    assert periods == (
        BillingPeriod(date(2026, 5, 12), date(2026, 6, 11)),
        BillingPeriod(date(2026, 6, 12), date(2026, 7, 11)),
    )
    assert [period.days for period in periods] == [31, 30]


def test_periods_reach_back_before_the_first_reading():
    assert firsts(MONTHLY, date(2026, 3, 11), date(2026, 4, 11)) == [date(2026, 2, 12), date(2026, 3, 12)]
    assert firsts(BY_DAYS, date(2026, 4, 8), date(2026, 4, 9)) == [date(2026, 3, 7), date(2026, 4, 9)]


def test_one_day_is_one_period():
    assert firsts(BY_DAYS, date(2026, 6, 13), date(2026, 6, 13)) == [date(2026, 5, 12)]
    assert firsts(BY_DAYS, date(2026, 6, 14), date(2026, 6, 14)) == [date(2026, 6, 14)]


@pytest.mark.parametrize(
    ("year", "february"), [(2027, date(2027, 2, 28)), (2028, date(2028, 2, 29))], ids=["common", "leap"]
)
def test_a_reading_on_the_31st_moves_to_the_end_of_short_months_only(year, february):
    tariff = replace(MONTHLY, first_reading=date(2026, 8, 31))
    assert firsts(tariff, date(year, 1, 31), date(year, 5, 30)) == [
        date(year, 1, 31),
        february,
        date(year, 3, 31),
        date(year, 4, 30),
    ]


def test_a_quarter_keeps_its_months_across_years():
    tariff = replace(MONTHLY, period="3 months", period_months=3)
    assert firsts(tariff, date(2024, 1, 1), date(2024, 8, 11)) == [
        date(2023, 11, 12),
        date(2024, 2, 12),
        date(2024, 5, 12),
    ]


def test_a_span_that_ends_before_it_begins_is_refused():
    with pytest.raises(RillbookError, match="swap the two dates"):
        billing_periods(MONTHLY, date(2026, 6, 2), ends=date(2026, 6, 1))


@pytest.mark.parametrize("tariff", [MONTHLY, BY_DAYS], ids=["months", "days"])
@pytest.mark.parametrize("day", [date.min, date.max], ids=["first day", "last day"])
def test_the_edge_of_the_calendar_is_refused(tariff, day):
    with pytest.raises(RillbookError, match="off the calendar"):
        billing_periods(tariff, day, ends=day)


@pytest.mark.parametrize(("months", "days"), [(None, None), (1, 33), (0, None), (None, -1)])
def test_a_tariff_without_one_period_is_a_programming_error(months, days):
    with pytest.raises(ValueError, match="period"):
        billing_periods(
            replace(MONTHLY, period_months=months, period_days=days),
            date(2026, 5, 12),
            ends=date(2026, 5, 12) + timedelta(days=1),
        )
