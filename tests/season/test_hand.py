"""Seedbeds and transplants by hand, or the whole bed where the plan asks for it."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from scheduler.garden.plan import SoilMix
from scheduler.season.field import FieldNotes, RunNote
from scheduler.season.hand import hand_water
from scheduler.season.run import run_season, run_week
from scheduler.season.wet import wet_until
from scheduler.show.hand_view import hand_lines
from tests.builders import make_bed, make_daily, make_garden, make_planting

DAILY = make_daily()
MON = date(2025, 7, 7)
SOWN = make_planting(crop="carrot", planted=date(2025, 7, 9), share=0.5, surface_wet_days=12.0)
YOUNG = make_planting(crop="pepper", planted=date(2025, 7, 1), share=0.25, establishing_days=10.0)


def week(bed, on=MON):
    garden = make_garden([bed])
    garden = replace(garden, planning=replace(garden.planning, coefficient="dual"))
    return garden, run_week(garden, DAILY, on=on)


def test_how_long_a_planting_needs_it():
    assert wet_until(SOWN) == date(2025, 7, 20)
    assert wet_until(YOUNG) == date(2025, 7, 10)
    assert wet_until(make_planting()) is None


def test_seedbed_and_transplants_get_lines_of_their_own():
    garden, result = week(make_bed(plantings=(SOWN, YOUNG)))
    seeds, plants = hand_water(garden, result)
    assert (seeds.crop, seeds.reason, seeds.first, seeds.last) == (
        "carrot",
        "seedbed",
        date(2025, 7, 9),
        date(2025, 7, 13),
    )
    assert (plants.crop, plants.reason, plants.first, plants.last) == (
        "pepper",
        "transplants",
        MON,
        date(2025, 7, 10),
    )
    et = result.weather.reference_et
    # 1.2 and 0.7 times reference ET on their part of 2.88 m2.
    assert seeds.litres_a_day == pytest.approx(1.2 * et[2:7].mean() * 2.88 * 0.5)
    assert plants.litres_a_day == pytest.approx(0.7 * et[:4].mean() * 2.88 * 0.25)
    line, other = hand_lines((seeds, plants), "metric")
    assert line.startswith("BY HAND, bed: carrot, keep its seedbed's surface wet through Sun 13 Jul")
    assert "water the young plants at their roots" in other


def test_no_line_once_it_is_over_or_gone():
    assert hand_water(*week(make_bed(plantings=(SOWN,)), on=date(2025, 7, 21))) == ()
    gone = replace(SOWN, removed=date(2025, 7, 11))
    (line,) = hand_water(*week(make_bed(plantings=(gone,))))
    assert line.last == date(2025, 7, 10)


def test_the_minutes_of_the_table_are_those_without_it():
    plain = replace(SOWN, surface_wet_days=0.0)
    _, with_seeds = week(make_bed(plantings=(SOWN,)), on=date(2025, 7, 14))
    _, without = week(make_bed(plantings=(plain,)), on=date(2025, 7, 14))
    assert with_seeds.plan.settings == without.plan.settings


def test_the_whole_bed_keeps_its_surface_wet_if_the_plan_asks():
    by_hand = make_bed(plantings=(replace(SOWN, share=1.0),))
    whole = replace(by_hand, seedbed="whole bed")
    on = date(2025, 7, 14)
    garden, result = week(whole, on=on)
    assert hand_water(garden, result) == ()
    rew = float(result.growth.rew[0, 0])
    assert np.all(result.limit[:, 0] <= rew + 1e-9)
    after = on + timedelta(days=7)
    assert week(whole, on=after)[1].limit[0, 0] == week(by_hand, on=after)[1].limit[0, 0]
    _, usual = week(by_hand, on=on)
    assert sum(result.plan.settings[0].mask) >= sum(usual.plan.settings[0].mask)


def test_a_seedbed_watered_daily_uses_more_than_one_watered_every_third_day():
    # A light mix in dry weather, both beds with the same water.
    light = SoilMix("light", 0.20, 0.10, source="invented", readily_evaporable=6.0, total_evaporable=14.0)
    bed = make_bed(plantings=(replace(SOWN, share=1.0),), wetted_share=0.8, soil=light)
    garden = make_garden([bed])
    garden = replace(garden, planning=replace(garden.planning, coefficient="dual"))
    begins, days = date(2025, 7, 9), 12
    used = {}
    for every in (1, 3):
        runs = tuple(
            RunNote(begins + timedelta(days=n), ran=n % every == 0, minutes=30.0 * every) for n in range(days)
        )
        result = run_season(garden, make_daily(rain_scale=0.0), notes=FieldNotes(runs=runs))
        first = int((np.datetime64(begins) - result.dates[0]).astype(int))
        used[every] = float(result.et_actual[first : first + days, 0].sum())
    assert used[1] > 1.05 * used[3]
