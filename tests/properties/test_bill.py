"""What holds for every bill: monotone, bounded steps, lines that add up, readings that telescope."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import ROUND_FLOOR, Decimal

from hypothesis import given
from hypothesis import strategies as st

from scheduler.garden.plan import BillBlock, Household, Sewer, Tariff
from scheduler.season.periods import billing_periods
from scheduler.season.tariff import season_bill, water_bill

CENT = Decimal("0.01")

amounts = st.decimals(0, 60, places=2)
readings = st.decimals(0, 2000, places=3)
days_of_year = st.dates(date(2019, 1, 1), date(2031, 12, 31))
litres = st.floats(0, 3000, allow_nan=False)


@st.composite
def sewers(draw):
    return Sewer(
        rule=draw(st.sampled_from(["none", "all water", "winter average", "cap"])),
        price=draw(amounts),
        fixed_charge=draw(amounts),
        winter_average=draw(st.decimals(0, 20, places=1)),
        cap=draw(st.decimals(1, 3, places=1)),
        averaging_months=(12, 1, 2),
    )


@st.composite
def tariffs(draw, *, whole_units=None):
    """Any tariff the plan can hold; prices may rise or fall from block to block."""
    ends = draw(st.lists(st.integers(1, 40), unique=True, max_size=3).map(sorted))
    prices = draw(st.lists(amounts, min_size=len(ends) + 1, max_size=len(ends) + 1))
    months = draw(st.sampled_from([None, 1, 2, 3]))
    return Tariff(
        currency="EUR",
        unit=draw(st.sampled_from(["m3", "CCF", "kgal"])),
        whole_units=draw(st.booleans()) if whole_units is None else whole_units,
        period="any",
        period_months=months,
        period_days=draw(st.integers(20, 100)) if months is None else None,
        first_reading=draw(days_of_year),
        fixed_charge=draw(amounts),
        fixed_per_days=draw(st.sampled_from([None, 30])),
        blocks=tuple(
            BillBlock(end, price) for end, price in zip([*map(Decimal, ends), None], prices, strict=True)
        ),
        blocks_per_days=draw(st.sampled_from([None, 30])),
        sewer=draw(sewers()),
        tax=draw(st.decimals(0, 1, places=3)),
    )


@st.composite
def seasons(draw, *, whole_units=None):
    """A season's bill together with the inputs it came from."""
    tariff = draw(tariffs(whole_units=whole_units))
    begins = draw(days_of_year)
    length = draw(st.integers(1, 200))
    watered = draw(st.dictionaries(st.integers(0, length - 1), litres, max_size=20))
    result = season_bill(
        {begins + timedelta(days=number): volume for number, volume in watered.items()},
        tariff,
        household=Household(draw(litres), draw(st.floats(0, 1e6))),
        begins=begins,
        ends=begins + timedelta(days=length - 1),
    )
    return result, tariff


def dearest_unit(tariff):
    """Return the most that one unit more can cost before rounding."""
    dearest_block = max(block.price for block in tariff.blocks)
    return (dearest_block + tariff.sewer.price) * (1 + tariff.tax)


def most_rounding(tariff):
    """Return how far rounding can pull two bills apart: a cent for each line that moves with use, and tax."""
    moving = len(tariff.blocks) + 1
    return moving * CENT * (1 + tariff.tax) + CENT


@given(tariffs(), st.lists(readings, min_size=3, max_size=3).map(sorted), st.integers(1, 120))
def test_more_water_never_costs_less(tariff, sorted_readings, days):
    start, middle, end = sorted_readings
    less = water_bill(start, middle, tariff=tariff, days=days)
    more = water_bill(start, end, tariff=tariff, days=days)
    assert less.units <= more.units
    assert less.total <= more.total


@given(tariffs(whole_units=False), readings, readings, st.decimals(0, "0.5", places=6), st.integers(1, 120))
def test_a_bill_in_exact_units_has_no_steps(tariff, start, used, more, days):
    before = water_bill(start, start + used, tariff=tariff, days=days).total
    after = water_bill(start, start + used + more, tariff=tariff, days=days).total
    assert after - before <= more * dearest_unit(tariff) + most_rounding(tariff)


@given(tariffs(whole_units=True), readings, readings, st.decimals(0, "0.999", places=3), st.integers(1, 120))
def test_a_bill_in_whole_units_steps_by_one_unit_at_most(tariff, start, used, more, days):
    before = water_bill(start, start + used, tariff=tariff, days=days)
    after = water_bill(start, start + used + more, tariff=tariff, days=days)
    assert after.units - before.units in (0, 1)
    assert after.total - before.total <= dearest_unit(tariff) + most_rounding(tariff)


@given(tariffs(), readings, readings, st.integers(1, 120))
def test_lines_add_up(tariff, start, used, days):
    bill = water_bill(start, start + used, tariff=tariff, days=days)
    assert sum(line.amount for line in bill.lines) == bill.total
    assert all(line.amount == line.amount.quantize(CENT) and line.amount >= 0 for line in bill.lines)
    assert sum(line.quantity for line in bill.lines if line.label.startswith("Water")) == bill.units


@given(seasons(whole_units=False))
def test_in_exact_units_the_garden_never_saves_money(season):
    result, _ = season
    for period in result.periods:
        assert period.garden_cost >= 0
        assert period.with_garden.units - period.without_garden.units == period.garden_units
    assert result.billed_units == result.garden_units


@given(seasons(whole_units=True))
def test_in_whole_units_a_period_is_off_by_less_than_two_units(season):
    result, tariff = season
    for period in result.periods:
        billed = period.with_garden.units - period.without_garden.units
        assert abs(billed - period.garden_units) < 2
        # A unit that moved to an earlier bill is the most a garden can seem to save.
        assert billed >= -1
        assert period.garden_cost >= -dearest_unit(tariff) - most_rounding(tariff)


@given(seasons(whole_units=True))
def test_whole_units_telescope_over_a_season(season):
    result, _ = season
    for name in ("with_garden", "without_garden"):
        bills = [getattr(period, name) for period in result.periods]
        first, last = bills[0].start_reading, bills[-1].end_reading
        whole = last.to_integral_value(ROUND_FLOOR) - first.to_integral_value(ROUND_FLOOR)
        assert sum(bill.units for bill in bills) == whole
        assert all(a.end_reading == b.start_reading for a, b in zip(bills, bills[1:], strict=False))
    assert result.billed_units >= 0
    assert abs(result.billed_units - result.garden_units) < 1


@given(seasons())
def test_season_sums_its_periods(season):
    result, _ = season
    assert result.total_with == sum(period.with_garden.total for period in result.periods)
    assert result.total_without == sum(period.without_garden.total for period in result.periods)
    assert result.garden_cost == result.total_with - result.total_without
    assert result.garden_units == sum(period.garden_units for period in result.periods)


@given(tariffs(), days_of_year, st.integers(0, 800))
def test_periods_follow_one_another_and_cover_the_span(tariff, begins, length):
    ends = begins + timedelta(days=length)
    periods = billing_periods(tariff, begins, ends=ends)
    assert periods[0].first <= begins <= periods[0].last
    assert periods[-1].first <= ends <= periods[-1].last
    for one, following in zip(periods, periods[1:], strict=False):
        assert following.first == one.last + timedelta(days=1)
    assert all(period.days >= 1 for period in periods)


@given(tariffs(), days_of_year, st.integers(0, 400))
def test_periods_do_not_depend_on_which_of_their_readings_came_first(tariff, begins, length):
    # Any day up to the 28th comes back in every month, so each reading could have been the first.
    tariff = replace(
        tariff, first_reading=tariff.first_reading.replace(day=min(28, tariff.first_reading.day))
    )
    periods = billing_periods(tariff, begins, ends=begins + timedelta(days=length))
    for period in periods:
        moved = replace(tariff, first_reading=period.first)
        assert billing_periods(moved, begins, ends=begins + timedelta(days=length)) == periods
