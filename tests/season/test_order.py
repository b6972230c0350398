"""What a watering restriction costs a bed, against arithmetic by hand; its remedies, tried otherwise.

The garden has one bed whose crop uses 5 mm on every day of a dry year: Kc is 1 and reference ET 5 mm. Its mix
holds 180 mm of available water a metre, p is 0.4 at that use, and no reserve is kept: RAW is 72 mm a metre of
soil. The line puts 10 mm an hour into the soil: 16 emitters of 2 L/h on 2.88 m2, 90 % kept.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np
import pytest

from scheduler.errors import PlanError
from scheduler.garden.plan import Mulch, Settled, SoilLayer
from scheduler.season.bed_remedies import SOIL_STEPS, deeper_soil
from scheduler.season.changed import deeper_bed
from scheduler.season.order import longest_gap, order_day, under_order
from scheduler.season.remedies import remedy_steps
from scheduler.season.run import run_week
from scheduler.season.top_up import refilled_by_hand
from tests.builders import EVERY_DAY, MIX, make_bed, make_daily
from tests.season.orders import (
    EVEN,
    STEADY,
    TUESDAY,
    case_of,
    excess_of,
    garden_of,
    steady,
    timer_of,
    tried,
    tried_otherwise,
)
from tests.timetable.cases import restriction, window

# --- what it costs


def test_a_bed_whose_store_lasts_the_long_gap_fits_exactly():
    # Tue to Sat takes 4 x 5 = 20 mm; 20 / 72 m = 27.8 cm of soil hold just that.
    case = case_of(garden_of(20.0 / 72.0))
    assert case.result.limit[0, 0] == pytest.approx(20.0)
    assert case.kept.worst[0] == pytest.approx(0.0, abs=1e-9)
    assert not case.failing.any()
    assert remedy_steps(case) == ()


def test_what_25_cm_of_soil_lack_is_2_mm_on_friday():
    # 25 cm hold RAW 18 mm: Friday ends at 20 mm, 2 mm past. Sat to Tue takes 15 mm and fits.
    case = case_of(garden_of(0.25))
    assert case.kept.excess[:, 0] == pytest.approx([0.0, 0.0, 0.0, 2.0, 0.0, 0.0, 0.0])
    assert case.kept.first_past(0) == 3
    assert case.kept.least_stress[0] == 1.0
    assert case.lifted.worst[0] == pytest.approx(0.0, abs=1e-9)
    assert case.failing.tolist() == [True]
    # Tuesday must fill all, Saturday lacks 20 mm and may leave 18 - 15 = 3 mm: 17 mm are 102 min, twice.
    assert case.kept.plan.settings[0].minutes_per_day == 102
    assert case.kept.litres[0] == pytest.approx(2 * 102 / 60 * 32.0)


def test_what_20_cm_of_soil_lack_and_how_their_crop_is_stressed():
    # RAW 14.4, TAW 36 mm. Thursday ends at 15 mm, 0.6 past; on Friday Ks = (36 - 15) / (36 - 14.4) = 0.97222,
    # so that 4.861 mm are used: 19.861, 5.461 past. Saturday's fill lasts to Monday's 15 mm, 0.6 past.
    case = case_of(garden_of(0.20))
    assert case.kept.excess[:, 0] == pytest.approx([0, 0, 0.6, 5.0 * 21.0 / 21.6 + 0.6, 0, 0, 0.6])
    assert case.kept.least_stress[0] == pytest.approx(21.0 / 21.6)
    assert case.kept.first_past(0) == 2


def test_both_weeks_start_from_the_soil_of_their_own_replay():
    garden = garden_of(0.25)
    case = case_of(garden)
    kept = run_week(garden, STEADY, on=TUESDAY)
    free = run_week(replace(garden, restrictions=()), STEADY, on=TUESDAY)
    assert case.kept.outlook.depletion == pytest.approx(kept.outlook.depletion)
    assert case.lifted.outlook.depletion == pytest.approx(free.outlook.depletion)
    assert case.lifted.plan.settings == free.plan.settings
    past = np.maximum(case.kept.plan.depletion - case.result.limit, 0.0)
    assert case.kept.excess == pytest.approx(past, abs=1e-9)


@pytest.mark.parametrize("exempt", ["yes", "no", "unknown"])
def test_what_was_entered_does_not_change_what_it_would_cost(exempt):
    case = case_of(garden_of(0.25, order={"exempt": exempt}))
    assert case.kept.worst[0] == pytest.approx(2.0)
    assert case.lifted.worst[0] == pytest.approx(0.0, abs=1e-9)
    assert case.day.orders[0].exempt == exempt
    assert case.orders[0].exempt == "no"


def test_only_the_restrictions_of_the_day_are_changed():
    other = restriction(reason="later", begins=date(2025, 8, 1), exempt="unknown")
    garden = garden_of(0.25, restrictions=(restriction(days=("Tue", "Sat")), other))
    day = order_day(garden, STEADY, on=TUESDAY)
    assert [order.reason for order in day.orders] == ["order"]
    for counted, entry in ((True, "no"), (False, "yes")):
        changed = under_order(garden, day.orders, counted=counted)
        assert [order.exempt for order in changed.restrictions] == [entry, "unknown"]


def test_a_bed_that_shares_an_outlet_by_mean_fails_only_by_what_the_order_adds():
    thin, deep = (
        make_bed(name, soil_depth=d, plantings=(EVEN,)) for name, d in (("thin", 0.15), ("deep", 0.5))
    )
    garden = garden_of(0.25, beds=(thin, deep))
    garden = replace(garden, zones=tuple(replace(zone, rule="area mean") for zone in garden.zones))
    daily = case_of(replace(garden, restrictions=(restriction(days=EVERY_DAY),)))
    # Every day is allowed: the order adds nothing, whatever the mean does to the thin bed.
    assert daily.kept.worst == pytest.approx(daily.lifted.worst)
    assert not daily.failing.any()
    assert case_of(garden).failing[0]


# --- the days asked about


@pytest.mark.parametrize(
    ("days", "gap"),
    [(("Tue", "Sat"), 4), (("Mon", "Wed", "Fri", "Sat"), 2), (EVERY_DAY, 1), (("Sun",), 7), ((), None)],
)
def test_the_longest_wait_between_allowed_days(days, gap):
    case = case_of(garden_of(0.5, days=days))
    assert longest_gap(case.setup.limits, TUESDAY) == gap


def test_the_hardest_week_lies_within_the_order_and_is_the_greatest():
    daily = make_daily(date(2023, 1, 1), 1096)
    garden = garden_of(0.25, order={"begins": date(2025, 6, 20), "ends": date(2025, 9, 30)})
    day = order_day(garden, daily, on=None)
    assert day.hardest
    sums = {}
    for n in range((date(2025, 9, 24) - date(2025, 6, 20)).days + 1):
        first = date(2025, 6, 20) + timedelta(days=n)
        index = first.timetuple().tm_yday - 1
        sums[first] = case_normals(daily)[index : index + 7].sum()
    assert day.reference_et == pytest.approx(max(sums.values()))
    assert sums[day.on] == pytest.approx(day.reference_et)


def case_normals(daily):
    """Mean reference ET of the days within 7 of each day of the year, for days in mid-year."""
    day = (daily.dates - daily.dates.astype("datetime64[Y]")).astype(int)
    return np.array([daily.reference_et[np.abs(day - n) <= 7].mean() for n in range(366)])


def test_an_order_of_four_days_is_asked_about_from_its_first():
    garden = garden_of(0.25, order={"begins": date(2025, 7, 3), "ends": date(2025, 7, 6)})
    assert order_day(garden, STEADY, on=None).on == date(2025, 7, 3)


def test_the_hardest_week_does_not_lie_past_the_record():
    until = STEADY.dates <= np.datetime64(date(2025, 7, 9))
    fields = ("dates", "reference_et", "rain", "wind_2m", "rh_min", "tmax", "tmin", "forecast")
    short = replace(STEADY, **{name: getattr(STEADY, name)[until] for name in fields})
    warm = np.where(short.dates >= np.datetime64(date(2025, 7, 1)), 6.0, 5.0)
    garden = garden_of(0.25)
    assert order_day(garden, replace(short, reference_et=warm), on=None).on <= date(2025, 7, 10)


def test_questions_without_an_answer_are_refused():
    with pytest.raises(PlanError, match="the plan has none"):
        order_day(garden_of(0.25, restrictions=()), STEADY, on=None)
    with pytest.raises(
        PlanError, match="none is in force on 2025-10-01; ask for a day of 2025-05-01 to 2025-09-30"
    ):
        order_day(garden_of(0.25), STEADY, on=date(2025, 10, 1))
    late = garden_of(0.25, order={"begins": date(2027, 7, 1), "ends": date(2027, 8, 1)})
    with pytest.raises(PlanError, match="the record allows days up to 2026-01-01"):
        order_day(late, STEADY, on=None)


# --- remedies


@pytest.mark.parametrize(
    ("depth", "least"),
    [
        # 20 mm take 27.8 cm of soil.
        (0.25, 0.05),
        (0.20, 0.10),
        (0.15, 0.15),
        (0.12, 0.20),
        (0.10, 0.20),
    ],
)
def test_the_least_depth_of_soil_is_that_which_holds_four_days(depth, least):
    trial = deeper_soil(case_of(garden_of(depth)), 0)
    assert (trial.verdict, trial.amount) == ("cures", least)
    assert depth + least >= 20.0 / 72.0 > depth + least - 0.05


@pytest.mark.parametrize("depth", [0.13, 0.17, 0.20])
@pytest.mark.parametrize("days", [("Tue", "Sat"), ("Tue",), ("Mon", "Wed", "Sat")])
def test_the_least_depth_is_the_first_of_all_steps_that_cures(depth, days):
    garden = garden_of(depth, days=days)
    case = case_of(garden)
    assert case.beds
    steps = {
        more: excess_of(replace(garden, beds=(replace(garden.beds[0], soil_depth=depth + more),)))[0]
        for more in SOIL_STEPS
    }
    cures = [more for more in SOIL_STEPS if steps[more] <= case.goal[0]]
    trial = deeper_soil(case, 0)
    if cures:
        assert (trial.verdict, trial.amount) == ("cures", cures[0])
    else:
        assert (trial.verdict == "cures", trial.amount) == (False, SOIL_STEPS[-1])
    assert trial.left == pytest.approx(steps[trial.amount])


def test_deeper_soil_is_no_remedy_where_roots_end():
    shallow = replace(EVEN, root_depth=0.20)
    trial = deeper_soil(case_of(garden_of(0.25, bed={"plantings": (shallow,)})), 0)
    assert (trial.verdict, trial.reason) == ("cannot be done", "roots go no deeper")


def test_deeper_soil_thickens_the_lowest_mix_and_what_was_measured_later():
    wood = SoilLayer(None, 0.3, 0.0, "wood")
    mixes = (SoilLayer(MIX, 0.1, 0.18, "mix"), SoilLayer(MIX, 0.2, 0.18, "mix"))
    bed = make_bed(layers=(*mixes, wood), settled=(Settled(date(2025, 6, 1), 0.27),))
    deeper = deeper_bed(bed, 0.1)
    assert [layer.depth for layer in deeper.layers] == pytest.approx([0.1, 0.3, 0.3])
    assert deeper.soil_depth == pytest.approx(0.4)
    assert deeper.settled[0].soil_depth == pytest.approx(0.37)


def test_every_remedy_of_a_bed_2_mm_short():
    trials = tried(case_of(garden_of(0.25)))
    # A run on any day between Tuesday and Saturday halves the gap; Sunday and Monday do not lie in it.
    assert (trials["another day"].verdict, trials["another day"].days) == ("cures", ("Wed", "Thu", "Fri"))
    # On Friday morning 15 mm are missing: 15 x 2.88 = 43.2 L.
    by_hand = trials["by hand"]
    assert (by_hand.verdict, by_hand.days, by_hand.volumes) == ("cures", ("2025-07-18",), (44.0,))
    # From Tuesday evening on it is 15 mm to Friday night.
    assert (trials["split runs"].verdict, trials["split runs"].reason) == ("cures", "evening window")
    assert trials["deeper soil"].amount == 0.05
    # 102 of 120 minutes serve in one run, and nothing that runs longer holds more.
    assert trials["longer runs"].verdict == trials["more hours"].verdict == "does nothing"
    assert "weekday timer" not in trials


def test_a_remedy_that_leaves_a_third_of_a_millimetre_is_no_cure():
    # RAW 14.7 mm. Whatever day is added, Saturday's fill ends on Monday at 15 mm, 0.3 past, or another does.
    another = tried(case_of(garden_of(14.7 / 72.0)))["another day"]
    assert another.verdict == "helps"
    assert another.left == pytest.approx(0.3)


def test_two_refills_by_hand_are_as_late_as_they_can_be():
    # Thursday and Monday end past 14.4 mm; on their mornings 10 mm are missing: 28.8 L each.
    by_hand = tried(case_of(garden_of(0.20)))["by hand"]
    assert (by_hand.days, by_hand.volumes) == (("2025-07-17", "2025-07-21"), (29.0, 29.0))
    assert by_hand.verdict == "cures"


def test_runs_too_short_to_fill_the_bed_are_found_and_the_least_that_cures():
    # 20 mm in 120 min: a timer with one start of at most 60 min fills 10 of them; 17 mm and more are needed.
    garden = garden_of(20.0 / 72.0)
    timer = replace(garden.timer, longest_run=60, starts_per_day=1)
    trials = tried(case_of(replace(garden, timer=timer)))
    assert (trials["longer runs"].verdict, trials["longer runs"].amount) == ("cures", 60.0)
    assert trials["split runs"].verdict == "cannot be done"
    assert trials["split runs"].reason == "the timer holds one start a day"


def test_hours_too_short_to_fill_the_bed_are_found():
    garden = garden_of(20.0 / 72.0, order={"begin": time(4), "until": time(5)})
    trials = tried(case_of(garden))
    assert trials["more hours"].verdict == "cures"
    assert trials["more hours"].reason == "the order's and your own"
    assert trials["longer runs"].verdict == "does nothing"


def test_a_timer_of_intervals_is_found():
    # Mon Wed Fri leave 3 days at most, 15 mm; the timer can hold no more of them than Mon and Fri, 4 days.
    garden = garden_of(0.25, days=("Mon", "Wed", "Fri"))
    timer = replace(garden.timer, day_choices=("every n days",))
    trials = tried(case_of(replace(garden, timer=timer), on=date(2025, 7, 14)))
    assert trials["weekday timer"].verdict == "cures"


def test_mulch_helps_a_bed_without_it_and_is_not_laid_twice():
    dual = replace(garden_of(0.25).planning, coefficient="dual")
    wet = replace(EVEN, kcb_ini=0.5, kcb_mid=0.9, kcb_end=0.9)
    garden = garden_of(0.25, bed={"plantings": (wet,), "wetted_share": 0.6}, planning=dual)
    trial = tried(case_of(garden, steady(5.6)))["mulch"]
    assert trial.verdict in ("cures", "helps")
    assert trial.gain > 0.3
    straw = replace(garden.beds[0], mulch=Mulch("organic", 0.5))
    again = case_of(replace(garden, beds=(straw,)), steady(5.6))
    assert tried(again)["mulch"].reason == "mulch lies on it"


def test_a_pair_is_tried_where_neither_cures_alone():
    # 12 cm of soil hold 8.6 mm; a week between runs takes 35. Neither 30 cm more (30.2) nor a later half
    # (30 mm from Tuesday evening to Monday night) does it alone; together 30 mm meet 30.2.
    garden = garden_of(0.12, days=("Tue",), windows=(window(time(0), time(0)),))
    trials = tried(case_of(garden))
    assert trials["deeper soil"].verdict == trials["split runs"].verdict == "helps"
    pair = trials["deeper soil and split runs"]
    assert (pair.verdict, pair.amount) == ("cures", 0.30)


def test_a_ban_leaves_water_by_hand():
    trials = tried(case_of(garden_of(0.25, days=())))
    assert trials["by hand"].verdict == "cures"
    assert trials["split runs"].verdict == "cannot be done"
    assert set(trials["another day"].days) <= set(EVERY_DAY)


# --- what is told as a cure cures, tried again in another way


#: Gardens, and the remedies that are told to cure their beds.
GARDENS = [
    (garden_of(0.25), {"deeper soil", "split runs", "another day", "by hand"}),
    (
        garden_of(0.20, days=("Mon", "Wed", "Sat")),
        {"deeper soil", "split runs", "another day", "by hand"},
    ),
    (
        garden_of(0.22, days=("Tue", "Fri"), order={"begin": time(4), "until": time(5, 30)}),
        {"another day", "by hand"},
    ),
    (
        garden_of(20.0 / 72.0, order={"begin": time(4), "until": time(5)}),
        {"more hours", "by hand"},
    ),
    (
        timer_of(garden_of(20.0 / 72.0), longest_run=60, starts_per_day=1),
        {"longer runs", "by hand"},
    ),
    (
        timer_of(garden_of(0.25, days=("Mon", "Wed", "Fri")), day_choices=("every n days",)),
        {"weekday timer", "deeper soil", "another day", "by hand"},
    ),
]


@pytest.mark.parametrize(("garden", "expected"), GARDENS)
def test_cures_cure(garden, expected):
    case = case_of(garden)
    cures = {name: trial for name, trial in tried(case).items() if trial.verdict == "cures"}
    assert set(cures) == expected
    assert tried_otherwise(case, garden, cures.values()) <= case.goal[0]


def test_water_by_hand_leaves_the_timer_as_it_is():
    case = case_of(garden_of(0.25))
    fare = refilled_by_hand(case, 0, {3: 44})
    assert fare.plan is case.kept.plan
    assert fare.litres == pytest.approx(case.kept.litres)
    assert fare.worst[0] == 0.0
