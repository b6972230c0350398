"""Bills line by line, and a season's bills with and without the garden."""

import math
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import numpy as np
import pytest

from scheduler.errors import RillbookError
from scheduler.garden.plan import BillBlock, Household, Sewer, Tariff
from scheduler.garden.units import convert_volume_units
from scheduler.season.tariff import BillLine, block_charge, season_bill, water_bill

D = Decimal
NO_SEWER = Sewer("none", D("1.50"), D(0), None, None, ())
WINTER = Sewer("winter average", D("1.50"), D(0), D(6), D("1.5"), (12, 1, 2))
TARIFF = Tariff(
    currency="EUR",
    unit="m3",
    whole_units=False,
    period="1 month",
    period_months=1,
    period_days=None,
    first_reading=date(2026, 5, 1),
    fixed_charge=D("9.40"),
    fixed_per_days=None,
    blocks=(BillBlock(D(7), D("2.10")), BillBlock(D(12), D("2.60")), BillBlock(None, D("3.65"))),
    blocks_per_days=None,
    sewer=NO_SEWER,
    tax=D(0),
)
HOUSE = Household(use_per_day=300.0, meter_reading=150_000.0)
MAY = (date(2026, 5, 1), date(2026, 5, 31))


def bill(units, tariff, days=30):
    return water_bill(D(0), D(units), tariff=tariff, days=days)


def line_of(result, label):
    (line,) = (line for line in result.lines if line.label.startswith(label))
    return line


def season(garden, tariff=TARIFF, house=HOUSE, span=MAY):
    return season_bill(garden, tariff, household=house, begins=span[0], ends=span[1])


def daily(litres, begins, days):
    return {begins + timedelta(days=number): litres for number in range(days)}


def test_one_line_for_each_block_used():
    assert block_charge(D("12.5"), TARIFF, days=30) == [
        BillLine("Water, first 7 m3", D(7), "m3", D("2.10"), D("14.70")),
        BillLine("Water, 7 to 12 m3", D(5), "m3", D("2.60"), D("13.00")),
        BillLine("Water, above 12 m3", D("0.5"), "m3", D("3.65"), D("1.83")),
    ]
    assert [line.quantity for line in block_charge(D(7), TARIFF, days=30)] == [D(7)]
    assert block_charge(D(0), TARIFF, days=30) == []


def test_one_price_for_all_water_needs_no_bounds_in_its_label():
    tariff = replace(TARIFF, blocks=(BillBlock(None, D("2.10")),))
    assert block_charge(D(3), tariff, days=30) == [BillLine("Water", D(3), "m3", D("2.10"), D("6.30"))]


def test_blocks_widen_with_the_days_of_the_period():
    tariff = replace(TARIFF, blocks_per_days=30)
    lines = block_charge(D(14), tariff, days=33)
    assert [line.quantity for line in lines] == [D("7.7"), D("5.5"), D("0.8")]
    assert lines[1].label == "Water, 7.7 to 13.2 m3"
    # 7 x 31 / 30 has no end in decimals; the quantities still add up.
    assert sum(line.quantity for line in block_charge(D(14), tariff, days=31)) == 14


def test_half_a_cent_is_rounded_upwards():
    tariff = replace(TARIFF, blocks=(BillBlock(None, D("0.01")),))
    amounts = [block_charge(D(units), tariff, days=30)[0].amount for units in ("0.5", "1.5", "2.5")]
    assert amounts == [D("0.01"), D("0.02"), D("0.03")]


def test_each_reading_is_cut_down_before_they_are_subtracted():
    tariff = replace(TARIFF, whole_units=True)
    assert water_bill(D("3.9"), D("5.0"), tariff=tariff, days=30).units == 2
    assert water_bill(D("3.0"), D("4.9"), tariff=tariff, days=30).units == 1


def test_fixed_charge_by_the_bill_by_the_day_or_none():
    assert line_of(bill(0, TARIFF, days=33), "Fixed charge").amount == D("9.40")
    by_day = replace(TARIFF, fixed_per_days=30)
    assert bill(0, by_day, days=33).lines == (
        BillLine("Fixed charge", D("1.1"), "period of 30 days", D("9.40"), D("10.34")),
    )
    assert bill(0, replace(TARIFF, fixed_charge=D(0))).lines == ()


@pytest.mark.parametrize(
    ("rule", "units", "counted"),
    [
        ("all water", "14", "14"),
        ("winter average", "14", "6"),
        ("winter average", "4", "4"),
        ("cap", "14", "9"),
        ("cap", "8", "8"),
    ],
)
def test_sewer_counts_what_its_rule_lets_count(rule, units, counted):
    line = line_of(bill(units, replace(TARIFF, sewer=replace(WINTER, rule=rule))), "Sewer")
    assert (line.quantity, line.amount) == (D(counted), D(counted) * D("1.50"))


def test_winter_average_is_not_widened_with_the_period():
    tariff = replace(TARIFF, sewer=WINTER, blocks_per_days=30, fixed_per_days=30)
    assert line_of(bill(14, tariff, days=60), "Sewer").quantity == 6


def test_sewer_without_a_rule_has_at_most_its_fixed_charge():
    assert not [line for line in bill(14, TARIFF).lines if line.label.startswith("Sewer")]
    tariff = replace(TARIFF, sewer=replace(NO_SEWER, fixed_charge=D("3.00")))
    assert line_of(bill(14, tariff), "Sewer").amount == D("3.00")


@pytest.mark.parametrize(
    "sewer",
    [
        replace(WINTER, winter_average=None),
        replace(WINTER, rule="cap", winter_average=None),
        replace(WINTER, rule="cap", cap=None),
    ],
)
def test_a_sewer_rule_without_its_figures_is_a_programming_error(sewer):
    with pytest.raises(ValueError, match="needs the"):
        bill(14, replace(TARIFF, sewer=sewer))


def test_tax_is_taken_on_the_rounded_lines():
    result = bill(7, replace(TARIFF, tax=D("0.05")))
    assert result.lines[-1] == BillLine("Tax, 5 %", D("24.10"), "EUR", D("0.05"), D("1.21"))
    assert result.total == D("25.31")


@pytest.mark.parametrize(
    ("start", "end", "days", "told"),
    [
        ("NaN", "5", 30, "start: NaN"),
        ("-1", "5", 30, "start: -1"),
        ("1", "Infinity", 30, "end: Infinity"),
        ("5", "4", 30, "lower than 5"),
        ("4", "5", 0, "at least 1"),
    ],
)
def test_readings_that_cannot_be_a_bill_are_refused(start, end, days, told):
    with pytest.raises(RillbookError, match=told):
        water_bill(D(start), D(end), tariff=TARIFF, days=days)


def test_season_with_and_without_the_garden():
    result = season(daily(200.0, MAY[0], 31))
    (may,) = result.periods
    assert (may.without_garden.start_reading, may.without_garden.end_reading) == (D(150), D("159.3"))
    assert (may.with_garden.start_reading, may.with_garden.end_reading) == (D(150), D("165.5"))
    # By hand: 15.5 m3 = 14.70 + 13.00 + 12.775; 9.3 m3 = 14.70 + 5.98; both with 9.40 fixed.
    assert (result.total_with, result.total_without) == (D("49.88"), D("30.08"))
    assert result.garden_cost == may.garden_cost == D("19.80")
    assert result.garden_units == result.billed_units == D("6.2")
    # (49.88 - 9.40) / 15.5 and 19.80 / 6.2
    assert (result.average_price, result.marginal_price) == (D("2.6116"), D("3.1935"))


def test_season_without_garden_water_costs_nothing():
    result = season({})
    assert (result.garden_cost, result.garden_units, result.marginal_price) == (D(0), D(0), None)
    assert season({}, house=Household(0.0, 0.0)).average_price is None


def test_partial_periods_are_filled_by_the_house_and_told():
    result = season(daily(100.0, date(2026, 5, 20), 20), span=(date(2026, 5, 20), date(2026, 6, 8)))
    assert [period.without_garden.units for period in result.periods] == [D("9.3"), D("9.0")]
    assert [period.garden_units for period in result.periods] == [D("1.2"), D("0.8")]
    told = " ".join(result.notes)
    assert "first bill begins on 2026-05-01" in told
    assert "last bill ends on 2026-06-30" in told
    whole = " ".join(season({}).notes)
    assert "first bill begins" not in whole
    assert "last bill ends" not in whole


def test_readings_run_on_from_period_to_period():
    result = season(daily(123.4, MAY[0], 61), span=(MAY[0], date(2026, 6, 30)))
    may, june = result.periods
    assert june.with_garden.start_reading == may.with_garden.end_reading
    assert june.without_garden.start_reading == may.without_garden.end_reading


def test_readings_with_the_garden_meet_the_first_reading():
    span = (date(2026, 4, 1), date(2026, 5, 31))
    april, may = season(daily(100.0, span[0], 61), span=span).periods
    assert may.with_garden.start_reading == D(150)
    # Back over 30 days of 0.3 m3 for the house and 0.1 m3 for the garden.
    assert april.with_garden.start_reading == april.without_garden.start_reading == D(138)


def test_a_meter_that_would_start_below_zero_is_raised_by_whole_units():
    span = (date(2026, 4, 1), date(2026, 5, 31))
    tariff = replace(TARIFF, whole_units=True)
    high, low = (
        season(daily(100.0, span[0], 61), tariff, Household(310.0, reading), span)
        for reading in (50_000.0, 0.0)
    )
    assert low.periods[0].with_garden.start_reading == D("0.7")
    assert [period.garden_cost for period in low.periods] == [period.garden_cost for period in high.periods]
    assert any("raised by 13 m3" in note for note in low.notes)
    assert not any("raised" in note for note in high.notes)


def test_binary_noise_does_not_move_a_whole_unit():
    """412 CCF may come back from a float of litres as a hair under 412."""
    tariff = replace(TARIFF, unit="CCF", whole_units=True)
    reading = math.nextafter(412 * float(convert_volume_units("CCF")), 0.0)
    (may,) = season({}, tariff, Household(use_per_day=0.0, meter_reading=reading)).periods
    assert may.with_garden.start_reading == 412
    (june,) = season(daily(0.1, MAY[0], 30), replace(TARIFF, unit="L"), Household(0.0, 0.0)).periods
    assert june.garden_units == 3


def test_numpy_numbers_are_taken():
    garden = {day: np.float64(litres) for day, litres in daily(200.0, MAY[0], 31).items()}
    assert season(garden) == season(daily(200.0, MAY[0], 31))


def test_garden_water_in_the_averaging_months_is_told():
    span = (date(2026, 2, 20), date(2026, 3, 10))
    garden = daily(100.0, span[0], 19)
    result = season(garden, replace(TARIFF, sewer=WINTER), span=span)
    assert [note for note in result.notes if "sewer" in note] == [
        "0.9 m3 of garden water falls in months that set the sewer average; "
        "it may raise later sewer charges, which are not counted here."
    ]
    all_water = replace(TARIFF, sewer=replace(WINTER, rule="all water"))
    assert not any("sewer" in note for note in season(garden, all_water, span=span).notes)


def test_a_whole_unit_that_moves_to_an_earlier_bill_is_told():
    # House 0.62 m3 in May and 0.60 m3 in June: its first whole unit falls due in June. The garden's 0.4 m3
    # of May brings that unit forward and adds none.
    house = Household(use_per_day=20.0, meter_reading=0.0)
    span = (MAY[0], date(2026, 6, 30))
    result = season({MAY[0]: 400.0}, replace(TARIFF, whole_units=True), house, span)
    assert [period.garden_cost for period in result.periods] == [D("2.10"), D("-2.10")]
    assert (result.garden_cost, result.billed_units, result.marginal_price) == (D(0), D(0), None)
    assert any("moved to an earlier bill" in note for note in result.notes)
    exact = season({MAY[0]: 400.0}, TARIFF, house, span)
    assert [period.garden_cost for period in exact.periods] == [D("0.84"), D("0.00")]
    assert not any("moved to an earlier bill" in note for note in exact.notes)


def test_all_wrong_volumes_are_named_at_once():
    garden = {MAY[0]: -1.0, MAY[1]: float("nan")}
    with pytest.raises(RillbookError) as caught:
        season(garden, house=Household(use_per_day=float("inf"), meter_reading=0.0))
    lines = str(caught.value).splitlines()
    assert [line.split(":")[0] for line in lines] == [
        "garden water on 2026-05-01",
        "garden water on 2026-05-31",
        "house use a day",
    ]


def test_garden_water_outside_the_span_is_refused():
    with pytest.raises(RillbookError, match="garden water on 2026-06-01, outside"):
        season({date(2026, 6, 1): 5.0})
