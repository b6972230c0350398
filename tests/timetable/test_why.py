"""Why the days of a week were chosen, against cases worked by hand."""

from dataclasses import replace

import pytest

from scheduler.timetable.week import weekly_timetable
from scheduler.timetable.why import Missed, reasons_of_week
from tests.timetable.cases import FIRST, make_limits, make_outlook, make_zones


def reasons(outlook, groups, limits, **zone):
    zones = make_zones(groups, **zone)
    plan = weekly_timetable(FIRST, outlook, zones=zones, limits=limits)
    return plan, reasons_of_week(plan, outlook, zones=zones, limits=limits)


def test_a_run_is_needed_by_the_bed_that_passes_its_limit_without_it():
    # 2 mm a day from 0 pass 12.8 mm on the seventh day, by 1.2 mm: one run of 6 min, on Tuesday or later.
    plan, (zone,) = reasons(make_outlook(et=2.0), [[0]], make_limits())
    assert plan.settings[0].days == "Tue"
    assert zone.missed == (Missed(day=1, bed=0, past=6),)
    # No run would leave 1.2 mm past the limit on the last day: 1.44 by its square, and save 6 min at 60 L/h.
    assert zone.fewer.run_days == 0
    assert zone.fewer.shortage == pytest.approx(1.2**2, abs=1e-3)
    assert zone.fewer.litres == pytest.approx(-6.0)
    # Any later day would do as well.
    assert (zone.others.run_days, zone.others.litres, zone.others.shortage) == (1, 0.0, 0.0)


def test_two_beds_are_told_apart():
    # Bed 1 uses 6 mm a day from 0 and passes 12.8 mm on the third day; bed 0 never does.
    plan, (zone,) = reasons(make_outlook(2, 7, et=[1.0, 6.0]), [[0, 1]], make_limits())
    assert {missed.bed for missed in zone.missed} == {1}
    run_days = [day for day, runs in enumerate(plan.settings[0].mask) if runs]
    assert [missed.day for missed in zone.missed] == run_days


def test_a_zone_without_a_run_has_no_reasons():
    _, found = reasons(make_outlook(2, 7, et=[1.0, 6.0]), [[0], [1]], make_limits())
    assert [zone.zone for zone in found] == ["zone 2"]


def test_a_setting_that_stands_from_before_has_no_reasons_even_where_no_run_is_needed():
    outlook, zones, limits = make_outlook(et=0.5), make_zones([[0]]), make_limits()
    plan = weekly_timetable(FIRST, outlook, zones=zones, limits=limits)
    stands = replace(plan.settings[0], mask=(True,) * 7, days="every day", begins=(180,), minutes=5)
    kept = replace(plan, settings=(stands,), kept=("zone 1",))
    assert reasons_of_week(kept, outlook, zones=zones, limits=limits) == ()


def test_a_timer_that_knows_one_way_has_no_other_days():
    limits = make_limits(day_choices=("every n days",), longest_interval=1)
    _, (zone,) = reasons(make_outlook(et=6.0), [[0]], limits)
    assert zone.others is None
    assert zone.fewer.run_days == 0
