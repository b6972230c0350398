"""The ways to lay a bed: counted by hand, and held to the room and to what may stay dry."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from scheduler.garden.plan import Bed, Garden
from scheduler.layout.bed_choices import BORNE_STRIPE, LineChoice, bed_choices, wetted_by
from tests.garden.conftest import PLAN
from tests.layout.plans import BED, FOOT, INCH, garden_of

WIDE = """
[drip.wide]
emitter_flow = "0.6 gal/h"
at_pressure = "20 psi"
exponent = 0.5
emitter_spacing = "12 in"

[[zone]]
"""
ROUND = '"circle"\ndiameter = "60 in"'


def garden_with(*changes: tuple[str, str]) -> Garden:
    """Return the small garden with a second drip line that no bed has, and other changes."""
    text = PLAN.replace("\n[[zone]]\n", WIDE, 1)
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return garden_of(text)


def choices_with(*changes: tuple[str, str]) -> tuple[Bed, tuple[LineChoice, ...]]:
    """Return the bed and the ways to lay it."""
    garden = garden_with(*changes)
    return garden.beds[0], bed_choices(garden.beds[0], garden.drip_lines)


def test_the_plan_offers_lines_that_no_bed_has() -> None:
    assert [line.name for line in garden_with().drip_lines] == ["line", "wide"]


def test_a_straight_bed_by_hand() -> None:
    bed, choices = choices_with()
    assert (choices[0].line, choices[0].runs, choices[0].emitters) == (bed.drip, 2, bed.emitters)
    # 4 ft hold up to 8 runs 6 in apart; each number with either line.
    assert sorted((c.runs or 0, c.line.name) for c in choices) == sorted(
        (runs, line) for runs in range(1, 9) for line in ("line", "wide")
    )
    # A run is 10 ft less 3 in at both ends: 9.5 ft, 19 emitters of the close line, 9 of the wide one.
    for choice in choices:
        assert choice.runs is not None
        assert choice.emitters == choice.runs * {"line": 19, "wide": 9}[choice.line.name]
        assert choice.length == pytest.approx(choice.runs * 9.5 * FOOT)
        assert choice.gap == pytest.approx(4 * FOOT / choice.runs)


def test_what_stays_dry_by_hand() -> None:
    _, choices = choices_with()
    by_way = {(choice.runs, choice.line.name): choice for choice in choices}
    # Coarse soil, at least 30 cm wide: circles 6 in apart leave a little, circles 12 in apart do not meet.
    half, radius = 3 * INCH, 0.15
    close = 2 * (half * math.sqrt(radius**2 - half**2) + radius**2 * math.asin(half / radius)) / (6 * INCH)
    assert by_way[4, "line"].wetted == pytest.approx(close)
    assert by_way[4, "wide"].wetted == pytest.approx(math.pi * radius**2 / (12 * INCH))
    assert by_way[2, "line"].dry_stripe == pytest.approx(2 * FOOT - close)
    assert by_way[4, "line"].dry_stripe == pytest.approx(FOOT - close)
    assert by_way[8, "line"].dry_stripe == 0.0
    # Two runs are what the bed has now, and leave more than is borne else; the wide line leaves more still.
    now = by_way[2, "line"].dry_stripe
    assert now is not None
    assert now > BORNE_STRIPE
    assert {way for way, choice in by_way.items() if choice.too_dry} == {
        (1, "line"),
        (1, "wide"),
        (2, "wide"),
    }


@pytest.mark.parametrize(
    ("change", "width", "words"),
    [
        (('drip = "line"', 'drip = "line"\nwetted_width = "20 in"'), 20 * INCH, "stated in the plan"),
        (('field_capacity = "32 %"\nwilting_point = "13 %"', 'texture = "clay"'), None, "fine soil"),
        (('field_capacity = "32 %"\nwilting_point = "13 %"', 'texture = "loam"'), None, "medium soil"),
        (('field_capacity = "32 %"\nwilting_point = "13 %"', 'texture = "sand"'), None, "coarse soil"),
    ],
)
def test_wetted_width_is_the_plans_own_or_by_texture(
    change: tuple[str, str], width: float | None, words: str
) -> None:
    bed, _ = choices_with(change)
    wide, source = wetted_by(bed, bed.drip)
    assert words in source
    if width is not None:
        assert wide == pytest.approx(width)


def test_finer_soil_bears_wider_gaps() -> None:
    mix = 'field_capacity = "32 %"\nwilting_point = "13 %"'
    dry = []
    for texture in ("sand", "loam", "clay"):
        _, choices = choices_with((mix, f'texture = "{texture}"'), ("runs = 2", "runs = 4"))
        dry.append(sum(choice.too_dry for choice in choices))
    assert dry == sorted(dry, reverse=True)
    assert dry[0] > dry[-1]


def test_a_round_bed_gets_even_rings() -> None:
    _, choices = choices_with((BED, ROUND), ("runs = 2", 'rings = ["40 in", "20 in"]'))
    assert choices[0].rings == pytest.approx((40 * INCH, 20 * INCH))
    # From the outer ring to the board 10 in, which count twice; through the middle 20 in.
    assert choices[0].gap == pytest.approx(20 * INCH)
    assert {len(choice.rings) for choice in choices} == {1, 2, 3, 4, 5}
    three = [choice for choice in choices if len(choice.rings) == 3]
    assert [choice.line.name for choice in three] == ["line", "wide"]
    for choice in three:
        assert choice.rings == pytest.approx((50 * INCH, 30 * INCH, 10 * INCH))
        assert choice.gap == pytest.approx(10 * INCH)
        assert choice.length == pytest.approx(math.pi * 90 * INCH)
    # 157.08, 94.25 and 31.42 in of ring.
    assert [choice.emitters for choice in three] == [26 + 15 + 5, 13 + 7 + 2]


def test_rounded_ends_draw_the_outer_runs_together() -> None:
    _, choices = choices_with(
        (BED, '"rounded ends"\nlength = "9 ft"\nwidth = "3 ft"'), ("runs = 2", "runs = 3")
    )
    gaps = [choice.gap for choice in choices if choice.line.name == "line" and choice.gap is not None]
    assert max(gaps) == pytest.approx(3 * FOOT)
    # However many runs, the outer ones keep off the curved board.
    assert min(gaps) > 12 * INCH
    numbers = sorted({choice.runs or 0 for choice in choices})
    assert all(after - before == 1 for before, after in pairwise(numbers))


@pytest.mark.parametrize("way", ['line_length = "19 ft"', "emitters = 38"])
def test_a_bed_whose_line_lies_who_knows_how(way: str) -> None:
    polygon = '"polygon"\ncorners = [["0 ft", "0 ft"], ["9 ft", "0 ft"], ["0 ft", "9 ft"]]'
    bed, choices = choices_with((BED, polygon), ("runs = 2", way))
    assert all(choice.gap is None and not choice.too_dry for choice in choices)
    # Of a known length the other line is a choice; of counted emitters nothing else can be said.
    assert [(c.line.name, c.emitters) for c in choices] == (
        [("line", 38)] if "emitters" in way else [("line", 38), ("wide", 19)]
    )
    assert choices[0].emitters == bed.emitters


def test_a_bed_with_its_own_spacing_may_get_the_printed_one() -> None:
    bed, choices = choices_with(("runs = 2", 'runs = 2\nemitter_spacing = "9 in"'))
    spacings = {round(choice.line.emitter_spacing / INCH) for choice in choices if choice.runs == 2}
    assert spacings == {6, 9, 12}
    assert choices[0].line == bed.drip


def test_a_line_without_room_for_an_emitter_is_no_choice() -> None:
    _, choices = choices_with((BED, '"rectangle"\nlength = "14 in"\nwidth = "4 ft"'))
    # 8 in of run hold one emitter of the close line, none of the wide one.
    assert {choice.line.name for choice in choices} == {"line"}
    assert all(choice.emitters == choice.runs for choice in choices)
