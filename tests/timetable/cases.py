"""Small outlooks and limits for the timetable's tests, and a plain reckoning to hold it against."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time

import numpy as np
from hypothesis import strategies as st

from scheduler.garden.plan import Restriction, WateringWindow, Zone
from scheduler.timetable.choices import ZoneBeds
from scheduler.timetable.limits import Limits
from scheduler.timetable.outlook import BedOutlook
from scheduler.water.balance import Conditions, SoilState
from tests.builders import EVERY_DAY, make_timer

#: A Monday.
FIRST = date(2025, 6, 2)
DAY = 24 * 60


def window(begin=time(3, 0), until=time(7, 0), days=EVERY_DAY):
    return WateringWindow(tuple(days), begin, until)


MORNING = (window(),)


def restriction(**changes):
    values = {
        "reason": "order",
        "begins": date(2025, 5, 1),
        "ends": date(2025, 9, 30),
        "days": EVERY_DAY,
        "begin": None,
        "until": None,
        "exempt": "no",
    }
    return Restriction(**(values | changes))


def make_limits(*, windows=MORNING, restrictions=(), usable_flow=1000.0, **timer):
    return Limits(make_timer(**timer), tuple(windows), tuple(restrictions), usable_flow)


def make_outlook(
    n_beds=1,
    n_days=7,
    *,
    et=4.0,
    rain=0.0,
    taw=40.0,
    raw=16.0,
    depletion=0.0,
    in_use=True,
    net_rate=0.2,
    storage=None,
    reserve=0.2,
):
    shape = (n_days, n_beds)
    in_use = np.broadcast_to(np.asarray(in_use, dtype=bool), shape)
    raw = np.broadcast_to(np.asarray(raw, dtype=float), shape)
    taw = np.broadcast_to(np.asarray(taw, dtype=float), shape)
    if storage is None:
        storage = taw.max(axis=0)
    depletion = np.broadcast_to(np.asarray(depletion, dtype=float), (n_beds,))
    nothing = np.zeros(n_beds)
    return BedOutlook(
        conditions=Conditions(
            basal=np.broadcast_to(np.asarray(et, dtype=float), shape),
            rain=np.broadcast_to(np.asarray(rain, dtype=float), shape),
            taw=taw,
            raw=raw,
            storage=np.broadcast_to(np.asarray(storage, dtype=float), shape),
        ),
        in_use=in_use,
        state=SoilState(depletion, nothing, nothing, nothing, taw[0]),
        limit=np.where(in_use, (1.0 - reserve) * raw, np.inf),
        net_rate=np.where(in_use, net_rate, 0.0),
    )


def with_conditions(outlook, **changes):
    """Return an outlook with some of its conditions changed."""
    return replace(outlook, conditions=outlook.conditions._replace(**changes))


def with_depletion(outlook, depletion):
    """Return an outlook that starts from another depletion."""
    return replace(outlook, state=outlook.state._replace(depletion=np.asarray(depletion, dtype=float)))


def make_zones(groups, *, flow=60.0, area=2.0, rule="driest bed"):
    """Return zones from lists of bed numbers."""
    return [
        ZoneBeds(
            Zone(f"zone {number}", number, rule),
            np.array(index, dtype=np.int64),
            np.broadcast_to(np.asarray(area, dtype=float), (len(index),)),
            np.broadcast_to(np.asarray(flow, dtype=float), (len(index),)),
        )
        for number, index in enumerate(groups, 1)
    ]


def plain_depletion(outlook, mask, minutes, bed):
    """Return one bed's depletion day by day in plain arithmetic, a run on each day of the mask."""
    depletion = float(outlook.depletion[bed])
    today = outlook.conditions
    days = []
    for day in range(outlook.n_days):
        applied = minutes * float(outlook.net_rate[day, bed]) if day < len(mask) and mask[day] else 0.0
        taw, raw = float(today.taw[day, bed]), float(today.raw[day, bed])
        wet = max(depletion - float(today.rain[day, bed]) - applied, 0.0)
        stress = min(max((taw - wet) / (taw - raw), 0.0), 1.0)
        depletion = wet + min(stress * float(today.basal[day, bed]), max(taw - wet, 0.0))
        days.append(depletion)
    return days


def plain_shortage(outlook, beds, mask, minutes):
    """Return a zone's shortage [mm2 d] by its rule, in plain arithmetic."""
    courses = [plain_depletion(outlook, mask, minutes, bed) for bed in beds.index]
    total = 0.0
    for day in range(outlook.n_days):
        over = [
            (float(area), course[day] - float(outlook.limit[day, bed]))
            for area, bed, course in zip(beds.area, beds.index, courses, strict=True)
            if outlook.in_use[day, bed]
        ]
        if beds.zone.rule == "area mean":
            over = [(1.0, sum(a * d for a, d in over) / sum(a for a, _ in over))] if over else []
        total += sum(max(excess, 0.0) ** 2 for _, excess in over)
    return total


@st.composite
def outlooks(draw, *, n_beds=1, n_days=7, rate=(0.05, 0.6)):
    """Return an outlook of beds with the single coefficient, whose roots stay where they are."""
    shape = (n_days, n_beds)

    def numbers(low, high, count):
        return np.array(draw(st.lists(st.floats(low, high), min_size=count, max_size=count)))

    taw = numbers(12.0, 60.0, n_beds)
    raw = taw * numbers(0.15, 0.75, n_beds)
    use = numbers(0.0, 1.0, n_days * n_beds).reshape(shape) * 9.0
    wet = np.array(draw(st.lists(st.booleans(), min_size=n_days, max_size=n_days)))
    rain = np.where(wet, numbers(0.0, 12.0, n_days), 0.0)[:, None]
    planted = np.array(draw(st.lists(st.integers(0, n_days // 2), min_size=n_beds, max_size=n_beds)))
    always = np.array(draw(st.lists(st.booleans(), min_size=n_beds, max_size=n_beds)))
    return make_outlook(
        n_beds,
        n_days,
        et=use,
        rain=rain,
        taw=taw,
        raw=raw,
        depletion=numbers(0.0, 1.0, n_beds) * taw,
        in_use=always | (np.arange(n_days)[:, None] >= planted),
        net_rate=numbers(*rate, n_beds),
        reserve=draw(st.sampled_from([0.0, 0.2, 0.4])),
    )
