"""Small outlets with needs by week, and a plain reckoning of what settings do to them. Invented figures."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
from hypothesis import strategies as st

from scheduler.timetable.lasting import lasting_patterns
from scheduler.timetable.runtime import run_lengths
from scheduler.timetable.stretch import OutletNeed, patterns_of

ANY_GAP = 366


def outlet(need, *, days=7.0, flow=1.0, gap=ANY_GAP, asked=None):
    """Return an outlet of one bed from its need in each week [min], the same in every year."""
    need = np.asarray(need, dtype=float)
    days = np.broadcast_to(np.asarray(days, dtype=float), need.shape)[:, None]
    asked = need if asked is None else np.asarray(asked, dtype=float)
    return OutletNeed(
        need=need[None, :, None],
        days=days,
        flow=np.array([flow]),
        asked=asked[:, None] * flow,
        each=days * flow,
        gap=np.broadcast_to(np.asarray(gap, dtype=np.int64), need.shape),
    )


@st.composite
def outlets(draw, *, n_weeks, most_minutes=60.0):
    """Return an outlet of one or two beds over some years, by its driest bed or by their mean."""
    n_beds, n_years = draw(st.integers(1, 2)), draw(st.integers(1, 3))

    def numbers(low, high, *shape):
        count = int(np.prod(shape))
        drawn = draw(st.lists(st.integers(low, high), min_size=count, max_size=count))
        return np.array(drawn, dtype=float).reshape(shape)

    days = np.where(numbers(0, 9, n_weeks, n_beds) > 7, 0.0, 7.0)
    days = np.where(numbers(0, 9, n_weeks, n_beds) > 7, 3.0, days)
    need = numbers(0, int(most_minutes), n_years, n_weeks, n_beds) * (days > 0.0)
    flow = numbers(1, 3, n_beds)
    asked, each = need.max(axis=0) * flow, days * flow
    if draw(st.booleans()):
        asked, each = asked.sum(axis=1, keepdims=True), each.sum(axis=1, keepdims=True)
    gap = numbers(1, 8, n_weeks).astype(np.int64)
    return OutletNeed(need, days, flow, asked, each, gap)


def plain_over(need, a_day, begin, end):
    """Return the water beyond need in plain arithmetic [L]."""
    total = 0.0
    n_years = need.need.shape[0]
    for year, week, bed in product(range(n_years), range(begin, end), range(need.flow.shape[0])):
        beyond = a_day * need.days[week, bed] - need.need[year, week, bed]
        total += max(beyond, 0.0) * need.flow[bed] / n_years
    return float(total)


def plain_short(need, a_day, begin, end, share):
    """Return the squares of the parts lacking beyond a share in plain arithmetic."""
    total = 0.0
    for week, group in product(range(begin, end), range(need.asked.shape[1])):
        asked = need.asked[week, group]
        lacking = 1.0 - share - a_day * need.each[week, group] / asked if asked > 0.0 else 0.0
        total += lacking**2 if lacking > 1e-9 * (1.0 - share) else 0.0
    return float(total)


def every_setting(need, begin, end, *, timer, longest):
    """Yield (minutes a day, runs a day, starts, minutes) of all that an outlet may be set to, off too."""
    known = patterns_of(lasting_patterns(timer))
    room = (longest > 0).any(axis=1)
    yield 0.0, 0.0, 0, 0
    if not room.any():
        return
    gap = max(int(need.gap[begin:end].min()), int(known.gap[room].min()))
    for number in np.flatnonzero(known.gap <= gap):
        for start, most in enumerate(longest[number].tolist(), 1):
            for minutes in run_lengths(timer):
                if minutes <= most:
                    yield known.rate[number] * start * minutes, known.rate[number], start, minutes


def best_key(need, begin, end, *, timer, longest, share):
    """Return (short, over) of the best of all settings."""
    tried = [
        (
            round(plain_short(need, a_day, begin, end, share), 12),
            round(plain_over(need, a_day, begin, end), 6),
        )
        for a_day, *_ in every_setting(need, begin, end, timer=timer, longest=longest)
    ]
    return min(tried)


def mean_need(need):
    """Return the mean need of all years [L]."""
    return math.fsum((need.need.mean(axis=0) @ need.flow).tolist())
