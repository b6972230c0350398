"""The weather of a garden from its file and its ledger; reference ET that is kept and used again."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path, PurePath

import numpy as np
import pytest

from scheduler.errors import WeatherError
from scheduler.garden.plan import GhcnSource, NwsSource, OpenMeteoSource, Site, WeatherChoice
from scheduler.ledger.entries import WeatherDay
from scheduler.ledger.store import Ledger
from scheduler.weather.daily import prepare_weather
from scheduler.weather.gather import gather_weather, keep_reference_et
from scheduler.weather.kept_days import day_rows, new_rows
from scheduler.weather.kept_et import daily_from_store, inputs_hashes, store_reference_et
from scheduler.weather.readers import read_weather
from scheduler.weather.record import VARIABLES
from scheduler.weather.sources.from_plan import kept_name
from scheduler.weather.wind import wind_at_2m
from tests.builders import make_garden
from tests.weather.records import full_record

ROOT = Path(__file__).parents[2]
SITE = Site(latitude=43.5, elevation=120.0, timezone="Etc/GMT+8", longitude=-120.0)
NOW = datetime(2025, 7, 10, 4, 10, tzinfo=UTC)
HEADS = {
    **{"tmax": "tmax_c", "tmin": "tmin_c", "rh_max": "rh_max_pct", "rh_min": "rh_min_pct"},
    **{"wind": "wind_m_s", "solar_radiation": "solar_mj_m2", "rain": "rain_mm"},
}
ARCHIVE, SKY, NWS = OpenMeteoSource("archive"), OpenMeteoSource("forecast"), NwsSource()
STATION = GhcnSource("USC00123456")


def garden(*sources, file="weather.csv", **choice):
    weather = WeatherChoice(None if file is None else PurePath(file), wind_height=3.0, **choice)
    return make_garden(site=SITE, weather=weather, sources=sources)


def write(folder, record, name="weather.csv"):
    rows = [",".join(["date", *HEADS.values()])]
    for i, day in enumerate(record.dates):
        cells = [record.values[name][i] for name in HEADS]
        rows.append(",".join([str(day), *("" if np.isnan(cell) else f"{cell:.1f}" for cell in cells)]))
    (folder / name).write_text("\n".join(rows) + "\n", encoding="utf-8")


def keep(ledger, source, record, *, origin="station", issued_at=NOW, wind_height=10.0):
    rows = day_rows(
        record, origin=origin, source=kept_name(source, SITE), issued_at=issued_at, wind_height=wind_height
    )
    with ledger.writing():
        for row in rows:
            ledger.record_weather(row, recorded_at=NOW)


@pytest.fixture
def ledger(tmp_path):
    with Ledger.open(tmp_path / "garden.ledger.sqlite") as opened:
        yield opened


def equal(one, other):
    for name in ("dates", "reference_et", "rain", "wind_2m", "rh_min", "tmax", "tmin", "forecast"):
        np.testing.assert_array_equal(getattr(one, name), getattr(other, name), err_msg=name)
    assert one.estimated.keys() == other.estimated.keys()
    for key, flags in one.estimated.items():
        np.testing.assert_array_equal(flags, other.estimated[key])


class TestFrom:
    def test_file_alone_is_as_without_a_ledger(self, tmp_path, ledger):
        write(tmp_path, full_record())
        plan = garden()
        direct = prepare_weather(read_weather(tmp_path / "weather.csv", plan.weather), SITE, plan.weather)
        for reader in (None, ledger):
            gathered = gather_weather(plan, tmp_path, reader=reader)
            equal(gathered, direct)
            assert (gathered.source, gathered.notes) == (direct.source, direct.notes)

    def test_file_and_kept_days(self, tmp_path, ledger):
        """The file has June, the archive June and the first of July, the forecast goes on from there."""
        write(tmp_path, full_record(30))
        keep(ledger, ARCHIVE, full_record(35, seed=8))
        keep(ledger, SKY, full_record(20, begin="2025-07-03", seed=9), origin="forecast")
        plan = garden(ARCHIVE, SKY)
        daily = gather_weather(plan, tmp_path, reader=ledger, moment=NOW + timedelta(hours=5))
        assert [str(daily.dates[0]), str(daily.dates[-1])] == ["2025-06-01", "2025-07-22"]
        file = read_weather(tmp_path / "weather.csv", plan.weather)
        np.testing.assert_array_equal(daily.tmax[:30], file.values["tmax"])
        np.testing.assert_array_equal(daily.tmax[30:35], full_record(35, seed=8).values["tmax"][30:])
        assert daily.forecast.tolist() == [False] * 35 + [True] * 17
        assert (
            daily.source
            == "weather.csv, Open-Meteo archive at 43.50, -120.00, Open-Meteo forecast at 43.50, -120.00"
        )
        assert "CC BY 4.0" in daily.attribution
        assert any("last new at 2025-07-10 04:10 UTC, 5 h ago" in note for note in daily.notes)
        assert "5 days measured by Open-Meteo archive at 43.50, -120.00" in daily.notes

    def test_wind_of_sensors_at_different_heights(self, tmp_path, ledger):
        write(tmp_path, full_record(30, wind=2.0))
        keep(ledger, ARCHIVE, full_record(31, wind=2.0))
        daily = gather_weather(garden(ARCHIVE), tmp_path, reader=ledger)
        alone = gather_weather(garden(ARCHIVE, file=None), tmp_path, reader=ledger)
        # The same speed is less wind at 2 m if the sensor is higher.
        np.testing.assert_allclose(alone.wind_2m, wind_at_2m(2.0, 10.0), rtol=1e-12)
        np.testing.assert_allclose(daily.wind_2m[:30], wind_at_2m(2.0, 3.0), rtol=1e-12)
        np.testing.assert_allclose(daily.wind_2m[30], wind_at_2m(2.0, 10.0), rtol=1e-12)

    def test_order_of_the_plan_is_that_of_trust(self, tmp_path, ledger):
        keep(ledger, ARCHIVE, full_record(seed=1))
        keep(ledger, STATION, full_record(seed=2))
        for sources, seed in (((ARCHIVE, STATION), 1), ((STATION, ARCHIVE), 2)):
            daily = gather_weather(garden(*sources, file=None), tmp_path, reader=ledger)
            np.testing.assert_array_equal(daily.tmax, full_record(seed=seed).values["tmax"])

    def test_forecast_is_corrected_by_what_is_measured_later(self, tmp_path, ledger):
        write(tmp_path, full_record(30))
        keep(ledger, SKY, full_record(10, begin="2025-07-01", seed=9), origin="forecast")
        plan = garden(ARCHIVE, SKY)
        before = gather_weather(plan, tmp_path, reader=ledger)
        keep(ledger, ARCHIVE, full_record(2, begin="2025-07-01", seed=5))
        after = gather_weather(plan, tmp_path, reader=ledger)
        assert before.forecast[30:32].tolist() == [True, True]
        assert after.forecast[30:33].tolist() == [False, False, True]
        np.testing.assert_array_equal(after.tmax[30:32], full_record(2, seed=5).values["tmax"])
        np.testing.assert_array_equal(after.reference_et[32:], before.reference_et[32:])

    def test_days_of_a_source_that_the_plan_does_not_name(self, tmp_path, ledger):
        """A wrong longitude that was put right must not leave its weather behind."""
        write(tmp_path, full_record(30))
        keep(ledger, SKY, full_record(10, begin="2025-07-01"), origin="forecast")
        moved = replace(garden(SKY), site=replace(SITE, longitude=120.0))
        daily = gather_weather(moved, tmp_path, reader=ledger)
        assert daily.dates.size == 30
        assert any(
            "10 days kept of Open-Meteo forecast at 43.50, -120.00 are left out" in n for n in daily.notes
        )

    def test_far_end_of_a_forecast_that_lacks_the_rain(self, tmp_path, ledger):
        write(tmp_path, full_record(30))
        foretold = full_record(7, begin="2025-07-01")
        foretold.values["rain"][3:] = np.nan
        keep(ledger, NWS, foretold, origin="forecast")
        daily = gather_weather(garden(NWS), tmp_path, reader=ledger)
        assert str(daily.dates[-1]) == "2025-07-03"
        assert any("forecast from 2025-07-04 on (4 days) lacks something needed" in n for n in daily.notes)
        kept = gather_weather(garden(NWS, rain="count as none"), tmp_path, reader=ledger)
        assert str(kept.dates[-1]) == "2025-07-07"

    def test_nothing(self, tmp_path, ledger):
        for reader in (None, ledger):
            with pytest.raises(WeatherError, match="nothing is kept yet") as caught:
                gather_weather(garden(SKY, file=None), tmp_path, reader=reader)
            assert "rillbook fetch" in str(caught.value)

    def test_days_that_are_missing_between_file_and_forecast(self, tmp_path, ledger):
        write(tmp_path, full_record(30))
        keep(ledger, SKY, full_record(5, begin="2025-07-05"), origin="forecast")
        with pytest.raises(WeatherError, match="2025-07-01 to 2025-07-04") as caught:
            gather_weather(garden(SKY), tmp_path, reader=ledger)
        assert "--days-back" in str(caught.value)

    def test_gauge_days(self, tmp_path, ledger):
        write(tmp_path, full_record(3))
        ledger.record_weather(WeatherDay(date(2025, 6, 2), "gauge", "own", rain_mm=17.5), recorded_at=NOW)
        assert gather_weather(garden(), tmp_path, reader=ledger).rain[1] == 17.5


class TestRows:
    def test_there_and_back(self, tmp_path, ledger):
        record = full_record(dew_point=9.5, sunshine=8.0, rh_mean=60.0)
        record.values["rain"][3] = np.nan
        for column in record.values.values():
            column[5] = np.nan
        keep(ledger, STATION, record)
        rows = [row.entry for row in ledger.weather_between(date(2025, 6, 1), date(2025, 6, 30))]
        assert len(rows) == 29
        again = day_rows(
            record, origin="station", source=kept_name(STATION, SITE), issued_at=NOW, wind_height=10.0
        )
        assert list(again) == rows
        assert new_rows(again, {row.date: row for row in rows}) == ()

    def test_wind_of_unknown_height_is_not_kept(self):
        (row,) = day_rows(full_record(1), origin="station", source="s", issued_at=NOW, wind_height=None)
        assert (row.wind_m_s, row.wind_height_m) == (None, None)
        assert row.tmax_c is not None

    def test_changed_rows_are_new(self):
        old = WeatherDay(date(2025, 6, 1), "station", "s", NOW, tmax_c=20.0, rain_mm=3.0)
        later = replace(old, issued_at=NOW + timedelta(days=1))
        kept = {old.date: old}
        assert new_rows([later], kept) == ()
        assert new_rows([replace(later, tmax_c=21.0)], kept) == (replace(later, tmax_c=21.0),)
        # A measurement that was taken back stays taken back.
        assert new_rows([replace(later, rain_mm=None)], kept) == (replace(later, rain_mm=None),)

    def test_forecast_of_a_day_under_way_keeps_what_it_had(self):
        old = WeatherDay(date(2025, 6, 1), "forecast", "s", NOW, tmax_c=20.0, tmin_c=9.0, rain_mm=3.0)
        later = WeatherDay(date(2025, 6, 1), "forecast", "s", NOW + timedelta(hours=9), tmax_c=22.0)
        assert new_rows([later], {old.date: old}) == (replace(later, tmin_c=9.0, rain_mm=3.0),)
        assert new_rows([replace(later, tmax_c=20.0)], {old.date: old}) == ()


class TestKeptReferenceEt:
    @pytest.fixture
    def known(self, tmp_path, ledger):
        """A file whose reference ET is kept."""
        write(tmp_path, full_record(30))
        assert keep_reference_et(garden(), tmp_path, ledger=ledger, recorded_at=NOW) == 30
        return garden()

    def test_is_the_same_as_computed(self, tmp_path, ledger, known):
        record = read_weather(tmp_path / "weather.csv", known.weather)
        kept = daily_from_store(ledger, record, SITE, known.weather)
        assert kept is not None
        equal(kept, prepare_weather(record, SITE, known.weather))

    def test_nothing_new_is_kept_twice(self, tmp_path, ledger, known):
        assert keep_reference_et(known, tmp_path, ledger=ledger, recorded_at=NOW) == 0
        record = read_weather(tmp_path / "weather.csv", known.weather)
        hashes = inputs_hashes(record, SITE, known.weather)
        daily = prepare_weather(record, SITE, known.weather)
        assert store_reference_et(ledger, daily, hashes, NOW) == 0

    def test_only_changed_days_are_kept_anew(self, tmp_path, ledger, known):
        changed = full_record(30)
        changed.values["rain"][4] += 1.0
        write(tmp_path, changed)
        assert keep_reference_et(known, tmp_path, ledger=ledger, recorded_at=NOW) == 1

    @pytest.mark.parametrize(
        "change",
        [
            {"site": replace(SITE, elevation=121.0)},
            {"site": replace(SITE, latitude=43.6)},
            {"weather": WeatherChoice(PurePath("weather.csv"), wind_height=2.0)},
            {"weather": WeatherChoice(PurePath("weather.csv"), wind_height=3.0, method="temperature only")},
            {"weather": WeatherChoice(PurePath("weather.csv"), wind_height=3.0, wind=2.0)},
        ],
    )
    def test_other_plan_is_computed_anew(self, tmp_path, ledger, known, change):
        other = replace(known, **change)
        record = read_weather(tmp_path / "weather.csv", other.weather)
        assert daily_from_store(ledger, record, other.site, other.weather) is None
        equal(
            gather_weather(other, tmp_path, reader=ledger), prepare_weather(record, other.site, other.weather)
        )

    def test_other_version_is_computed_anew(self, tmp_path, ledger, known, monkeypatch):
        record = read_weather(tmp_path / "weather.csv", known.weather)
        monkeypatch.setattr("scheduler.weather.kept_et.__version__", "99")
        assert daily_from_store(ledger, record, SITE, known.weather) is None

    @pytest.mark.parametrize("name", list(HEADS))
    def test_every_variable_counts(self, name):
        record, changed = full_record(3), full_record(3)
        changed.values[name][1] += 0.1
        choice = garden().weather
        same = [
            one == other
            for one, other in zip(
                inputs_hashes(record, SITE, choice), inputs_hashes(changed, SITE, choice), strict=True
            )
        ]
        assert same == [True, False, True]

    def test_foretold_day_is_another_than_a_measured_one(self):
        record = full_record(2)
        foretold = replace(record, forecast=np.array([False, True]))
        choice = garden().weather
        one, other = inputs_hashes(record, SITE, choice), inputs_hashes(foretold, SITE, choice)
        assert (one[0] == other[0], one[1] == other[1]) == (True, False)

    def test_filled_day_goes_by_its_neighbours(self, tmp_path, ledger):
        """Its hash must change with the days that it is filled from, theirs alone must not."""
        choice = replace(garden().weather, gaps="mean of neighbours")
        record, changed = full_record(6), full_record(6)
        for one in (record, changed):
            one.values["tmax"][3] = np.nan
        changed.values["tmax"][4] += 1.0
        hashes = [inputs_hashes(one, SITE, choice) for one in (record, changed)]
        same = [one == other for one, other in zip(*hashes, strict=True)]
        assert same == [True, True, True, False, False, True]

    @pytest.mark.parametrize(
        "missing", [("humidity", ("rh_max", "rh_min")), ("solar_radiation", ("solar_radiation",))]
    )
    def test_day_filled_by_its_own_rule_does_not(self, missing):
        kind, columns = missing
        rule = (
            {"humidity": "dew point from tmin"} if kind == "humidity" else {"radiation": "from temperature"}
        )
        record, changed = full_record(4), full_record(4)
        for one in (record, changed):
            for name in columns:
                one.values[name][1] = np.nan
        changed.values["tmax"][2] += 1.0
        for settings, expected in ((rule, True), ({}, False)):
            choice = replace(garden().weather, **settings)
            one, other = inputs_hashes(record, SITE, choice), inputs_hashes(changed, SITE, choice)
            assert (one[1] == other[1]) is expected

    def test_estimates_are_kept(self, tmp_path, ledger):
        record = full_record(30)
        for name in ("rh_max", "rh_min"):
            record.values[name][4:8] = np.nan
        record.values["tmax"][20] = np.nan
        write(tmp_path, record)
        plan = garden(humidity="dew point from tmin", gaps="mean of neighbours")
        computed = gather_weather(plan, tmp_path, reader=None)
        assert set(computed.estimated) == {"gap", "humidity"}
        keep_reference_et(plan, tmp_path, ledger=ledger, recorded_at=NOW)
        kept = gather_weather(plan, tmp_path, reader=ledger)
        equal(kept, computed)
        told = " ".join(kept.notes)
        assert "estimated: humidity on 4 of 30 days" in told
        assert "estimated: gap on 1 of 30 days" in told

    def test_doubts_are_told_again(self, tmp_path, ledger):
        record = full_record(40)
        record.values["tmax"][10:20] = 22.2
        write(tmp_path, record)
        plan = garden()
        doubt = next(n for n in gather_weather(plan, tmp_path, reader=None).notes if "stuck" in n)
        keep_reference_et(plan, tmp_path, ledger=ledger, recorded_at=NOW)
        assert doubt in gather_weather(plan, tmp_path, reader=ledger).notes

    def test_needs_neither_pandas_nor_pyet(self, tmp_path, ledger, known):
        write(tmp_path, full_record(30))
        keep(ledger, SKY, full_record(9, begin="2025-07-01"), origin="forecast")
        write_plan(tmp_path)
        assert loaded(tmp_path) == {"pandas", "pyet"}
        keep_reference_et(garden(SKY), tmp_path, ledger=ledger, recorded_at=NOW)
        assert loaded(tmp_path) == set()


def write_plan(folder):
    """Write a module that makes the garden of this file without importing what tests import."""
    (folder / "plan_of_test.py").write_text(
        "import sys\n"
        "from pathlib import Path, PurePath\n"
        "from types import SimpleNamespace\n"
        "from scheduler.garden.plan import OpenMeteoSource, Site, WeatherChoice\n"
        "from scheduler.ledger.reading import open_reader\n"
        "from scheduler.weather.gather import gather_weather\n"
        f"plan = SimpleNamespace(name='g', site={SITE!r}, sources=(OpenMeteoSource('forecast'),),\n"
        "    weather=WeatherChoice(PurePath('weather.csv'), wind_height=3.0))\n"
        "with open_reader(Path('garden.ledger.sqlite')) as reader:\n"
        "    daily = gather_weather(plan, Path(), reader=reader)\n"
        "slow = {'pandas', 'pyet', 'sqlite_utils', 'requests', 'requests_cache', 'pydantic', 'pint'}\n"
        "print(daily.dates.size, *sorted(slow & set(sys.modules)))\n",
        encoding="utf-8",
    )


def loaded(folder):
    """Return the slow packages that gathering loads in a fresh process."""
    done = subprocess.run(
        [sys.executable, "plan_of_test.py"],
        cwd=folder,
        env={"PYTHONPATH": str(ROOT), "PATH": ""},
        capture_output=True,
        text=True,
        check=True,
        timeout=600,
    )
    days, *packages = done.stdout.split()
    assert days == "39"
    return set(packages)


def test_variables_of_kept_days_are_those_of_a_record():
    record = full_record(1, **{name: 5.0 for name in VARIABLES})
    (row,) = day_rows(record, origin="station", source="s", issued_at=NOW, wind_height=2.0)
    assert None not in [getattr(row, name) for name in WeatherDay.__slots__]
