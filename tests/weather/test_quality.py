"""Every check of a record, with days that pass it and days that do not."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from scheduler.garden.plan import Site
from scheduler.weather.quality import POSSIBLE, check_record, clip_humidity, hemisphere_note
from scheduler.weather.record import VARIABLES, WeatherRecord
from scheduler.weather.reference_et import clear_sky_radiation, extraterrestrial_radiation
from tests.weather.records import SITE, full_record, record


def faults(checked: WeatherRecord, site: Site = SITE) -> list[str]:
    return [str(fault) for fault in check_record(checked, site)[0]]


def notes(checked: WeatherRecord, site: Site = SITE) -> tuple[str, ...]:
    found, said = check_record(checked, site)
    assert not found
    return said


def noisy(days: int, decimals: int = 1, seed: int = 3) -> np.ndarray:
    """Daily maxima with a season and weather of a few days, read in steps of 10**-decimals degC."""
    rng = np.random.default_rng(seed)
    weather = np.zeros(days)
    for i in range(1, days):
        weather[i] = 0.7 * weather[i - 1] + rng.normal(0.0, 2.5)
    return np.round(20.0 - 8.0 * np.cos(2 * np.pi * np.arange(days) / 365.25) + weather, decimals)


class TestRefused:
    def test_sound_record_passes_without_a_word(self) -> None:
        assert (
            check_record(full_record(400, "2025-01-01", solar_radiation=5.0 + np.arange(400) % 3), SITE)[0]
            == []
        )
        assert check_record(full_record(), SITE) == ([], ())

    def test_tmin_above_tmax(self) -> None:
        (fault,) = faults(record(tmax=[20, 9, 8], tmin=[10, 12, 13]))
        assert fault == (
            "tmin and tmax, 2025-06-02 to 2025-06-03: tmin 12 above tmax 9 degC; tmin at or below tmax; are "
            "the columns exchanged?"
        )

    def test_equal_temperatures_pass(self) -> None:
        assert faults(record(tmax=[12.0], tmin=[12.0])) == []

    def test_negative_rain(self) -> None:
        (fault,) = faults(record(tmax=20, tmin=10, rain=[0, -0.2]))
        assert fault.startswith("rain, 2025-06-02: -0.2 mm; at least 0 mm")

    @pytest.mark.parametrize("variable", ["rh_max", "rh_mean"])
    def test_humidity_above_105(self, variable: str) -> None:
        (fault,) = faults(record(tmax=20, tmin=10, **{variable: [90, 105.1]}))
        assert fault.startswith(f"{variable}, 2025-06-02: 105.1 %; at most 105 %")

    def test_crossed_humidities(self) -> None:
        (fault,) = faults(record(tmax=20, tmin=10, rh_max=[50], rh_min=[60]))
        assert fault.startswith("rh_min and rh_max, 2025-06-01: rh_min 60 above rh_max 50 %")

    @pytest.mark.parametrize("variable", sorted(VARIABLES))
    def test_both_ends_of_what_is_possible(self, variable: str) -> None:
        low, high = POSSIBLE[variable]
        step = (high - low) / 1000
        for value, what in ((low - step, "at least"), (high + step, "at most")):
            columns: dict[str, Any] = {"tmax": 20.0, "tmin": 20.0, variable: [20.0] * 60 + [value]}
            found = faults(record(**columns))
            assert any(f.startswith(f"{variable}, 2025-07-31: ") and what in f for f in found), (
                variable,
                found,
            )

    @pytest.mark.parametrize("warm", [noisy(365) * 1.8 + 32, [78.0, 81.0, 76.0]])
    def test_fahrenheit_as_celsius_is_one_fault(self, warm: Any) -> None:
        (fault,) = faults(record(tmax=warm, tmin=np.asarray(warm) - 20))
        assert fault.startswith("tmax: ")
        assert "look like Fahrenheit" in fault
        assert 'unit = "degF"' in fault

    def test_tenths_of_a_degree(self) -> None:
        (fault,) = faults(record(tmax=noisy(200) * 10, tmin=noisy(200) * 10 - 80))
        assert "tenths of a degree" in fault

    def test_hot_desert_passes(self) -> None:
        assert faults(record(tmax=noisy(120) + 18.0, tmin=20.0)) == []

    def test_one_spike_is_named_by_its_day(self) -> None:
        tmax = noisy(365)
        tmin = tmax - 9
        tmax[100] = 77.0
        (fault,) = faults(record(tmax=tmax, tmin=tmin))
        assert fault == "tmax, 2025-09-09: 77 degC; at most 60 degC a day; Fahrenheit needs the unit degF"

    def test_dew_point_above_the_maximum(self) -> None:
        (fault,) = faults(record(tmax=[20, 20], tmin=10, dew_point=[20.4, 20.6]))
        assert fault.startswith("dew_point, 2025-06-02: above tmax")

    def test_more_radiation_than_above_the_atmosphere(self) -> None:
        ra = float(extraterrestrial_radiation(SITE.latitude, 152))
        (fault,) = faults(record(tmax=20, tmin=10, solar_radiation=[ra + 0.4, ra + 1.5]))
        assert fault.startswith(
            f"solar_radiation, 2025-06-02: {ra + 1.5:.1f} MJ m-2 d-1 on 2025-06-02; at most the"
        )

    def test_watts_as_megajoules(self) -> None:
        (fault,) = faults(record(tmax=20, tmin=10, solar_radiation=[250, 310, 120]))
        assert fault.startswith("solar_radiation, 2025-06-01 to 2025-06-03: 310 MJ m-2 d-1")
        assert "needs the unit W/m2" in fault

    def test_more_sunshine_than_day(self) -> None:
        (fault,) = faults(record(tmax=20, tmin=10, sunshine=[15.2, 17.0]))
        assert fault.startswith("sunshine, 2025-06-02: 17.0 h on 2025-06-02; at most the 15.")

    def test_running_total_of_rain(self) -> None:
        (fault,) = faults(record(tmax=20, tmin=10, rain=np.arange(80) // 3 * 1.5))
        assert fault.startswith("rain: grows from 0 to 39 mm over 80 days")

    def test_dry_spell_is_no_running_total(self) -> None:
        assert faults(record(tmax=20, tmin=10, rain=[0.0] * 70 + [1.0, 0.0])) == []

    def test_all_at_once(self) -> None:
        found = faults(record(tmax=[20, 5], tmin=10, rain=[-1, 0], rh_max=[120, 90], wind=[99, 1]))
        assert [fault.split(",")[0] for fault in found] == ["rh_max", "wind", "rain", "tmin and tmax"]


class TestClip:
    def test_only_a_small_excess(self) -> None:
        before = record(tmax=20, tmin=10, rh_max=[99.0, 100.0, 104.9, 105.0, 106.0])
        after = clip_humidity(before)
        np.testing.assert_array_equal(after.values["rh_max"], [99, 100, 100, 100, 106])
        np.testing.assert_array_equal(before.values["rh_max"], [99, 100, 104.9, 105, 106])
        assert after.notes == ("rh_max: 2 days above 100 %, at most 105.0 %, set to 100 %",)
        assert clip_humidity(after) is after


class TestNotes:
    def test_stuck_sensor(self) -> None:
        tmax = noisy(365)
        assert notes(record(tmax=tmax, tmin=tmax - 9.3 - np.arange(365) % 7)) == ()
        tmax[50:53] = tmax[50]
        (note,) = notes(record(tmax=tmax, tmin=noisy(365, seed=6) - 30))
        assert note.startswith("tmax: the same value on 3 or more days in a row, once")
        assert "2025-07-21 to 2025-07-23" in note

    def test_whole_degrees_repeat_without_being_stuck(self) -> None:
        whole = noisy(2000, decimals=0)
        assert (np.diff(whole) == 0)[:-1][(np.diff(whole) == 0)[1:]].any()
        assert notes(record(tmax=whole, tmin=noisy(2000, seed=5) - 40)) == ()
        whole[300:312] = whole[300]
        (note,) = notes(record(tmax=whole, tmin=noisy(2000, seed=5) - 40))
        assert note.startswith("tmax: the same value on")

    def test_saturated_air_and_still_air_are_not_stuck(self) -> None:
        assert notes(record(tmax=noisy(20), tmin=noisy(20) - 9 + noisy(20, seed=9) / 50, rh_max=100.0)) == ()

    def test_month_of_still_air(self) -> None:
        wind = np.where(np.arange(60) < 35, 0.6, 2.0) + np.arange(60) % 5 / 20
        (note,) = notes(full_record(40, wind=wind[:40]))
        assert note.startswith("wind: below 1 m/s on 35 days in a row from 2025-06-01")

    def test_radiation_above_the_clear_sky(self) -> None:
        days = np.arange(152, 182)
        rso = clear_sky_radiation(extraterrestrial_radiation(SITE.latitude, days), SITE.elevation)
        few, many = rso * 0.9 + np.arange(30) % 2, rso * 0.9 + np.arange(30) % 2
        few[:3] = 1.08 * rso[:3]
        many[:4] = 1.08 * rso[:4]
        assert notes(full_record(solar_radiation=few)) == ()
        (note,) = notes(full_record(solar_radiation=many))
        assert note.startswith("solar_radiation: over 5 % above a clear sky on 4 days")

    def test_radiation_never_near_the_clear_sky(self) -> None:
        (note,) = notes(full_record(90, seed=11, solar_radiation=10 + np.arange(90) % 11))
        assert note.startswith("solar_radiation: the brightest days reach only")

    def test_dark_day(self) -> None:
        solar = 15.0 + np.arange(30) % 14
        solar[4] = 0.2
        assert notes(full_record(solar_radiation=solar)) == (
            "solar_radiation: next to none on 1 days: 2025-06-05",
        )

    def test_dry_air_and_never_damp(self) -> None:
        said = notes(
            full_record(
                rh_min=np.where(np.arange(30) == 3, 4.0, 30.0 + np.arange(30) % 9),
                rh_max=70 + np.arange(30) % 8,
            )
        )
        assert said[0] == "rh_min: below 5 % on 1 days: 2025-06-04"
        assert said[1].startswith("rh_max: below 80 % on nine days in ten")

    def test_mean_humidity_out_of_place(self) -> None:
        (note,) = notes(full_record(rh_mean=np.where(np.arange(30) == 3, 20.0, 65.0 + np.arange(30) % 7)))
        assert note.startswith("rh_mean: outside of rh_min to rh_max on 1 days: 2025-06-04")

    def test_dew_point_far_above_the_minimum(self) -> None:
        tmin = full_record().values["tmin"]
        above = np.where(np.arange(30) < 4, 3.5, -1.0)
        (note,) = notes(full_record(dew_point=tmin + above))
        assert note.startswith(
            "dew_point: more than 3 degC above tmin on 4 of 30 days: 2025-06-01 to 2025-06-04"
        )
        assert notes(full_record(dew_point=tmin + np.where(np.arange(30) < 1, 3.5, -1.0))) == ()

    def test_year_without_rain(self) -> None:
        tmax = noisy(365)
        said = notes(record("2025-01-01", tmax=tmax, tmin=tmax - 9.3 - np.arange(365) % 7, rain=0.0))
        assert said == ("rain: none at all in 2025; was the gauge working?",)
        across = notes(record("2024-07-01", tmax=tmax, tmin=tmax - 9.3 - np.arange(365) % 7, rain=0.0))
        assert across == ("rain: none at all in 2024-07-01 to 2025-06-30; was the gauge working?",)

    def test_rain_in_tenths(self) -> None:
        tmax = noisy(365)
        said = notes(
            record(tmax=tmax, tmin=tmax - 9.3 - np.arange(365) % 7, rain=40.0 * (np.arange(365) % 2))
        )
        assert said == ("rain: 7285 mm a year; is it in tenths of a millimetre?",)

    def test_celsius_read_as_fahrenheit(self) -> None:
        tmax = (noisy(365) - 32) / 1.8
        (note,) = notes(record(tmax=tmax, tmin=tmax - 5 - np.arange(365) % 7))
        assert note.endswith("is it Celsius read as Fahrenheit?")


class TestHemisphere:
    year = record("2025-01-01", tmax=20 - 8 * np.cos(2 * np.pi * np.arange(365) / 365), tmin=5)

    def test_agreement(self) -> None:
        assert hemisphere_note(self.year, 43.5) is None

    def test_contradiction(self) -> None:
        note = hemisphere_note(self.year, -43.5)
        assert note is not None
        assert "warm from June to August, but latitude -43.5 lies south" in note
        assert "end in N?" in note

    def test_southern_record_at_a_northern_latitude(self) -> None:
        south = record("2025-01-01", tmax=20 + 8 * np.cos(2 * np.pi * np.arange(365) / 365), tmin=5)
        note = hemisphere_note(south, 43.5)
        assert note is not None
        assert "end in S?" in note
        assert hemisphere_note(south, -43.5) is None

    def test_near_the_equator_and_short_records_say_nothing(self) -> None:
        assert hemisphere_note(self.year, -8.0) is None
        assert hemisphere_note(full_record(), -43.5) is None
