"""Reference evapotranspiration: refusals, limits, days of the year, shapes."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import scheduler
from scheduler.errors import WeatherError
from scheduler.weather import reference_et as et

CHECKOUT = Path(scheduler.__file__).parents[1]
DAY = {
    "tmax": 28.0,
    "tmin": 14.0,
    "ea": 1.5,
    "solar_radiation": 22.0,
    "wind_2m": 2.0,
    "elevation": 120.0,
    "latitude": 43.5,
    "day_of_year": 180,
}


def day_et(**changes):
    given = DAY | changes
    return et.reference_et(given.pop("tmax"), given.pop("tmin"), **given)


def faults_of(call):
    with pytest.raises(WeatherError) as caught:
        call()
    return [str(fault) for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"tmax": np.nan}, "greatest temperature"),
        ({"tmax": 82.0, "tmin": 57.0}, "greatest temperature"),
        ({"tmin": 28.1}, "least temperature"),
        ({"ea": np.nan}, "actual vapour pressure"),
        ({"ea": 15.0}, "actual vapour pressure"),
        ({"ea": -0.1}, "actual vapour pressure"),
        ({"solar_radiation": np.nan}, "solar radiation"),
        ({"solar_radiation": 250.0}, "solar radiation"),
        ({"solar_radiation": 42.5}, "solar radiation"),
        ({"solar_radiation": -0.1}, "solar radiation"),
        ({"wind_2m": np.nan}, "wind at 2 m"),
        ({"wind_2m": -1.0}, "wind at 2 m"),
        ({"elevation": np.nan}, "elevation"),
        ({"elevation": 7000.0}, "elevation"),
        ({"latitude": np.nan}, "latitude"),
        ({"latitude": 90.1}, "latitude"),
        ({"latitude": -90.1}, "latitude"),
        ({"day_of_year": 0}, "day of year"),
        ({"day_of_year": 367}, "day of year"),
        ({"day_of_year": 12.5}, "day of year"),
        ({"day_of_year": np.nan}, "day of year"),
    ],
)
def test_refuses(changes, where):
    (fault,) = faults_of(lambda: day_et(**changes))
    assert fault.startswith(where)


def test_names_all_faults_with_their_days_at_once():
    faults = faults_of(
        lambda: day_et(
            tmax=[28.0, np.nan, 99.0], wind_2m=[-1.0, 2.0, 2.0], solar_radiation=[20.0, 20.0, 60.0]
        )
    )
    assert [fault.split(":")[0] for fault in faults] == [
        "greatest temperature, day index 1, 2",
        "solar radiation, day index 2",
        "wind at 2 m, day index 0",
    ]
    assert "-1; a number from 0 to 60 m/s" in faults[2]


def test_names_a_few_of_many_days():
    (fault,) = faults_of(lambda: day_et(tmin=np.full(100, 40.0)))
    assert "day index 0, 1, 2, 3, 4 and 95 more" in fault


def test_refuses_an_answer_that_no_grass_evaporates():
    # Wind in km/h and dry heat: each passes by itself.
    (fault,) = faults_of(lambda: day_et(tmax=[30.0, 48.0], tmin=[15.0, 30.0], ea=0.3, wind_2m=[2.0, 36.0]))
    assert fault.startswith("the answer, day index 1")


def test_air_a_little_above_saturation_is_rounding():
    es = float(et.saturation_vapour_pressure(10.0))
    assert day_et(tmax=10.0, tmin=10.0, ea=es * 1.01) >= 0
    (fault,) = faults_of(lambda: day_et(tmax=10.0, tmin=10.0, ea=es * 1.03))
    assert fault.startswith("actual vapour pressure")


def test_dew_counts_as_nothing():
    damp = {"tmax": 6.0, "tmin": -2.0, "ea": 0.72, "latitude": 60.0, "day_of_year": 355, "wind_2m": 1.0}
    assert day_et(solar_radiation=1.8, **damp) == 0.0
    # Dry wind outweighs the day's loss of radiation, Rns 1.4 less Rnl 6.2 MJ m-2 d-1.
    assert day_et(solar_radiation=1.8, **(damp | {"ea": 0.60, "wind_2m": 6.0})) > 0.0


def test_still_air_counts_as_half_a_metre_a_second():
    assert day_et(wind_2m=0.0) == day_et(wind_2m=0.5) < day_et(wind_2m=0.6)


def test_cloudiness_has_both_limits():
    rso = et.clear_sky_radiation(et.extraterrestrial_radiation(43.5, 180), 120.0)
    slope = [float(day_et(solar_radiation=share * rso)) for share in (0.10, 0.20, 0.29, 1.01, 1.05, 1.09)]
    steps = np.diff(slope)
    # Outside of the limits only short-wave radiation changes, so the answer is a straight line.
    assert steps[0] / 0.10 == pytest.approx(steps[1] / 0.09, rel=1e-9)
    assert steps[3] / 0.04 == pytest.approx(steps[4] / 0.04, rel=1e-9)


def test_days_in_any_order_and_twice_give_their_own_values():
    days = np.array([366, 1, 59, 60, 1, 200])
    together = day_et(day_of_year=days, solar_radiation=9.0)
    np.testing.assert_array_equal(
        together, [float(day_et(day_of_year=int(day), solar_radiation=9.0)) for day in days]
    )


def test_every_day_of_the_year_is_the_day_meant():
    days = np.arange(1, 367)
    # FAO-56 Eq. 21 and 23-25, written out.
    latitude, angle = np.radians(43.5), 2 * np.pi * days / 365
    declination = 0.409 * np.sin(angle - 1.39)
    sunset = np.arccos(-np.tan(latitude) * np.tan(declination))
    above = sunset * np.sin(latitude) * np.sin(declination)
    above += np.cos(latitude) * np.cos(declination) * np.sin(sunset)
    ra = 24 * 60 / np.pi * 0.0820 * (1 + 0.033 * np.cos(angle)) * above
    np.testing.assert_allclose(et.extraterrestrial_radiation(43.5, days), ra, rtol=1e-8)
    np.testing.assert_allclose(et.daylight_hours(43.5, days), 24 / np.pi * sunset, rtol=1e-12)


def test_answer_belongs_to_its_caller():
    first = et.extraterrestrial_radiation(43.5, [180, 181])
    kept = first.copy()
    first[:] = 0.0
    np.testing.assert_array_equal(et.extraterrestrial_radiation(43.5, [180, 181]), kept)
    assert et.extraterrestrial_radiation(43.5, 180).shape == ()


def test_plain_numbers_arrays_and_empty_arrays():
    assert day_et().shape == ()
    assert day_et(tmax=[28.0, 29.0], day_of_year=[180, 181]).shape == (2,)
    assert day_et(tmax=np.array([[28.0], [29.0]]), day_of_year=[180, 181, 182]).shape == (2, 3)
    assert day_et(tmax=[], day_of_year=[]).shape == (0,)
    assert et.reference_et_from_temperature([], [], latitude=43.5, day_of_year=[]).shape == (0,)


def test_arguments_are_left_as_they_were():
    wind, dry = np.array([0.0, 3.0]), np.array([0.5, 0.5])
    day_et(wind_2m=wind, ea=dry)
    np.testing.assert_array_equal(wind, [0.0, 3.0])
    np.testing.assert_array_equal(dry, [0.5, 0.5])


def test_polar_night_and_midnight_sun():
    assert float(et.extraterrestrial_radiation(75.0, 355)) == 0.0
    assert float(et.daylight_hours(75.0, 355)) == 0.0
    assert float(et.daylight_hours(75.0, 172)) == pytest.approx(24.0)
    assert float(et.solar_radiation_from_sunshine(0.0, 75.0, 355)) == 0.0
    dark = day_et(tmax=-5.0, tmin=-15.0, ea=0.15, solar_radiation=0.2, latitude=75.0, day_of_year=355)
    assert 0.0 <= float(dark) < 1.0


def test_sunshine_longer_than_the_day():
    longest = float(et.daylight_hours(43.5, 180))
    most = et.solar_radiation_from_sunshine(longest, 43.5, 180)
    assert et.solar_radiation_from_sunshine(longest + 0.3, 43.5, 180) == most
    assert float(most) == pytest.approx(0.75 * float(et.extraterrestrial_radiation(43.5, 180)))
    (fault,) = faults_of(lambda: et.solar_radiation_from_sunshine(longest + 0.6, 43.5, 180))
    assert fault.startswith("hours of sunshine")


def test_radiation_from_temperature_stops_at_a_clear_day():
    where = {"latitude": 43.5, "day_of_year": 180, "elevation": 120.0}
    rso = et.clear_sky_radiation(et.extraterrestrial_radiation(43.5, 180), 120.0)
    assert et.solar_radiation_from_temperature(40.0, 10.0, krs=0.19, **where) == rso
    assert et.solar_radiation_from_temperature(22.0, 18.0, krs=0.19, **where) < rso
    (fault,) = faults_of(lambda: et.solar_radiation_from_temperature(40.0, 10.0, krs=16.0, **where))
    assert fault.startswith("krs")


@pytest.mark.parametrize(
    ("call", "where"),
    [
        (lambda: et.saturation_vapour_pressure([20.0, np.nan]), "temperature, day index 1"),
        (lambda: et.actual_vapour_pressure_from_dew_point(-99.0), "dew point"),
        (lambda: et.actual_vapour_pressure_from_rh_max_min(25, 18, 0.82, 0.54), "greatest relative humidity"),
        (lambda: et.actual_vapour_pressure_from_rh_max_min(25, 18, 82, 83), "least relative humidity"),
        (lambda: et.actual_vapour_pressure_from_rh_max_min(25, 18, 101, 54), "greatest relative humidity"),
        (lambda: et.actual_vapour_pressure_from_rh_max_min(18, 25, 82, 54), "least temperature"),
        (lambda: et.actual_vapour_pressure_from_rh_max(18, np.nan), "greatest relative humidity"),
        (lambda: et.actual_vapour_pressure_from_rh_mean(25, 18, 0.6), "mean relative humidity"),
        (lambda: et.wind_at_2m([2.0, np.nan], 10.0), "wind, day index 1"),
        (lambda: et.wind_at_2m(2.0, 0.05), "height of the wind sensor"),
        (lambda: et.wind_at_2m(2.0, np.nan), "height of the wind sensor"),
        (lambda: et.clear_sky_radiation(np.nan, 100.0), "extraterrestrial radiation"),
        (
            lambda: et.reference_et_from_temperature(10, 20, latitude=43.5, day_of_year=180),
            "least temperature",
        ),
    ],
)
def test_pieces_refuse(call, where):
    assert faults_of(call)[0].startswith(where)


def test_humidity_from_its_greatest_value_alone():
    # FAO-56 Eq. 18 with the numbers of ex. 5: 2.064 x 0.82 = 1.69.
    assert float(et.actual_vapour_pressure_from_rh_max(18.0, 82.0)) == pytest.approx(1.69, rel=0, abs=0.005)


def test_temperature_form_is_never_negative():
    assert et.reference_et_from_temperature(-20.0, -30.0, latitude=60.0, day_of_year=20) == 0.0


@given(
    latitude=st.floats(-50, 50),
    elevation=st.floats(-400, 3000),
    day=st.integers(1, 366),
    tmin=st.floats(-20, 25),
    spread=st.floats(0, 18),
    rh=st.floats(30, 100),
    sun=st.floats(0.02, 1.05),
    wind=st.floats(0, 8),
)
def test_weather_of_inhabited_places_gives_a_depth_within_bounds(
    latitude, elevation, day, tmin, spread, rh, sun, wind
):
    ra = et.extraterrestrial_radiation(latitude, day)
    tmax = tmin + spread
    answer = et.reference_et(
        tmax,
        tmin,
        ea=et.actual_vapour_pressure_from_rh_mean(tmax, tmin, rh),
        solar_radiation=np.minimum(sun * et.clear_sky_radiation(ra, elevation), ra),
        wind_2m=wind,
        elevation=elevation,
        latitude=latitude,
        day_of_year=day,
    )
    assert 0.0 <= float(answer) <= 20.0


def test_pyet_is_loaded_by_this_module_alone():
    code = (
        "import sys, scheduler.weather.normals, scheduler.weather.bounds; print('pyet' in sys.modules); "
        "import scheduler.weather.reference_et; print('pyet' in sys.modules)"
    )
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=CHECKOUT, capture_output=True, text=True, check=True
    )
    assert run.stdout.split() == ["False", "True"]
