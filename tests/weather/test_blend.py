"""One record out of several: the best of each day, whatever the order in which they come."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.errors import WeatherError
from scheduler.weather.blend import blend
from scheduler.weather.layers import QUANTITIES, Part
from scheduler.weather.record import VARIABLES
from scheduler.weather.reference_et import wind_at_2m
from tests.weather.records import record

AT = datetime(2025, 6, 1, 6, tzinfo=UTC)
LATER = AT + timedelta(hours=24)


def part(origin="station", source="station.csv", *, issued_at=None, wind_height=None, place=0, **columns):
    made = replace(record(**columns), source=source, attribution="")
    return Part(made, origin, issued_at, wind_height, place)


def forecast(source="sky", *, issued_at=AT, **columns):
    return part("forecast", source, issued_at=issued_at, **columns)


def values(blended, name):
    return [None if np.isnan(value) else float(value) for value in blended.values[name]]


class TestWhoCounts:
    def test_measurement_takes_the_place_of_a_forecast(self):
        told = forecast(tmax=[30, 31, 32], tmin=[10, 11, 12], rain=[5, 6, 7])
        measured = part(tmax=[20, 21], tmin=[8, 9], rain=[0, 1])
        blended = blend([told, measured])
        assert values(blended, "tmax") == [20, 21, 32]
        assert values(blended, "rain") == [0, 1, 7]
        assert blended.forecast.tolist() == [False, False, True]
        assert "2 days that had been foretold are measured now, which counts" in blended.notes

    def test_newer_forecast_before_an_older_one(self):
        old, new = forecast(tmax=[30, 30], tmin=[9, 9]), forecast("b", issued_at=LATER, tmax=[25], tmin=[8])
        unknown = forecast("c", issued_at=None, begin="2025-06-01", tmax=[1, 1, 15], tmin=[0, 0, 5])
        assert values(blend([old, unknown, new]), "tmax") == [25, 30, 15]

    def test_gauge_before_station(self):
        gauge = part("gauge", "gauge", place=9, rain=[4.0, np.nan])
        assert values(blend([part(tmax=20, tmin=9, rain=[1, 2]), gauge]), "rain") == [4, 2]

    def test_place_decides_between_stations(self):
        one, other = part(source="a", place=2, tmax=[20, 21]), part(source="b", place=1, tmax=[25, np.nan])
        assert values(blend([one, other]), "tmax") == [25, 21]

    def test_age_does_not_decide_between_stations(self):
        one = part(source="a", place=1, issued_at=AT, tmax=[20])
        other = part(source="b", place=2, issued_at=LATER, tmax=[25])
        assert values(blend([other, one]), "tmax") == [20]

    def test_forecast_rows_of_a_file_count_as_oldest_forecast(self):
        file = part(tmax=[20, 21], tmin=[9, 9], forecast=[False, True])
        blended = blend([file, forecast(tmax=[30, 31], tmin=[10, 10])])
        assert values(blended, "tmax") == [20, 31]
        assert blended.forecast.tolist() == [False, True]

    def test_a_day_takes_each_quantity_from_the_best_that_has_it(self):
        measured = part(tmax=[20, 20], tmin=[9, np.nan], rain=[np.nan, 3.0])
        told = forecast(tmax=[30, 30], tmin=[10, 10], rain=[7, 7])
        blended = blend([measured, told])
        assert values(blended, "tmax") == [20, 20]
        assert values(blended, "tmin") == [9, 10]
        assert values(blended, "rain") == [7, 3]
        assert blended.forecast.tolist() == [False, True]
        assert "rain of 1 day foretold by sky, unlike tmax" in blended.notes

    def test_foretold_dew_point_does_not_stand_beside_measured_humidity(self):
        """The dew point would be preferred to them, and the measurement lost."""
        measured = part(tmax=[20, 20], tmin=[9, 9], rh_max=[90, np.nan], rh_min=[40, 41])
        told = forecast(tmax=[20, 20], tmin=[9, 9], dew_point=[3, 4], rh_min=[10, 11])
        blended = blend([measured, told])
        assert values(blended, "dew_point") == [None, 4]
        assert values(blended, "rh_max") == [90, None]
        # rh_min alone says too little to keep the forecast out.
        assert values(blended, "rh_min") == [40, 11]

    def test_least_humidity_alone_is_kept_if_nobody_has_more(self):
        blended = blend([part(tmax=20, tmin=9, rh_min=40), forecast(tmax=20, tmin=9)])
        assert values(blended, "rh_min") == [40]

    def test_foretold_radiation_does_not_stand_beside_measured_sunshine(self):
        blended = blend([part(sunshine=[9, np.nan]), forecast(solar_radiation=[20, 21])])
        assert values(blended, "solar_radiation") == [None, 21]
        assert values(blended, "sunshine") == [9, None]


class TestContradictions:
    def test_foretold_tmin_above_measured_tmax(self):
        blended = blend([part(tmax=[10, 20], rain=0), forecast(tmax=30, tmin=[12, 12])])
        assert values(blended, "tmax") == [10, 20]
        assert values(blended, "tmin") == [None, 12]
        expected = "tmin contradicts a more trusted part and is left out: 2025-06-01"
        assert expected in blended.notes

    def test_foretold_tmax_below_measured_tmin(self):
        blended = blend([part(tmin=[12, 5]), forecast(tmax=[10, 10], tmin=1)])
        assert values(blended, "tmin") == [12, 5]
        assert values(blended, "tmax") == [None, 10]

    def test_foretold_dew_point_above_measured_tmax(self):
        blended = blend([part(tmax=[10, 20], tmin=5), forecast(tmax=30, tmin=9, dew_point=[15, 15])])
        assert values(blended, "dew_point") == [None, 15]

    def test_one_part_that_contradicts_itself_is_left_to_the_checks(self):
        blended = blend([part(tmax=[10], tmin=[12]), forecast(tmax=30, tmin=9)])
        assert (values(blended, "tmax"), values(blended, "tmin")) == ([10], [12])


class TestDays:
    def test_days_between_parts_are_there_and_told(self):
        blended = blend([part(tmax=[20], tmin=[9]), forecast(begin="2025-06-04", tmax=[30], tmin=[9])])
        assert blended.dates.astype(str).tolist() == [f"2025-06-0{day}" for day in (1, 2, 3, 4)]
        assert values(blended, "tmax") == [20, None, None, 30]
        assert blended.forecast.tolist() == [False, False, False, True]
        assert "no part has 2 days: 2025-06-02 to 2025-06-03" in blended.notes

    def test_day_with_foretold_rain_alone_is_foretold(self):
        blended = blend([part(tmax=[20, np.nan], tmin=[9, np.nan]), forecast(rain=[1, 2])])
        assert blended.forecast.tolist() == [False, True]

    def test_day_with_nothing_goes_by_the_day_before(self):
        blended = blend([part(tmax=20, tmin=9), forecast(begin="2025-06-02", tmax=[9, np.nan, 9], tmin=1)])
        assert blended.forecast.tolist() == [False, True, True, True]

    def test_one_part_stays_as_it_is(self):
        alone = record(tmax=[20, 21, np.nan], tmin=9, rh_min=40, wind=2, rain=[0, 1, 2], forecast=[0, 0, 1])
        blended = blend([Part(alone, "station", wind_height=3.0)])
        for name in VARIABLES:
            np.testing.assert_array_equal(blended.values[name], alone.values[name])
        assert blended.forecast.tolist() == alone.forecast.tolist()
        assert (blended.source, blended.attribution) == (alone.source, alone.attribution)
        assert blended.notes == ()

    def test_nothing(self):
        with pytest.raises(WeatherError, match="no record"):
            blend([])


class TestNotes:
    def test_sources_and_credits_of_what_was_used(self):
        one, other, unused = part(tmax=20), forecast(begin="2025-06-02", tmax=21), forecast("dull", tmax=9)
        one = replace(one, record=replace(one.record, attribution="A", notes=("sorted",)))
        other = replace(other, record=replace(other.record, attribution="B"))
        blended = blend([one, other, unused])
        assert blended.source == "station.csv, sky"
        assert blended.attribution == "A; B"
        assert {"sorted", "1 day measured by station.csv", "1 day foretold by sky"} <= set(blended.notes)

    def test_parts_that_differ_strongly(self):
        near = part(source="near", tmax=np.full(10, 20.0), tmin=9, rain=1)
        far = part(source="far", place=1, tmax=np.full(10, 24.0), tmin=9.5, rain=4)
        notes = " ".join(blend([near, far]).notes)
        assert "tmax of near and of far differ by 4.0 degC on the mean of 10 days" in notes
        assert "tmin" not in notes.split("unlike")[0].split("tmax of near")[0]
        assert "rain of near and of far differs: 10 and 40 mm on 10 days" in notes

    @pytest.mark.parametrize(("days", "tmax", "rain"), [(9, 30.0, 20.0), (10, 22.0, 1.4)])
    def test_few_days_or_small_differences_are_not_told(self, days, tmax, rain):
        near = part(source="near", tmax=np.full(days, 20.0), tmin=9, rain=1)
        far = part(source="far", place=1, tmax=np.full(days, tmax), tmin=9, rain=rain)
        assert not [note for note in blend([near, far]).notes if "differ" in note]


class TestWind:
    def test_is_brought_to_one_height(self):
        low, high = part(wind_height=2.0, wind=[2.0, np.nan]), forecast(wind_height=10.0, wind=[4.0, 4.0])
        blended = blend([low, high], wind_height=2.0)
        assert blended.values["wind"][0] == 2.0
        assert blended.values["wind"][1] == pytest.approx(4.0 * wind_at_2m(1.0, 10.0) / wind_at_2m(1.0, 2.0))
        # So the height that the plan states gives the wind at 2 m of either sensor.
        np.testing.assert_allclose(wind_at_2m(blended.values["wind"][1], 2.0), wind_at_2m(4.0, 10.0))

    def test_several_heights_without_one_to_bring_them_to(self):
        with pytest.raises(WeatherError, match="measured at 2 m and 10 m"):
            blend([part(wind_height=10.0, wind=2.0), forecast(wind_height=2.0, wind=4.0)])

    def test_unknown_height(self):
        parts = [part(wind=2.0), forecast(wind_height=10.0, wind=4.0)]
        for wanted in (None, 10.0):
            with pytest.raises(
                WeatherError, match=r"wind of station\.csv: the height of its sensor is not known"
            ):
                blend(parts, wind_height=wanted)

    def test_one_height_needs_no_other(self):
        assert values(blend([part(wind=2.0), forecast(tmax=9)]), "wind") == [2]
        same = [part(wind_height=3.0, wind=[2, np.nan]), forecast(wind_height=3.0, wind=[4.0, 4.0])]
        assert values(blend(same), "wind") == [2, 4]


CELLS = st.one_of(st.just(np.nan), st.integers(0, 20).map(float))


@st.composite
def parts(draw):
    """Parts of a few days with any gaps; equal ones among them."""
    made = []
    for _ in range(draw(st.integers(1, 5))):
        days = draw(st.integers(1, 4))
        begin = f"2025-06-0{draw(st.integers(1, 5))}"
        columns = {name: draw(st.lists(CELLS, min_size=days, max_size=days)) for name in VARIABLES}
        # Temperatures that do not cross, so that nothing has to be left out.
        columns["tmax"] = [value + 40 for value in columns["tmax"]]
        origin = draw(st.sampled_from(["station", "gauge", "forecast"]))
        issued = draw(st.sampled_from([None, AT, LATER])) if origin == "forecast" else None
        flags = draw(st.lists(st.booleans(), min_size=days, max_size=days)) if origin == "station" else None
        made.append(
            Part(
                replace(record(begin, forecast=flags, **columns), source=draw(st.sampled_from("abc"))),
                origin,
                issued,
                3.0,
                draw(st.integers(0, 1)),
            )
        )
    return made


def equal(one, other):
    np.testing.assert_array_equal(one.dates, other.dates)
    np.testing.assert_array_equal(one.forecast, other.forecast)
    for name in VARIABLES:
        np.testing.assert_array_equal(one.values[name], other.values[name], err_msg=name)


@given(parts())
def test_a_measurement_is_never_overwritten_by_a_forecast(given_parts):
    blended = blend(given_parts)
    for one in given_parts:
        measured = ~one.record.forecast & (one.origin != "forecast")
        place = np.searchsorted(blended.dates, one.record.dates)
        for quantity, names in QUANTITIES.items():
            counting = [name for name in names if name != "rh_min"]
            for i in np.flatnonzero(measured):
                if not any(np.isfinite(one.record.values[name][i]) for name in counting):
                    continue
                day = blended.dates[place[i]]
                chosen = {name: blended.values[name][place[i]] for name in names}
                assert any(
                    _same(chosen, other.record, day, names)
                    for other in given_parts
                    if other.origin != "forecast"
                ), (quantity, day)


def _same(chosen, candidate, day, names):
    """Return True if a record has measured just these values on a day."""
    rows = np.flatnonzero((candidate.dates == day) & ~candidate.forecast)
    return bool(rows.size) and all(
        np.array_equal(chosen[name], candidate.values[name][rows[0]], equal_nan=True) for name in names
    )


@given(parts(), st.randoms(use_true_random=False))
def test_order_of_parts_does_not_matter(given_parts, random):
    shuffled = list(given_parts)
    random.shuffle(shuffled)
    equal(blend(given_parts), blend(shuffled))
    assert blend(given_parts).notes == blend(shuffled).notes


@given(parts())
def test_blending_again_changes_nothing(given_parts):
    blended = blend(given_parts)
    equal(blend([Part(blended, "station", wind_height=3.0)]), blended)
    equal(blend([*given_parts, *given_parts]), blended)


@given(parts())
def test_only_a_foretold_temperature_makes_a_warm_day_foretold(given_parts):
    blended = blend(given_parts)
    measured = {
        name: {
            day
            for one in given_parts
            if one.origin != "forecast"
            for day, value, flag in zip(
                one.record.dates.tolist(), one.record.values[name], one.record.forecast, strict=True
            )
            if np.isfinite(value) and not flag
        }
        for name in ("tmax", "tmin")
    }
    for i, day in enumerate(blended.dates.tolist()):
        known = [name for name in ("tmax", "tmin") if np.isfinite(blended.values[name][i])]
        if known:
            assert blended.forecast[i] == any(day not in measured[name] for name in known)
