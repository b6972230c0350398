"""Sun and air: polar days, sums of hours, symmetry and refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import RillbookError
from scheduler.water.air import LEAST_WIND, psychrometric_constant, radiation_weight, vapour_pressure_slope
from scheduler.water.sun import (
    daylight_hours,
    extraterrestrial_radiation,
    noon_altitude,
    radiation_between,
    solar_declination,
    sunset_hour_angle,
)
from tests.water.slices import assert_slices_agree

LATITUDES = st.floats(-90.0, 90.0)
DAYS = st.integers(1, 366)


@settings(deadline=None)
@given(LATITUDES, DAYS, st.lists(st.floats(-12.0, 12.0), max_size=8))
def test_parts_of_a_day_sum_to_the_day(latitude, day, cuts):
    edges = [-12.0, *sorted(cuts), 12.0]
    parts = radiation_between(edges[:-1], edges[1:], latitude=latitude, day_of_year=day)
    assert np.all(parts >= 0.0)
    assert parts.sum() == pytest.approx(float(extraterrestrial_radiation(latitude, day)), abs=1e-9)


@settings(deadline=None)
@given(LATITUDES, DAYS)
def test_hours_sum_to_the_day(latitude, day):
    hours = np.arange(-12.0, 12.0)
    parts = radiation_between(hours, hours + 1.0, latitude=latitude, day_of_year=day)
    assert parts.sum() == pytest.approx(float(extraterrestrial_radiation(latitude, day)), abs=1e-9)
    assert parts == pytest.approx(parts[::-1], abs=1e-9)


@settings(deadline=None)
@given(LATITUDES, DAYS)
def test_bounds_of_a_day(latitude, day):
    length = float(daylight_hours(latitude, day))
    assert 0.0 <= length <= 24.0
    assert abs(float(solar_declination(day))) <= 0.409
    assert 0.0 <= float(extraterrestrial_radiation(latitude, day)) < 50.0
    opposite = float(daylight_hours(-latitude, day))
    assert length + opposite == pytest.approx(24.0, abs=1e-9)


def test_polar_day_and_night():
    assert float(daylight_hours(80.0, 172)) == 24.0
    assert float(daylight_hours(80.0, 355)) == 0.0
    assert float(extraterrestrial_radiation(80.0, 355)) == 0.0
    assert float(noon_altitude(80.0, 355)) < 0.0 < float(noon_altitude(80.0, 172))
    assert float(extraterrestrial_radiation(90.0, 172)) > 40.0


def test_sun_is_highest_where_latitude_meets_declination():
    day = 172
    overhead = np.degrees(solar_declination(day))
    assert float(noon_altitude(overhead, day)) == pytest.approx(np.pi / 2.0, abs=1e-7)
    assert float(noon_altitude(0.0, 81)) == pytest.approx(np.pi / 2.0, abs=0.02)


def test_end_before_start_is_no_radiation():
    assert float(radiation_between(2.0, 1.0, latitude=40.0, day_of_year=180)) == 0.0


@pytest.mark.parametrize("latitude", [90.1, -91.0, float("nan"), [10.0, 200.0]])
def test_latitude_out_of_range_is_refused(latitude):
    for function in (sunset_hour_angle, daylight_hours, noon_altitude, extraterrestrial_radiation):
        with pytest.raises(RillbookError, match="latitude"):
            function(latitude, 180)


@pytest.mark.parametrize("day", [0, 367, float("nan"), [1, 400]])
def test_day_that_is_none_is_refused(day):
    with pytest.raises(RillbookError, match="day of year"):
        solar_declination(day)
    with pytest.raises(RillbookError, match="day of year"):
        extraterrestrial_radiation(40.0, day)


def test_scalars_agree_with_arrays():
    columns = {"latitude": np.array([-60.0, 0.0, 40.0, 89.0]), "day_of_year": np.array([1, 90, 200, 366])}
    for function in (sunset_hour_angle, daylight_hours, noon_altitude, extraterrestrial_radiation):
        assert_slices_agree(function, columns)
    assert extraterrestrial_radiation(np.array([[10.0], [50.0]]), np.array([1, 100, 200])).shape == (2, 3)


@settings(deadline=None)
@given(st.floats(-20.0, 45.0), st.floats(0.0, 10.0), st.floats(0.0, 3000.0))
def test_weight_of_radiation_is_a_share_and_falls_with_wind(temperature, wind, elevation):
    calm, windy = radiation_weight(temperature, [wind, wind + 1.0], elevation=elevation)
    assert 0.0 < windy < calm < 1.0
    warmer = radiation_weight(temperature + 1.0, wind, elevation=elevation)
    assert float(warmer) > float(calm)


def test_still_air_counts_as_least_wind():
    still, least = radiation_weight(20.0, [0.0, LEAST_WIND], elevation=0.0)
    assert still == least


def test_slope_rises_with_warmth_and_gamma_falls_with_height():
    assert np.all(np.diff(vapour_pressure_slope(np.arange(-20.0, 45.0))) > 0.0)
    assert np.all(np.diff(psychrometric_constant(np.arange(0.0, 3000.0, 100.0))) < 0.0)
    assert_slices_agree(
        radiation_weight,
        {
            "temperature": np.array([5.0, 30.0]),
            "wind_2m": np.array([0.0, 4.0]),
            "elevation": np.array([0.0, 900.0]),
        },
    )
