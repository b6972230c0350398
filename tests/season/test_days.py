"""Weather met with growth: demand, limits, stated soil."""

from dataclasses import fields
from datetime import date

import numpy as np
import pytest

from scheduler.garden.plan import SoilState
from scheduler.season.days import (
    bed_days,
    catch_up_limit,
    depletion_limit,
    net_rates,
    outlook_from,
)
from scheduler.season.growth import Growth, slice_growth
from scheduler.season.soil import stated_soil
from scheduler.season.surroundings import DayWeather
from scheduler.water.balance import SoilState as Soil
from tests.builders import make_bed, make_garden


def make_growth(n_days, n_beds=1, *, kc=1.0, taw=40.0, fraction=0.4, leaching=0.0, in_use=True):
    def full(value):
        return np.full((n_days, n_beds), value)

    values = {field.name: full(0.0) for field in fields(Growth)}
    values |= {name: full(kc) for name in ("kc", "kc_area", "kc_thirstiest")}
    values |= {"in_use": full(in_use), "taw": full(taw), "storage": full(taw), "fraction": full(fraction)}
    values |= {"leaching": full(leaching), "salt": full(1.0), "wet_limit": full(np.inf)}
    return Growth(**values)


def weather(et, *, rain=0.0, before=()):
    """Return days of a site with the given reference ET [mm]."""
    et = np.array(et, dtype=float)
    steady = {name: np.full(et.shape, 2.0) for name in ("wind_2m", "rh_min", "tmax", "tmin")}
    dates = np.datetime64("2025-07-01") + np.arange(et.shape[0])
    return DayWeather(
        dates=dates, reference_et=et, rain=np.broadcast_to(rain, et.shape), before=np.array(before), **steady
    )


def days_under(growth, et, **changes):
    garden = make_garden([make_bed(str(number)) for number in range(growth.kc.shape[1])])
    return bed_days(growth, weather(et, **changes), garden=garden)


def days_of(et, *, before=(), **growth):
    return days_under(make_growth(len(et), **growth), et, before=before).conditions


def test_crop_use_is_coefficient_times_reference():
    days = days_under(make_growth(3, 2, kc=0.8), [5.0, 2.0, 0.0], rain=[0.0, 4.0, 1.0]).conditions
    assert days.basal.tolist() == [[4.0, 4.0], [1.6, 1.6], [0.0, 0.0]]
    assert days.rain.tolist() == [[0.0, 0.0], [4.0, 4.0], [1.0, 1.0]]


def test_the_readily_available_share_follows_the_use_of_the_week_before():
    # p = 0.4 + 0.04 (5 - ETc), FAO-56 footnote to Table 22; RAW = p * 40 mm.
    days = days_of([9.0] * 3, before=[5.0] * 7)
    assert days.raw[:, 0] == pytest.approx([16.0, 40 * (0.4 - 0.04 * 4 / 7), 40 * (0.4 - 0.04 * 8 / 7)])
    assert days_of([9.0] * 9, before=[5.0] * 7).raw[8, 0] == pytest.approx(40 * (0.4 - 0.16))


def test_only_the_last_seven_days_count_and_fewer_serve():
    assert days_of([2.0], before=[90.0, *[5.0] * 7]).raw[0, 0] == pytest.approx(16.0)
    assert days_of([2.0], before=[4.0, 6.0]).raw[0, 0] == pytest.approx(16.0)
    # Nothing is known before the first day of a record: it takes its own.
    assert days_of([2.0, 9.0]).raw[:, 0] == pytest.approx([40 * 0.52, 40 * 0.52])


def test_a_limit_does_not_depend_on_the_day_itself_nor_on_days_to_come():
    calm = days_of([4.0] * 6, before=[3.0] * 7).raw
    hot = days_of([4.0, 4.0, 9.0, 9.0, 9.0, 9.0], before=[3.0] * 7).raw
    assert np.array_equal(hot[:3], calm[:3])
    assert np.all(hot[3:] < calm[3:])


def test_a_limit_is_the_same_wherever_the_span_is_cut():
    et = np.random.default_rng(4).uniform(1.0, 9.0, 30)
    whole = days_of(et).raw
    for cut in (1, 5, 8, 29):
        assert days_of(et[cut:], before=et[:cut][-7:]).raw == pytest.approx(whole[cut:], rel=1e-12)


def test_net_rate_keeps_efficiency_less_leaching_and_stops_without_plants():
    growth = make_growth(2, 2, leaching=0.1)
    rates = net_rates(growth, np.array([12.0, 30.0]), np.array([0.9, 0.8]))
    assert rates == pytest.approx(np.array([[0.2 * 0.9 * 0.9, 0.5 * 0.8 * 0.9]] * 2))
    assert net_rates(make_growth(2, in_use=False), np.array([12.0]), np.array([0.9])).max() == 0.0


def test_the_planner_is_told_a_limit_with_a_reserve_and_none_for_bare_soil():
    growth = make_growth(4)
    days = days_under(growth, [5.0] * 4)
    state = Soil(*(np.array([part]) for part in (3.0, 0.0, 0.0, 0.0, 40.0)))
    told = outlook_from(growth, days, state=state, net_rate=np.full((4, 1), 0.2), reserve=0.25, evening=False)
    assert told.limit[:, 0] == pytest.approx(12.0)
    assert told.n_days == 4
    bare = make_growth(4, in_use=False)
    told = outlook_from(bare, days, state=state, net_rate=np.zeros((4, 1)), reserve=0.25, evening=False)
    assert np.all(np.isinf(told.limit))


def test_a_bed_past_its_limit_is_brought_back_over_a_week():
    limit = np.full((9, 1), 12.0)
    eased = catch_up_limit(make_growth(9), limit, depletion=np.array([19.0]))[:, 0]
    # 7 mm too dry: a seventh less is allowed with each day, none from the last day of the week on.
    assert eased.tolist() == pytest.approx([18.0, 17.0, 16.0, 15.0, 14.0, 13.0, 12.0, 12.0, 12.0])
    bare = np.full((9, 1), np.inf)
    assert np.isinf(catch_up_limit(make_growth(9, in_use=False), bare, depletion=np.array([19.0]))).all()
    # Planted on the third day: the week of catching up begins then.
    later = make_growth(9)
    later.in_use[:2] = False
    limit_later = np.vstack([bare[:2], limit[2:]])
    eased = catch_up_limit(later, limit_later, depletion=np.array([19.0]))[:, 0]
    assert np.isinf(eased[:2]).all()
    assert eased[2:].tolist() == pytest.approx([18.0, 17.0, 16.0, 15.0, 14.0, 13.0, 12.0])
    assert catch_up_limit(make_growth(9), limit, depletion=np.array([11.0])).tolist() == limit.tolist()


def test_the_limit_of_a_shallow_bed_leaves_room_for_a_day_and_a_half():
    growth = make_growth(2)
    days = days_under(growth, [12.0, 12.0])
    roomy = depletion_limit(growth, days, reserve=0.25)[:, 0]
    use = days.usual[:, 0]
    assert roomy == pytest.approx(
        np.maximum(0.75 * days.conditions.raw[:, 0], np.minimum(1.5 * use, 0.8 * 40.0))
    )
    assert roomy[1] == pytest.approx(1.5 * use[1])


def test_a_slice_holds_the_days_asked_for():
    growth = make_growth(9, 2)
    growth.taw[:] = np.arange(9)[:, None]
    part = slice_growth(growth, 2, 5)
    assert part.taw[:, 1].tolist() == [2.0, 3.0, 4.0]
    assert all(getattr(part, field.name).shape == (3, 2) for field in fields(Growth))


def test_stated_soil_by_bed_goes_before_the_line_for_all():
    on, later = date(2025, 5, 2), date(2025, 5, 4)
    garden = make_garden(
        [make_bed("a"), make_bed("b"), make_bed("c")],
        soil_states=(
            SoilState(on, 7.5, "b"),
            SoilState(on, "full", None),
            SoilState(on, "at limit", "c"),
            SoilState(later, 3.0, None),
        ),
    )
    dates = np.datetime64("2025-05-01") + np.arange(4)
    stated = stated_soil(garden, dates, np.tile([16.0, 17.0, 18.0], (4, 1))).depletion
    assert np.isnan(stated[[0, 2]]).all()
    assert stated[1].tolist() == [0.0, 7.5, 18.0]
    assert stated[3].tolist() == [3.0, 3.0, 3.0]
