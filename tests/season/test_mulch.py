"""Mulch and film on a bed: from when to when, and what they take from evaporation and use."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from scheduler.garden.plan import Mulch, SoilState, StageLengths
from scheduler.season.field import FieldNotes, RunNote
from scheduler.season.growth import garden_growth
from scheduler.season.run import run_season
from scheduler.season.stages import Warmth
from scheduler.weather.normals import day_of_year_normals
from tests.builders import make_bed, make_daily, make_garden, make_planting

DRY = make_daily(rain_scale=0.0)
NORMALS = day_of_year_normals(DRY)
BEGINS, PLANTED = date(2025, 4, 1), date(2025, 5, 10)
#: Initial stage to 8 June, mid-season from 19 July to 1 September.
PLANT = make_planting(planted=PLANTED, stages=StageLengths(30, 40, 45, 30))

STRAW = Mulch("organic", 0.5)
FILM = Mulch("plastic", 1.0)


def garden_with(mulch, coefficient="dual", **bed):
    beds = [make_bed(plantings=(PLANT,), mulch=mulch, **bed)]
    garden = make_garden(beds, soil_states=(SoilState(BEGINS, "full", None),))
    return replace(garden, planning=replace(garden.planning, coefficient=coefficient))


def growth_on(mulch, *days, **bed):
    known = Warmth(DRY, NORMALS, date(2026, 1, 1))
    dates = np.array(days, dtype="datetime64[D]")
    return garden_growth(garden_with(mulch, **bed), dates, normals=NORMALS, warmth=known)


def watered(minutes, every, count, *, begins=PLANTED):
    """Return notes of a run every so many days, and of none between."""
    return FieldNotes(
        runs=tuple(
            RunNote(begins + timedelta(days=n), ran=True, minutes=minutes if n % every == 0 else 0.0)
            for n in range(count)
        )
    )


# --- dates


@pytest.mark.parametrize(
    ("begins", "ends", "lies"),
    [
        (None, None, [True, True, True, True]),
        (date(2025, 6, 2), None, [False, True, True, True]),
        (None, date(2025, 6, 3), [True, True, True, False]),
        (date(2025, 6, 2), date(2025, 6, 3), [False, True, True, False]),
    ],
)
def test_mulch_lies_from_its_first_day_to_its_last(begins, ends, lies):
    days = [date(2025, 6, day) for day in (1, 2, 3, 4)]
    straw = growth_on(Mulch("organic", 1.0, begins, ends), *days)
    assert straw.kept[:, 0].tolist() == [0.5 if there else 1.0 for there in lies]
    film = growth_on(Mulch("plastic", 0.6, begins, ends), *days)
    assert film.open_share[:, 0].tolist() == pytest.approx([0.4 if there else 1.0 for there in lies])


# --- organic


def test_half_a_cover_of_straw_takes_a_quarter_of_evaporation():
    """FAO-56, p. 195-198: 5 % for each 10 %; the basal coefficient stays."""
    bare, straw = (growth_on(mulch, date(2025, 5, 20), date(2025, 8, 1)) for mulch in (None, STRAW))
    assert straw.kept.ravel().tolist() == [0.75, 0.75]
    assert np.array_equal(straw.basal, bare.basal)
    assert np.array_equal(straw.cover, bare.cover)
    # The first wet day of a season: nothing of a dry surface is in it yet.
    open_bed, under = (
        run_season(garden_with(mulch), DRY, notes=watered(0.0, 1, 5, begins=BEGINS))
        for mulch in (None, STRAW)
    )
    assert open_bed.evaporation[0, 0] > 1.0
    assert under.evaporation[0, 0] == pytest.approx(0.75 * open_bed.evaporation[0, 0])


def test_the_single_coefficient_loses_a_quarter_of_what_it_holds_of_evaporation():
    bare, straw = (growth_on(mulch, date(2025, 5, 20), date(2025, 8, 1)) for mulch in (None, STRAW))
    # Initial: a quarter of the whole 0.60 (FAO-56, p. 197); mid-season: 1.15, of which 1.10 is basal.
    assert bare.kc[:, 0].tolist() == pytest.approx([0.60, 1.15])
    assert straw.kc[:, 0].tolist() == pytest.approx([0.75 * 0.60, 1.15 - 0.25 * 0.05])
    # Ground without plants is all evaporation.
    assert growth_on(STRAW, date(2025, 4, 20)).kc[0, 0] == pytest.approx(0.75 * 0.3)


# --- film


def test_film_lowers_both_coefficients_and_closes_the_ground():
    """The middle of what FAO-56 gives, p. 195-198: Kc down by 10-30 % (0.10 at first), Kcb by 5-15 %."""
    days = (date(2025, 5, 20), date(2025, 8, 1))
    bare, film = growth_on(None, *days), growth_on(FILM, *days)
    assert film.kc[:, 0].tolist() == pytest.approx([0.10, 0.8 * 1.15])
    assert film.basal == pytest.approx(0.9 * bare.basal)
    assert film.open_share.max() == 0.0
    half = growth_on(Mulch("plastic", 0.5), *days)
    assert half.kc[:, 0].tolist() == pytest.approx([0.5 * (0.10 + 0.60), 0.9 * 1.15])
    assert half.basal == pytest.approx(0.95 * bare.basal)
    assert half.open_share == pytest.approx(0.5)
    # Leaves are what they are without it.
    assert np.array_equal(film.cover, bare.cover)


def test_nothing_evaporates_under_whole_film_and_a_little_through_holes():
    closed = run_season(garden_with(FILM), DRY)
    holes = run_season(garden_with(replace(FILM, holes=0.05)), DRY)
    bare = run_season(garden_with(None), DRY)
    assert closed.evaporation.max() == 0.0
    # A hole counts three times its size: 15 % of the ground.
    assert growth_on(replace(FILM, holes=0.05), PLANTED).open_share[0, 0] == pytest.approx(0.15)
    grows = bare.growth.in_use[:, 0]
    assert 0.0 < holes.evaporation[grows].sum() < 0.3 * bare.evaporation[grows].sum()


def test_film_laid_in_june_changes_nothing_before():
    later = Mulch("plastic", 1.0, date(2025, 6, 30), None)
    bare, film = run_season(garden_with(None), DRY), run_season(garden_with(later), DRY)
    day = (date(2025, 6, 30) - BEGINS).days
    # The plan of the Monday before looks two weeks ahead, and may already run less.
    known = day - 14
    assert np.array_equal(film.evaporation[:known], bare.evaporation[:known])
    assert film.evaporation[day:].max() == 0.0
    assert film.growth.basal[day, 0] == pytest.approx(0.9 * bare.growth.basal[day, 0])
    assert film.growth.basal[day - 1, 0] == bare.growth.basal[day - 1, 0]


# --- mulch never raises use

MULCHES = [
    Mulch("organic", 0.3),
    Mulch("organic", 1.0),
    Mulch("organic", 0.8, date(2025, 6, 10), date(2025, 8, 10)),
    Mulch("plastic", 0.7),
    Mulch("plastic", 1.0, holes=0.1),
    Mulch("plastic", 0.9, date(2025, 6, 10), date(2025, 8, 10)),
]


@pytest.mark.parametrize("mulch", MULCHES, ids=str)
@pytest.mark.parametrize("coefficient", ["dual", "single"])
def test_mulch_never_raises_what_a_season_takes(mulch, coefficient):
    daily = make_daily(seed=5)
    bare, under = (run_season(garden_with(each, coefficient), daily) for each in (None, mulch))
    assert np.all(under.growth.kc <= bare.growth.kc)
    assert np.all(under.growth.basal <= bare.growth.basal)
    grows = bare.growth.in_use[:, 0]
    assert under.et_actual[grows].sum() < bare.et_actual[grows].sum()
    assert under.litres.sum() < bare.litres.sum()


@pytest.mark.parametrize("mulch", MULCHES, ids=str)
@pytest.mark.parametrize(("minutes", "every"), [(20.0, 1), (60.0, 3), (90.0, 7)])
def test_mulch_never_evaporates_more_than_bare_ground_given_the_same_water(mulch, minutes, every):
    """Summed from the start: what mulch keeps on one day may go on a later one, but is not doubled.

    Where mulch is taken off, its moist ground may give more than bare ground that day, never more in sum.
    """
    count = 145
    daily = make_daily(seed=6)
    bare, under = (
        run_season(garden_with(each), daily, notes=watered(minutes, every, count)) for each in (None, mulch)
    )
    assert np.array_equal(under.applied[40 : 40 + count - 5], bare.applied[40 : 40 + count - 5])
    more = np.cumsum(under.evaporation - bare.evaporation, axis=0)
    assert more.max() <= 1e-9
    assert more[-1, 0] < -5.0
