"""Timetables in words: what is read, what is refused, and back again."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.season.depth_rule import DepthRule
from scheduler.season.timetable_text import fixed_text, read_depth, read_fixed
from scheduler.timetable.fixed import FixedSetting
from scheduler.timetable.windows import WEEKDAYS

BEGINS = date(2025, 4, 1)
ZONES = ("fruit", "vines", "salad")
MWF = frozenset({"Mon", "Wed", "Fri"})


def read(text, zones=ZONES):
    faults = []
    timetable = read_fixed(text, zones, begins=BEGINS, faults=faults, beds={"tall bed": "vines"})
    assert (timetable is None) == bool(faults)
    return timetable, [str(fault) for fault in faults]


def rules(text, zones=ZONES):
    timetable, faults = read(text, zones)
    assert faults == []
    assert [one.zone for one in timetable.settings] == list(zones)
    assert {one.begins for one in timetable.settings} == {BEGINS}
    return [(one.days, one.starts, one.minutes) for one in timetable.settings]


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("every day 20 min", (1, 1, 20)),
        ("daily 20 min", (1, 1, 20)),
        ("  Every   Day  1 h 15 min ", (1, 1, 75)),
        ("every 3 days 40 min", (3, 1, 40)),
        ("every 1 day 40 min", (1, 1, 40)),
        ("every other day 2x15min", (2, 2, 15)),
        ("every 2nd day 30 min", (2, 1, 30)),
        ("every 3rd day 30 min", (3, 1, 30)),
        ("every third day, 3 times 5 minutes", (3, 3, 5)),
        ("Mon Wed Fri 2 x 15 min", (MWF, 2, 15)),
        ("monday, wednesday and Friday 2 × 15 min", (MWF, 2, 15)),
        ("Mo We Fr. 30 min", (MWF, 1, 30)),
        ("Sun 24 h", (frozenset({"Sun"}), 1, 1440)),
        ("off", (None, 0, 0)),
    ],
)
def test_one_rule_is_for_all_zones(text, rule):
    assert rules(text) == [rule] * 3


def test_zones_are_named_and_one_rule_may_be_for_the_others():
    assert rules("fruit: every day 20 min; Vines: Mon Thu 30 min; salad: off") == [
        (1, 1, 20),
        (frozenset({"Mon", "Thu"}), 1, 30),
        (None, 0, 0),
    ]
    assert rules("every 2 days 10 min; vines: off") == [(2, 1, 10), (None, 0, 0), (2, 1, 10)]
    assert rules("bed: 3: Mon 5 min", ("bed: 3",)) == [(frozenset({"Mon"}), 1, 5)]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", ["a part of it is empty"]),
        ("every day 20 min;", ["a part of it is empty"]),
        ("every day", ["no length of a run"]),
        ("20 min", ["names no run days"]),
        ("every day 20", ["has no unit", "30 min"]),
        ("every day 20 L", ['"20 L" is a volume']),
        ("every day 90 s", ["whole number of minutes"]),
        ("every day 0 min", ["whole number of minutes"]),
        ("every day 0 x 5 min", ["no water of one day"]),
        ("every day 3 x 500 min", ["no water of one day", "within 24 h"]),
        ("every 0 days 5 min", ['"every 0 days" is no interval', "from 1 to 366"]),
        ("every 1.5 days 5 min", ["is no interval"]),
        ("every 5nth day 5 min", ['"every 5nth day" is no interval']),
        (
            "fruit; Tue Sat 20 min",
            ['"fruit" sets nothing', 'a colon belongs after the name of a zone: "fruit:'],
        ),
        ("Fruit Tue 20 min; off", ["a colon belongs after", '"fruit: Tue 20 min"']),
        ("tall bed: Tue 20 min; off", ['"tall bed" is a bed, not a zone', 'behind zone "vines"']),
        ("tall bed Tue 20 min; off", ['"tall bed" is a bed, not a zone', '"vines: Tue 20 min"']),
        ("every 10000 days 5 min", ["is no interval"]),
        ("Mon-Fri 5 min", ['"Mon-Fri" is no run day', "Mon Tue Wed"]),
        ("M 5 min", ['"M" is no run day']),
        ("Tue Tue 5 min", ["Tue is named twice"]),
        ("every day 5 min; every 2 days 3 min", ["two settings without a zone"]),
        ("salad: off; SALAD: off; off", ['two settings for zone "salad"']),
        ("salat: every day 5 min; off", ['no zone "salat"', 'did you mean "salad"?']),
        ("xyz: every day 5 min; off", ["one of fruit, vines, salad"]),
        ("fruit: every day 5 min", ['nothing is said of zone "vines", "salad"', '"vines: off"']),
    ],
)
def test_a_fault_is_told_with_what_would_be_right(text, words):
    timetable, faults = read(text)
    assert timetable is None
    assert len(faults) == 1
    for word in words:
        assert word in faults[0]
    assert faults[0].startswith('--fixed "')


def test_every_fault_is_told_at_once():
    _, faults = read("salat: Mn Fri 20; every 0 days; vines: every day 5 min; vines: off")
    told = "\n".join(faults)
    for word in ('"salat"', '"Mn"', "no unit", '"every 0 days"', "no length", 'settings for zone "vines"'):
        assert told.count(word) == 1, word
    assert len(faults) == 6


def test_a_zone_called_after_a_day_leaves_the_day_a_day():
    assert rules("Mon 20 min", ("Mon",)) == [(frozenset({"Mon"}), 1, 20)]


day_words = st.one_of(st.integers(1, 366), st.frozensets(st.sampled_from(WEEKDAYS), min_size=1), st.none())


@st.composite
def settings_of_zones(draw):
    # Any name that does not part the text; a colon in it is no harm.
    names = st.text(
        st.characters(codec="utf-8", exclude_categories=("Z", "C"), exclude_characters=";"), min_size=1
    )
    zones = draw(st.lists(names, min_size=1, max_size=4, unique_by=str.casefold))
    made = []
    for zone in zones:
        days = draw(day_words)
        starts = draw(st.integers(1, 12))
        minutes = draw(st.integers(1, 1440 // starts))
        made.append(FixedSetting(zone, BEGINS, days, *((0, 0) if days is None else (starts, minutes))))
    return tuple(made)


@given(settings_of_zones())
def test_words_are_read_back_as_they_were_meant(settings):
    zones = tuple(one.zone for one in settings)
    timetable, faults = read(fixed_text(settings), zones)
    assert faults == []
    assert timetable.settings == settings
    assert timetable.label == fixed_text(timetable.settings)


@given(st.text(max_size=60))
def test_no_text_breaks_the_readers(text):
    read(text)
    faults = []
    assert (read_depth(text, faults=faults) is None) == bool(faults)


# --- a depth a week


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("1 in a week", DepthRule("1 inch a week in 2 runs", 25.4, 2, False)),
        ("25 mm per week in 3 runs", DepthRule("25 mm per week in 3 runs", 25.0, 3, False)),
        ("1.5in a week", DepthRule("1.5 inches a week in 2 runs", 38.1, 2, False)),
        ("2 inches per week in 1 run", DepthRule("2 inches per week in 1 run", 50.8, 1, False)),
        ("25mm/week on 1 day", DepthRule("25mm/week on 1 day", 25.0, 1, False)),
        ("1 in a week less rain", DepthRule("1 inch a week less rain in 2 runs", 25.4, 2, True)),
        ("1 in a week in 7 runs, less rain", DepthRule("1 inch a week in 7 runs, less rain", 25.4, 7, True)),
        (
            "1/2 in  each Week less the rain in 2 runs",
            DepthRule("1/2 inch each Week less the rain in 2 runs", 12.7, 2, True),
        ),
    ],
)
def test_a_depth_a_week_is_read(text, rule):
    faults = []
    assert read_depth(text, faults=faults) == rule
    assert faults == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1 in", ["how much water a week", "1 in a week"]),
        ("1 a week", ["no unit"]),
        ("a week", ["empty"]),
        ("0 mm a week", ["is no water"]),
        ("5 min a week", ["is a time, not a depth"]),
        ("1 in a week in 0 runs", ["0 runs in a week", "1 to 7"]),
        ("1 in a week in 99999999 runs", ["99999999 runs"]),
        ("1 in a week for ever", ['"for ever" cannot be read']),
        ("1 in a week in 2 runs in 3 runs", ['"in 3 runs" cannot be read']),
    ],
)
def test_a_depth_that_cannot_be_meant_is_refused(text, words):
    faults = []
    assert read_depth(text, faults=faults) is None
    assert len(faults) == 1
    for word in words:
        assert word in str(faults[0])
