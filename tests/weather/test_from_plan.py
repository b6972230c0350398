"""Sources of a plan as the fetching part asks for them."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path, PurePath

import pytest

from scheduler.garden.plan import GhcnSource, NwsSource, OpenMeteoSource, Site, StationSource
from scheduler.weather.sources import nws
from scheduler.weather.sources.choices import (
    GhcnOptions,
    NwsOptions,
    OpenMeteoOptions,
    SourceChoice,
    StationOptions,
)
from scheduler.weather.sources.from_plan import choice_of, credit_of, kept_name, origin_of
from scheduler.weather.sources.station_layout import StationLayout

SITE = Site(latitude=44.1, elevation=301.0, timezone="America/Chicago", longitude=-92.5)
OWN = StationSource(
    PurePath("data/own.csv"),
    ("Date", "Time"),
    "%d.%m.%Y %H:%M",
    {"rain": ("Rain", "mm")},
    rain="counter",
    clock="utc",
    decimal=",",
    missing=("x",),
    longest_step=7.0,
    least_share=0.7,
    least_share_solar=0.8,
    wind_height=2.5,
)
FOLDER = Path("garden")


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        (OpenMeteoSource("archive", "https://a.org"), OpenMeteoOptions("archive", base="https://a.org")),
        (NwsSource(), NwsOptions(nws.BASE)),
        (NwsSource("https://a.org"), NwsOptions("https://a.org")),
        (GhcnSource("USC00123456"), GhcnOptions("USC00123456")),
        (GhcnSource("USC00123456", "https://a.org"), GhcnOptions("USC00123456", "https://a.org")),
    ],
)
def test_choice(source, expected):
    choice = choice_of(source, FOLDER)
    assert isinstance(choice, SourceChoice)
    assert choice.options == expected


def test_every_key_of_a_station_arrives():
    options = choice_of(OWN, FOLDER).options
    assert isinstance(options, StationOptions)
    assert (options.file, options.wind_height) == (FOLDER / "data/own.csv", 2.5)
    for field in fields(StationLayout):
        assert getattr(options.layout, field.name) == getattr(OWN, field.name), field.name


def test_usual_layout_is_that_of_the_reader():
    plain = StationSource(PurePath("own.csv"), ("Time",), "%H", {"rain": ("Rain", "mm")})
    options = choice_of(plain, FOLDER).options
    assert isinstance(options, StationOptions)
    assert options.layout == StationLayout(("Time",), "%H", {"rain": ("Rain", "mm")})


def test_names_under_which_days_are_kept():
    sources = [OpenMeteoSource(), OpenMeteoSource("archive"), NwsSource(), GhcnSource("USC00123456"), OWN]
    assert [kept_name(source, SITE) for source in sources] == [
        "Open-Meteo forecast at 44.10, -92.50",
        "Open-Meteo archive at 44.10, -92.50",
        "National Weather Service at 44.10, -92.50",
        "GHCN-Daily USC00123456",
        "data/own.csv",
    ]
    assert [origin_of(source) for source in sources] == [
        "forecast",
        "station",
        "forecast",
        "station",
        "station",
    ]
    assert [bool(credit_of(source)[0]) for source in sources] == [True, True, True, True, False]
