"""Small gardens and weathers for tests, built without files. Invented figures."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time
from pathlib import PurePath

import numpy as np

from scheduler.garden.plan import (
    Bed,
    DripLine,
    Garden,
    Planning,
    Planting,
    Site,
    SoilMix,
    SoilState,
    StageLengths,
    Timer,
    WateringWindow,
    WaterSource,
    WeatherChoice,
    Zone,
)
from scheduler.weather.record import DailyWeather

EVERY_DAY = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MIX = SoilMix("mix", field_capacity=0.30, wilting_point=0.12, source="invented")
LINE = DripLine(
    "line", emitter_flow=2.0, at_pressure=100.0, exponent=0.5, emitter_spacing=0.3, efficiency=0.9
)


def make_planting(**changes):
    base = Planting(
        crop="tomato",
        planted=date(2025, 5, 10),
        removed=date(2025, 10, 2),
        share=1.0,
        kc_ini=0.6,
        kc_mid=1.15,
        kc_end=0.7,
        kcb_ini=0.15,
        kcb_mid=1.1,
        kcb_end=0.6,
        stages=StageLengths(30, 40, 45, 30),
        height=0.6,
        root_depth=0.7,
        depletion_fraction=0.4,
        salinity_threshold=2.5,
        salinity_slope=9.9,
        source="FAO-56 Table 12",
    )
    return replace(base, **changes)


def make_bed(name="bed", zone="one", **changes):
    base = Bed(
        name=name,
        zone=zone,
        soil=MIX,
        shape="rectangle",
        shape_text="rectangle 2.4 m by 1.2 m",
        area=2.88,
        soil_depth=0.30,
        drip=LINE,
        line_length=4.6,
        emitters=16,
        emitters_counted=False,
        pressure=100.0,
        need="area mean",
        plantings=(make_planting(),),
    )
    return replace(base, **changes)


def make_timer(**changes):
    base = Timer(
        outlets=4,
        starts_per_day=3,
        step=1,
        shortest_run=1,
        longest_run=120,
        day_choices=("weekdays", "every n days"),
        longest_interval=7,
        one_zone_at_a_time=True,
    )
    return replace(base, **changes)


def make_garden(beds=None, **changes):
    beds = tuple(beds) if beds is not None else (make_bed(),)
    names = list(dict.fromkeys(bed.zone for bed in beds))
    base = Garden(
        name="test garden",
        note="",
        site=Site(latitude=43.5, elevation=120.0, timezone="Etc/GMT+8"),
        weather=WeatherChoice(file=PurePath("weather.csv")),
        beds=beds,
        zones=tuple(Zone(name, outlet, "driest bed") for outlet, name in enumerate(names, 1)),
        timer=make_timer(),
        windows=(WateringWindow(EVERY_DAY, time(3, 0), time(7, 0)),),
        restrictions=(),
        water_source=WaterSource(1000.0, None, 0.75, None, None),
        soil_states=(SoilState(date(2025, 4, 1), "full", None),),
        planning=Planning(
            reserve=0.2,
            forecast_rain=0.5,
            normal_rain=0.5,
            bare_soil_coefficient=0.3,
            coefficient="single",  # What hand-reckoned tests count on; tests of the dual one say so.
        ),
        tariff=None,
        household=None,
    )
    return replace(base, **changes)


def make_daily(begins=date(2023, 1, 1), n_days=1096, *, seed=1, rain_scale=1.0, forecast_from=None):
    rng = np.random.default_rng(seed)
    dates = np.datetime64(begins, "D") + np.arange(n_days)
    day = (dates - dates.astype("datetime64[Y]")).astype(int)
    season = np.cos(2 * np.pi * (day - 195) / 365.25)
    et = np.clip(3.0 + 2.5 * season + rng.normal(0, 0.8, n_days), 0.2, None)
    rain = np.where(rng.random(n_days) < 0.25 - 0.17 * season, rng.gamma(0.8, 7.0, n_days), 0.0) * rain_scale
    forecast = np.zeros(n_days, dtype=bool)
    if forecast_from is not None:
        forecast = dates >= np.datetime64(forecast_from)
    return DailyWeather(
        dates=dates,
        reference_et=et,
        rain=rain,
        wind_2m=np.full(n_days, 2.0),
        rh_min=np.full(n_days, 45.0),
        tmax=20.0 + 8 * season,
        tmin=9.0 + 6 * season,
        forecast=forecast,
        source="invented",
    )
