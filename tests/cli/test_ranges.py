"""Plausible ranges in the answers of the commands."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.cli.conftest import ON, Place, Run

DAY = "2026-07-13"
CERTAIN = '[planning]\nreserve = "20 %"\n[uncertainty]\n' + "".join(
    f'{name} = "0 %"\n'
    for name in ("reference_et", "crop_coefficient", "available_water", "efficiency", "flow", "rain")
)
INPUT_WORDS = (
    "reference ET",
    "crop coefficient",
    "available water",
    "application efficiency",
    "emitter flow",
    "rain",
)


@pytest.mark.parametrize("plan", ["four_outlets", "one_outlet"])
def test_week_gives_every_valve_a_range_around_its_need(demo: Run, plan: str) -> None:
    beds = demo("week", plan, "--on", DAY, "--json").json["beds"]
    out = demo("week", plan, "--on", DAY).answered().out
    assert any(bed["needs_low_min"] is not None for bed in beds)
    for bed in beds:
        low, high = bed["needs_low_min"], bed["needs_high_min"]
        if low is None:
            assert high is bed["needs_range"] is None
            assert "keep its valve shut" in bed["why"]
            continue
        assert 0.0 <= low <= bed["needs_min"] <= high
        assert bed["needs_range"] == f"{low:.0f}-{high:.0f}"
        line = next(row for row in out.splitlines() if row.startswith(f"  {bed['bed']} "))
        assert f" {bed['needs_range']} " in line
    note = " ".join(out.split())
    assert "standard uncertainties (reference ET 7 %, crop coefficient 10 %, available water 20 %," in note
    assert "what the plan leaves open is judgement" in note


def test_the_numbers_of_a_range_are_whole_in_text_and_full_in_machine_output(demo: Run) -> None:
    beds = demo("week", "four_outlets", "--on", DAY, "--json").json["beds"]
    assert any(bed["needs_low_min"] != round(bed["needs_low_min"], 6) for bed in beds)


@pytest.mark.parametrize("bed", ["squash bed", "tall bed", "seed bed"])
def test_bed_names_what_to_measure_next(demo: Run, bed: str) -> None:
    answer = demo("bed", "four_outlets", bed, "--on", DAY, "--json").json
    week = demo("week", "four_outlets", "--on", DAY, "--json").json
    row = next(line for line in week["beds"] if line["bed"] == bed)
    steps = {step["quantity"]: step["value"] for step in answer["rows"]}
    assert steps["least minutes a run day, eight cases in ten"] == row["needs_low_min"]
    assert steps["greatest minutes a run day, eight cases in ten"] == row["needs_high_min"]
    inputs = answer["inputs"]
    assert tuple(line["input"] for line in inputs) == INPUT_WORDS
    assert sum(line["variance_percent"] for line in inputs) == pytest.approx(100.0)
    most = max(inputs, key=lambda line: line["variance_percent"])
    out = " ".join(demo("bed", "four_outlets", bed, "--on", DAY).answered().out.split())
    share = f"{most['variance_percent']:.0f} %"
    assert f"Measuring the {most['input']} would narrow this answer most: it makes {share} of its" in out


def test_a_cup_test_that_tells_more_together_is_named(demo: Run) -> None:
    out = " ".join(demo("bed", "four_outlets", "squash bed", "--on", DAY).answered().out.split())
    assert "One cup test measures two others, flow and efficiency: together 4" in out
    tested = " ".join(demo("bed", "four_outlets", "tall bed", "--on", DAY).answered().out.split())
    assert "One cup test" not in tested


def test_certain_inputs_give_no_range_and_nothing_to_measure(place: Place) -> None:
    place.write_plan(("[timer]\n", f"{CERTAIN}\n[timer]\n"))
    bed = place.week("--json").answered().json["beds"][0]
    assert bed["needs_low_min"] == bed["needs_high_min"] == bed["needs_min"] > 0
    out = place.run("bed", "tall bed", "--on", ON).answered().out
    assert "would narrow" not in out
    assert "what the plan leaves open is judgement" not in " ".join(out.split())


def test_a_bed_without_plants_has_no_range(place: Place) -> None:
    answer = place.run("bed", "tall bed", "--on", "2026-04-16").answered()
    assert "keep its valve shut" in answer.out
    assert "would narrow" not in answer.out
    assert "inputs" not in place.run("bed", "tall bed", "--on", "2026-04-16", "--json").json
    place.write_plan(('kale"\nplanted = 2026-04-20', 'kale"\nplanted = 2026-05-02'))
    bed = place.run("week", "--on", "2026-04-16", "--json").json["beds"][0]
    assert bed["needs_low_min"] is bed["needs_high_min"] is bed["needs_range"] is None


def test_season_gives_water_and_money_as_a_range_first(demo: Run) -> None:
    answer = demo("season", "four_outlets", "--json").json
    assert 0.0 < answer["volume_low_l"] < answer["volume_l"] < answer["volume_high_l"]
    low, reckoned, high = (Decimal(answer[key]) for key in ("cost_low", "cost", "cost_high"))
    assert low <= reckoned <= high
    assert low < high
    out = " ".join(demo("season", "four_outlets").answered().out.split())
    ends = [f"{answer[key]:.0f} L" for key in ("volume_low_l", "volume_high_l", "volume_l")]
    assert "The season takes {} to {}, {} as reckoned".format(*ends) in out
    assert (
        f"The garden adds {low:.2f} to {high:.2f} USD to the season's water bills, {reckoned:.2f} as" in out
    )
    assert "of its variance" in out


def test_season_without_a_tariff_has_a_range_of_water_alone(place: Place) -> None:
    text = place.plan.read_text(encoding="utf-8")
    place.plan.write_text(text[: text.index("[tariff]")], encoding="utf-8")
    answer = place.run("season", "--json").answered().json
    assert answer["volume_low_l"] < answer["volume_l"]
    assert answer["cost"] is answer["cost_low"] is answer["cost_high"] is None
