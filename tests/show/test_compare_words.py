"""Sentences of a comparison: gains, small savings, and more water than the other timetable takes."""

from decimal import Decimal

import pytest

from scheduler.season.compare import WEEKLY, Tally
from scheduler.show.compare_words import verdict

OTHER = '"every day 20 min"'


def tally(label, litres, short, *, transpired=5000.0, cost=None):
    return Tally(label, litres, 0.0, transpired, short, 1000.0, None if cost is None else Decimal(cost))


def said(ours, other, system="metric"):
    return verdict(ours, other, currency="USD", system=system)


ALIKE = "the beds fare alike (40 bed-days short of water against 40)"
WORSE = "the beds fare worse (80 bed-days short of water against 40)"


@pytest.mark.parametrize(
    ("litres", "short", "wanted"),
    [
        # 3000 L less than the other's 10000.
        (7000, 40, f"The weekly table takes 3000 L (30 %) less than {OTHER}, and {ALIKE}."),
        (7000, 5, "less than {}, and the beds fare better (5 bed-days short of water against 40)."),
        (7000, 80, f"less than {{}}, but {WORSE}: 200 L of that the crops missed."),
        # About as much.
        (9700, 40, f"Beside {OTHER} the weekly table saves little or no water: 300 L (3 %) less."),
        (9700, 40, f"{ALIKE}: that timetable serves this garden about as well.".replace("the", "The", 1)),
        (10300, 45, "300 L (3 %) more. The beds fare alike (45 bed-days short of water against 40): that"),
        (9700, 1, "300 L (3 %) less. What it brings: 1 bed-day short of water against 40."),
        (10300, 80, f"300 L (3 %) more, and {WORSE}: that timetable serves this garden better."),
        # More.
        (
            15000,
            40,
            f"takes 5000 L (33 %) more than {{}}, and {ALIKE}: that timetable serves this garden better.",
        ),
        (15000, 80, f"more than {{}}, and {WORSE}: that timetable serves this garden better."),
    ],
)
def test_every_outcome_is_said_plainly(litres, short, wanted):
    text = said(tally(WEEKLY, litres, short, transpired=4800.0), tally("every day 20 min", 10000, 40))
    assert wanted.format(OTHER) in text
    assert text.endswith(".")


def test_more_water_than_a_timetable_that_leaves_beds_dry():
    ours = tally(WEEKLY, 15000, 4, transpired=9000.0)
    other = tally("1 in a week", 10000, 400, transpired=6500.0)
    assert said(ours, other) == (
        'The weekly table takes 5000 L (33 %) more than "1 in a week", because that leaves beds too dry '
        "(4 bed-days short of water against 400): 2500 L of that the crops used."
    )


def test_a_saving_is_not_blamed_on_the_crops_where_they_missed_nothing():
    text = said(tally(WEEKLY, 7000, 90), tally("every day 20 min", 10000, 40))
    assert text.endswith("fare worse (90 bed-days short of water against 40).")


def test_days_are_alike_up_to_one_in_a_hundred_of_those_that_beds_are_used():
    other = tally("x", 10000, 40)
    for short, words in ((30, "alike"), (29, "better"), (50, "alike"), (51, "worse")):
        assert f"beds fare {words}" in said(tally(WEEKLY, 7000, short), other)


@pytest.mark.parametrize(
    ("ours", "other", "wanted"),
    [
        ("10.00", "12.50", "The water bills come to 2.50 USD less."),
        ("12.50", "10.00", "The water bills come to 2.50 USD more."),
        ("10.00", "10.00", "The water bills come to the same."),
        (None, "10.00", None),
    ],
)
def test_money_is_said_where_there_is_a_tariff(ours, other, wanted):
    text = said(tally(WEEKLY, 7000, 40, cost=ours), tally("x", 10000, 40, cost=other))
    assert text.endswith(wanted) if wanted else "bills" not in text


def test_a_timetable_without_any_water_and_other_units():
    text = said(
        tally(WEEKLY, 3785.411784, 4, transpired=1000.0), tally("off", 0.0, 500, transpired=0.0), "us"
    )
    assert "1000 gal (100 %) more" in text
    nothing = tally(WEEKLY, 0.0, 0)
    assert "0 L (0 %) less" in said(nothing, tally("off", 0.0, 0))
