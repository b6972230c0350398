"""Shade: shares of the sun, what the sky still gives, and the floor."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import RillbookError
from scheduler.water.air import radiation_weight
from scheduler.water.shade import (
    LEAST_SHADED_SHARE,
    WINTER_DAY,
    beam_share,
    shaded_radiation,
    shaded_reference_et,
    sun_lost_share,
)
from scheduler.water.sun import daylight_hours
from tests.water.slices import assert_slices_agree

LATITUDES = st.floats(-65.0, 65.0)
DAYS = st.integers(1, 366)
SHARES = st.floats(0.0, 1.0)
WHENS = st.sampled_from(["morning", "midday", "evening"])
SUMMER_DAY = {"solar": 28.0, "extraterrestrial": 41.0, "daylight": 15.0}
AIR = {"tmean": 22.0, "wind_2m": 1.5, "elevation": 100.0}


@settings(deadline=None)
@given(LATITUDES, DAYS, st.floats(0.0, 24.0), st.floats(0.0, 24.0), WHENS)
def test_longer_shade_hides_more(latitude, day, first, second, when):
    short, long = sun_lost_share(latitude, day, hours=sorted([first, second]), when=when)
    assert 0.0 <= short <= long <= 1.0


@settings(deadline=None)
@given(LATITUDES, DAYS, st.floats(0.0, 12.0))
def test_morning_and_evening_weigh_the_same_and_midday_most(latitude, day, hours):
    lost = {
        when: float(sun_lost_share(latitude, day, hours=hours, when=when))
        for when in ("morning", "midday", "evening")
    }
    assert lost["morning"] == pytest.approx(lost["evening"], abs=1e-9)
    assert lost["midday"] >= lost["morning"] - 1e-9


@settings(deadline=None)
@given(LATITUDES, DAYS, SHARES)
def test_morning_midday_and_evening_make_a_day(latitude, day, split):
    length = float(daylight_hours(latitude, day))
    side = length / 2.0 * split
    parts = [
        float(sun_lost_share(latitude, day, hours=hours, when=when))
        for hours, when in ((side, "morning"), (length - 2.0 * side, "midday"), (side, "evening"))
    ]
    assert sum(parts) == pytest.approx(1.0, abs=1e-9)


@settings(deadline=None)
@given(LATITUDES, DAYS, WHENS)
def test_all_hours_are_all_of_the_sun_and_none_is_none(latitude, day, when):
    none, all_of_it = sun_lost_share(latitude, day, hours=[0.0, 24.0], when=when)
    assert none == 0.0
    assert all_of_it == pytest.approx(1.0, abs=1e-12)


def test_nothing_is_lost_in_the_polar_night():
    assert float(sun_lost_share(80.0, 355, hours=3.0, when="midday")) == 0.0


def test_shade_that_is_none_is_refused():
    for hours in (-1.0, float("nan"), [1.0, -0.5]):
        with pytest.raises(RillbookError, match="hours of sun lost"):
            sun_lost_share(45.0, 180, hours=hours, when="morning")
    with pytest.raises(RillbookError, match="'noon' is none of 'morning', 'midday', 'evening'"):
        sun_lost_share(45.0, 180, hours=1.0, when="noon")


@settings(deadline=None)
@given(st.floats(0.0, 1.2), st.floats(0.0, 1.2), st.floats(8.0, 17.0))
def test_clearer_days_have_more_beam(first, second, daylight):
    dull, clear = beam_share(sorted([first, second]), daylight=daylight)
    # The winter curve as published ends 0.0007 above the constant that goes on from it.
    jump = 0.0008
    assert 0.0 <= dull <= clear + jump
    assert clear <= 0.857 + jump


def test_ends_of_the_correlation():
    assert beam_share([0.0, 1.0], daylight=12.0).tolist() == pytest.approx([0.0, 0.825])
    assert beam_share([0.0, 1.0], daylight=9.0).tolist() == pytest.approx([0.0, 0.857])
    assert pytest.approx(10.853, abs=5e-4) == WINTER_DAY
    before, after = beam_share(0.5, daylight=[WINTER_DAY - 1e-6, WINTER_DAY])
    assert before > after


@pytest.mark.parametrize(("clearness", "daylight"), [(np.nan, 12.0), (0.9, np.nan), (np.nan, np.nan)])
def test_unknown_sky_gives_no_number(clearness, daylight):
    assert np.isnan(beam_share(clearness, daylight=daylight))


@settings(deadline=None)
@given(st.floats(0.5, 30.0), SHARES, st.floats(8.0, 17.0))
def test_what_is_left_lies_between_the_sky_and_the_open_site(solar, lost, daylight):
    sky = {"extraterrestrial": 40.0, "daylight": daylight}
    left = float(shaded_radiation(solar, lost_share=lost, **sky))
    diffuse = solar * (1.0 - float(beam_share(solar / 40.0, daylight=daylight)))
    assert diffuse - 1e-9 <= left <= solar
    assert float(shaded_radiation(solar, lost_share=1.0, **sky)) == pytest.approx(diffuse, abs=1e-9)
    assert float(shaded_radiation(solar, lost_share=0.0, **sky)) == solar


def test_all_daylight_lost_leaves_the_diffuse_light():
    """28 of 41 MJ: clearness 0.6829; 1 + 0.19341 - 1.19194 + 0.26907 = 0.27054 of it diffuse, 7.575 MJ."""
    lost = sun_lost_share(50.0, 172, hours=24.0, when="morning")
    assert float(shaded_radiation(lost_share=lost, **SUMMER_DAY)) == pytest.approx(7.575, abs=0.001)


@settings(deadline=None)
@given(st.floats(0.2, 10.0), SHARES, SHARES)
def test_shade_lowers_reference_et_but_not_below_the_floor(reference_et, first, second):
    less, more = shaded_reference_et(
        reference_et, lost_share=np.array(sorted([first, second])), **SUMMER_DAY, **AIR
    )
    assert LEAST_SHADED_SHARE * reference_et <= more <= less <= reference_et


def test_change_is_that_of_the_radiation_term():
    """The change is 0.408 x 0.77 times the hidden MJ times Delta / (Delta + gamma (1 + 0.34 u2))."""
    left = float(shaded_radiation(lost_share=0.2, **SUMMER_DAY))
    weight = float(radiation_weight(AIR["tmean"], AIR["wind_2m"], elevation=AIR["elevation"]))
    change = 6.0 - float(shaded_reference_et(6.0, lost_share=0.2, **SUMMER_DAY, **AIR))
    assert change == pytest.approx(0.408 * 0.77 * (28.0 - left) * weight, rel=1e-12)
    assert change > 0.5


def test_no_sun_at_all_changes_nothing():
    dark = {"solar": 0.0, "extraterrestrial": 0.0, "daylight": 0.0}
    assert float(shaded_reference_et(0.3, lost_share=1.0, **dark, **AIR)) == 0.3


@pytest.mark.parametrize("lost", [-0.1, 1.1, 30.0, float("nan")])
def test_lost_share_that_is_none_is_refused(lost):
    with pytest.raises(RillbookError, match="share of sun lost"):
        shaded_reference_et(5.0, lost_share=lost, **SUMMER_DAY, **AIR)


def test_missing_weather_stays_missing():
    sky = {**SUMMER_DAY, "solar": np.nan}
    assert np.isnan(shaded_reference_et(5.0, lost_share=0.2, **sky, **AIR))


def test_scalars_agree_with_arrays():
    hours, days = np.array([0.0, 3.0, 20.0]), np.array([10, 172, 300])
    places, share = np.array([-40.0, 5.0, 60.0]), np.array([0.1, 0.5, 0.9])
    for when in ("morning", "midday", "evening"):
        assert_slices_agree(
            sun_lost_share, {"latitude": places, "day_of_year": days, "hours": hours}, when=when
        )
    assert_slices_agree(beam_share, {"clearness": share, "daylight": np.array([9.0, 12.0, 16.0])})
    assert_slices_agree(
        shaded_reference_et,
        {
            "reference_et": np.array([2.0, 4.0, 7.0]),
            "solar": np.array([5.0, 20.0, 29.0]),
            "lost_share": share,
        },
        extraterrestrial=40.0,
        daylight=15.0,
        **AIR,
    )
