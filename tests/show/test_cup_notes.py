"""A cup test in words; its numbers are checked where they are reckoned."""

from datetime import date

from scheduler.garden.plan import CupTest
from scheduler.show.cup_notes import cup_notes
from tests.builders import make_bed

#: Example of 16 cups, one minute each [mL]: mean 37.5, Cv 0.06002, low quarter 92.00 %, CU 95.17, Us 94.00
#: (95 % interval 90.7 to 95.6), mean flow 0.594 +- 0.019 gal/h; reckoned by hand from the definitions.
CUPS = (38, 40, 37, 39, 36, 41, 38, 35, 39, 37, 33, 38, 40, 36, 34, 39)


def noted(volumes):
    test = CupTest("bed", date(2026, 5, 30), 1.0, tuple(volume / 1000.0 for volume in volumes))
    return cup_notes(make_bed(cup_test=test), "us")


def test_intervals_classes_and_further_cups():
    told, further = noted(CUPS)
    assert "16 cups" in told
    assert "one emitter 0.575 to 0.613 gal/h" in told
    assert "statistical uniformity 91 % to 96 %" in told
    assert "Christiansen 95 %" in told
    assert "from memory" in told
    assert further.startswith("To know the flow within 3 % takes")
    assert "the evenness within 3 % takes" in further


def test_a_dry_cup_is_named_by_its_place():
    notes = noted((*CUPS[:3], 0, *CUPS[4:]))
    assert "dry: 4" in notes[-1]


def test_even_cups_ask_for_no_more():
    assert "takes no more cups" in noted((38, 38, 37, 38, 38, 38, 38, 37))[1]


def test_a_bed_without_cups_has_nothing_to_tell():
    assert cup_notes(make_bed(), "metric") == ()
