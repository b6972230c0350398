"""Sentences on many seasons and other days: counts of one, and costs that do not differ."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from scheduler.show.season_view import YearSum, years_report
from scheduler.show.why_view import why_lines
from scheduler.timetable.why import Instead, ZoneReasons
from tests.builders import make_bed, make_daily, make_garden
from tests.season.test_periods import MONTHLY


def said(costs, *, whole_units=True, litres=(1000.0, 2000.0)):
    garden = replace(make_garden([make_bed()]), tariff=replace(MONTHLY, whole_units=whole_units))
    years = [
        YearSum(2023 + n, water, date(2023 + n, 7, 3), 90.0, 0, Decimal(cost))
        for n, (water, cost) in enumerate(zip(litres, costs, strict=False))
    ]
    return years_report(garden, make_daily(), years=years, currency="USD", system="metric").lines


@pytest.mark.parametrize(
    ("costs", "told", "line"),
    [
        (("12.76", "14.00"), {}, "Cost 12.76 to 14.00 USD at today's prices."),
        (
            ("12.76", "12.76"),
            {},
            "Cost 12.76 USD in each at today's prices, though the water differs: whole units are billed.",
        ),
        (("12.76", "12.76"), {"whole_units": False}, "Cost 12.76 USD in each at today's prices."),
        (("12.76", "12.76"), {"litres": (5.0, 5.0)}, "Cost 12.76 USD in each at today's prices."),
        (("12.76",), {}, "Cost 12.76 USD at today's prices."),
    ],
)
def test_a_cost_that_does_not_differ_is_said_once_and_why(costs, told, line):
    assert said(costs, **told)[1] == line


def test_one_year_is_one_year():
    assert said(("12.76",))[0] == "The one year of the record: 1000 L a season."
    assert said(("12.76", "14.00"))[0] == "Of 2 years: 1000 L to 2000 L a season."


@pytest.mark.parametrize(
    ("run_days", "words"), [(0, "no run at best"), (1, "1 run day at best"), (2, "2 run days")]
)
def test_one_run_day_is_one_run_day(run_days, words):
    reasons = [ZoneReasons("one", (), Instead(run_days, 0.0, 1.0), None)]
    (line,) = why_lines(make_garden([make_bed()]), date(2025, 7, 14), reasons, system="metric")
    assert f"{words}" in line
    assert "1 run days" not in line
