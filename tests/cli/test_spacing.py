"""`rillbook spacing` on the demo gardens and on the small one: tables, forms, units, refusals."""

from __future__ import annotations

import csv
import io
import json

import pytest

from tests.cli.conftest import ON, Answer, Place, Run

DAY = "2026-07-13"
LITRES_PER_GALLON = 3.785411784


@pytest.fixture
def one(demo: Run) -> Answer:
    """Return the answer for the garden with all beds behind one outlet."""
    return demo("spacing", "one_outlet", "--on", DAY, "--json")


def test_one_outlet_step_by_step(one: Answer) -> None:
    assert one.code == 0
    document = one.json
    assert document["schema"] == "rillbook.advice/1"
    rows = document["rows"]
    assert {row["zone"] for row in rows} == {"all beds"}
    assert [row["changes"] for row in rows][:3] == [0, 1, 2]
    wastes = [row["waste_l"] for row in rows]
    assert wastes == sorted(wastes, reverse=True)
    assert wastes[-1] < 0.5 * wastes[0]
    assert rows[0]["beds"] is None
    assert [len(row["beds"]) for row in rows[1:]] == [row["changes"] for row in rows[1:]]


def test_the_beds_add_up_to_the_zone(one: Answer) -> None:
    document = one.json
    first, last = document["rows"][0], document["rows"][-1]
    for words, row in ((("now",), first), (("then", "stays"), last)):
        beds = [bed for bed in document["beds"] if bed["step"] in words]
        assert len(beds) == 6
        assert {bed["gets_min"] for bed in beds} == {row["run_time_min"]}
        assert max(bed["needs_min"] for bed in beds) == pytest.approx(row["run_time_min"])
        assert sum(bed["waste_l"] for bed in beds) == pytest.approx(row["waste_l"])
    assert [bed["bed"] for bed in document["beds"] if bed["step"] == "then"] == last["beds"]


def test_the_beds_now_are_those_of_the_plan(one: Answer, demo: Run) -> None:
    choices = one.json["choices"]
    week = demo("week", "one_outlet", "--on", DAY, "--json").json
    assert {row["bed"] for row in choices} == {bed["bed"] for bed in week["beds"]}
    now = {row["bed"]: row for row in reversed(choices)}
    # 3 runs of 90 in with an emitter every 6 in, 0.49 gal/h by the cups.
    assert now["tall bed"]["emitters"] == 45
    assert now["tall bed"]["flow_l_h"] / LITRES_PER_GALLON == pytest.approx(45 * 0.49, rel=0.01)
    assert now["seed bed"]["flow_l_h"] / LITRES_PER_GALLON == pytest.approx(18 * 0.5)


def test_nothing_too_dry_is_advised(one: Answer) -> None:
    document = one.json
    stripes = {row["bed"]: row["dry_stripe_m"] for row in document["beds"] if row["step"] == "now"}
    for row in document["beds"]:
        assert row["dry_stripe_m"] <= max(0.30, stripes[row["bed"]]) + 1e-9
    assert any(row["too_dry"] for row in document["choices"])
    assert any("too wide a dry stripe" in note for note in document["notes"])


def test_each_zone_has_its_own_steps(demo: Run) -> None:
    document = demo("spacing", "four_outlets", "--on", DAY, "--json").json
    zones = {row["zone"]: row for row in document["rows"] if row["changes"] == 0}
    assert list(zones) == ["fruit", "vines", "salad", "sown"]
    # One bed behind an outlet has a run time of its own.
    assert [zones[name]["waste_l"] for name in ("salad", "sown")] == pytest.approx([0.0, 0.0], abs=1e-9)
    text = demo("spacing", "four_outlets", "--on", DAY).out
    assert "sown: one bed alone has its own run time" in text
    assert "the peak of summer first" in " ".join(text.split())


def test_beds_without_need_are_left_out_and_named(demo: Run) -> None:
    text = " ".join(demo("spacing", "one_outlet", "--on", "2026-05-04").out.split())
    assert "left out, as they need no water or are not planted all week: tall bed, round bed" in text
    document = demo("spacing", "one_outlet", "--on", "2026-05-04", "--json").json
    assert "tall bed" not in {row["bed"] for row in document["beds"]}


def test_a_garden_without_need_is_told_so(place: Place) -> None:
    answer = place.run("spacing", "--on", "2026-04-17").answered()
    assert "no bed behind it is planted all week and needs water" in answer.out
    assert place.run("spacing", "--on", "2026-04-17", "--json").json["rows"] == []


def test_units_and_forms(demo: Run) -> None:
    us = demo("spacing", "one_outlet", "--on", DAY, "--units", "us").out
    metric = demo("spacing", "one_outlet", "--on", DAY).out
    assert "3 runs of close (6 in)" in us
    assert "3 runs of close (152 mm)" in metric
    assert "[gal]" in us
    assert "[L]" in metric
    machine = demo("spacing", "one_outlet", "--on", DAY, "--json").out
    assert demo("spacing", "one_outlet", "--on", DAY, "--json", "--units", "us").out == machine
    table = demo("spacing", "one_outlet", "--on", DAY, "--csv", "--part", "beds").out
    rows = list(csv.DictReader(io.StringIO(table)))
    assert [row["bed"] for row in rows] == [row["bed"] for row in json.loads(machine)["beds"]]


def test_water_that_does_not_reach_is_a_caution(place: Place) -> None:
    place.write_plan(
        ("runs = 2", "runs = 1"),
        ('removed = 2026-07-14\nshare = "40 %"\n', f'removed = 2026-07-14\nshare = "40 %"\n{SECOND_BED}'),
        ('flow = "5 gal/min"', 'flow = "0.9 gal/min"'),
    )
    answer = place.run("spacing", "--on", ON)
    assert "CAUTION: with 1 of 2 changed" in " ".join(answer.out.split())


SECOND_BED = """
[[bed]]
name = "low bed"
zone = "north"
soil = "mix"
shape = "rectangle"
length = "10 ft"
width = "4 ft"
soil_depth = "14 in"
drip = "line"
emitters = 60

[[bed.planting]]
crop = "tomato"
planted = 2026-05-12
removed = 2026-07-12
"""


def test_area_mean_is_told(place: Place) -> None:
    place.write_plan(
        ('rule = "driest bed"', 'rule = "area mean"'),
        ('removed = 2026-07-14\nshare = "40 %"\n', f'removed = 2026-07-14\nshare = "40 %"\n{SECOND_BED}'),
    )
    answer = place.run("spacing", "--on", ON)
    assert "north: the plan goes by the area mean" in " ".join(answer.out.split())


def test_a_table_that_does_not_fit_is_told_with_its_code(place: Place) -> None:
    place.write_plan(("from = 05:00:00\nto = 09:00:00", "from = 05:00:00\nto = 05:03:00"))
    answer = place.run("spacing", "--on", ON)
    assert answer.code == 3
    assert "DOES NOT FIT" in answer.out


def test_bad_input_is_refused(place: Place) -> None:
    place.run("spacing", "--on", ON, "--json", "--csv").refused("exclude each other", code=2)
    place.run("spacing", "--on", ON, "--csv", "--part", "parts").refused("no such table", code=2)
    place.run("spacing", "--on", "2027-01-01").refused("the record runs")
    place.write_plan(('width = "4 ft"', 'width = "4"'))
    place.run("spacing", "--on", ON).refused("tall bed", "no unit")
