"""Reference evapotranspiration against an independent implementation over thousands of random days.

The other one has the constants of ASCE-EWRI (2005), ours those of FAO-56 (1998). Two differ: sigma is
4.901e-9 for 4.903e-9 MJ K-4 m-2 d-1, and the slope of the vapour pressure curve has 2503 for
4098 x 0.6108 = 2503.06. The first changes net long-wave radiation, at most about 12 MJ m-2 d-1, by
0.04 %, 0.005 MJ m-2 d-1 or 0.002 mm/d at most; the second changes the answer by less than 0.0003 mm/d.
Hence the tolerance of 0.002 mm/d. Anything else that differed, a day of the year, a unit, a limit, would
show above it.
"""

import numpy as np
import pytest
import refet

from scheduler.weather import reference_et as et

TOLERANCE = 0.002
DAYS_A_SITE = 1000
SITES = [
    (-55.0, 10.0),
    (-34.5, 800.0),
    (-12.0, 2500.0),
    (0.0, 0.0),
    (21.0, -5.0),
    (43.5, 120.0),
    (59.0, 1500.0),
]


def random_days(latitude, elevation):
    """Days from frost to heat and from still to storm, some beyond either limit of Rs/Rso."""
    rng = np.random.default_rng([int(latitude + 90), int(elevation + 500)])
    day = rng.integers(1, 367, DAYS_A_SITE)
    tmin = rng.uniform(-12.0, 26.0, DAYS_A_SITE)
    tmax = tmin + rng.uniform(0.5, 20.0, DAYS_A_SITE)
    rh_max = rng.uniform(40.0, 100.0, DAYS_A_SITE)
    rh_min = rng.uniform(0.15, 1.0, DAYS_A_SITE) * rh_max
    ea = et.actual_vapour_pressure_from_rh_max_min(tmax, tmin, rh_max, rh_min)
    rso = et.clear_sky_radiation(et.extraterrestrial_radiation(latitude, day), elevation)
    return day, tmax, tmin, ea, rng.uniform(0.1, 1.1, DAYS_A_SITE) * rso, rng.uniform(0.6, 9.0, DAYS_A_SITE)


@pytest.mark.parametrize(("latitude", "elevation"), SITES)
def test_agrees_on_random_days(latitude, elevation):
    day, tmax, tmin, ea, rs, wind = random_days(latitude, elevation)
    ours = et.reference_et(
        tmax,
        tmin,
        ea=ea,
        solar_radiation=rs,
        wind_2m=et.wind_at_2m(wind, 3.0),
        elevation=elevation,
        latitude=latitude,
        day_of_year=day,
    )
    theirs = refet.Daily(
        tmin=tmin,
        tmax=tmax,
        ea=ea,
        rs=rs,
        uz=wind,
        zw=3.0,
        elev=elevation,
        lat=latitude,
        doy=day,
        method="asce",
    ).eto()
    # The other one lets dew through as a negative depth; ours counts it as 0.
    np.testing.assert_allclose(ours, np.maximum(theirs, 0.0), rtol=0, atol=TOLERANCE)
    assert (ours > 1.0).mean() > 0.5
