"""The sample records: invented one made again byte for byte, both sound, climate as README.md tells."""

import importlib.util
import subprocess
import sys
from pathlib import Path, PurePath

import numpy as np
import pytest

import scheduler
from scheduler.garden.plan import Site, WeatherChoice
from scheduler.weather.daily import prepare_weather
from scheduler.weather.readers import read_weather

SAMPLES = Path(scheduler.__file__).parents[1] / "sample_weather"
INVENTED = SAMPLES / "invented_valley_daily.csv"
OPEN = SAMPLES / "open_record_2012_2015_daily.csv"
VALLEY = Site(latitude=43.5, elevation=120.0, timezone="UTC")


@pytest.fixture(scope="module")
def generator():
    script = SAMPLES / "make_invented_weather.py"
    spec = importlib.util.spec_from_file_location("make_invented_weather", script)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def invented():
    choice = WeatherChoice(file=PurePath(INVENTED.name), wind_height=3.0)
    return prepare_weather(read_weather(INVENTED, choice), VALLEY, choice)


def by_month(dates, values):
    month = dates.astype("datetime64[M]").astype(int) % 12 + 1
    return {one: values[month == one].mean() for one in range(1, 13)}


def test_invented_record_is_made_again_byte_for_byte(generator):
    assert generator.csv_text().encode("ascii") == INVENTED.read_bytes()


def test_generator_writes_where_it_is_told(tmp_path):
    target = tmp_path / "again.csv"
    subprocess.run([sys.executable, SAMPLES / "make_invented_weather.py", target], check=True)
    assert target.read_bytes() == INVENTED.read_bytes()


def test_invented_record_says_so():
    head = INVENTED.read_text(encoding="ascii").splitlines()[:6]
    assert "INVENTED" in head[0]
    assert "seed" in head[1]
    assert "# attribution: invented for demonstration; no real place" in head


def test_invented_record_is_complete_and_beyond_doubt(invented):
    assert invented.dates[0] == np.datetime64("2014-01-01")
    assert invented.dates[-1] == np.datetime64("2026-07-19")
    assert invented.dates[invented.forecast].astype(str).tolist() == [
        f"2026-07-{day}" for day in range(13, 20)
    ]
    assert invented.estimated == {}
    # Nothing but what was read: no check had a doubt, no day was filled.
    assert [note.split(" ")[0] for note in invented.notes] == ["columns", "humidity"]


def test_invented_climate(invented):
    observed = ~invented.forecast
    dates = invented.dates[observed]
    reference = by_month(dates, invented.reference_et[observed])
    rain = by_month(dates, invented.rain[observed])
    assert 5.5 < reference[7] < 6.0
    assert 0.5 < reference[12] < 1.2
    assert 15 < rain[7] * 31 < 22
    assert 50 < rain[4] * 30 < 60
    assert 50 < rain[5] * 31 < 60
    years = dates.astype("datetime64[Y]").astype(int) + 1970
    sums = [invented.rain[observed][years == year].sum() for year in range(2014, 2026)]
    assert 600 < np.mean(sums) < 750
    assert 450 < min(sums) < max(sums) < 850


def test_open_record_says_whose_it_is_and_is_complete():
    choice = WeatherChoice(
        file=PurePath(OPEN.name),
        wind_height=10.0,
        humidity="dew point from tmin",
        radiation="from temperature",
    )
    record = read_weather(OPEN, choice)
    assert record.attribution.startswith("NOAA, public domain")
    assert record.dates.size == 1461
    assert not record.forecast.any()
    for variable in ("tmax", "tmin", "rain", "wind"):
        assert np.isfinite(record.values[variable]).all()
    daily = prepare_weather(record, Site(latitude=47.6, elevation=50.0, timezone="UTC"), choice)
    assert set(daily.estimated) == {"humidity", "radiation"}
    assert 0.0 <= daily.reference_et.min() < daily.reference_et.max() < 9.0
