"""Small outlets with needs by week, and a plain reckoning of what settings do to them. Invented figures."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
from hypothesis import strategies as st

from scheduler.timetable.lasting import lasting_patterns
from scheduler.timetable.outlet_need import ANY_GAP, OutletNeed
from scheduler.timetable.runtime import run_lengths
from scheduler.timetable.stretch import patterns_of


def outlet(need, *, days=7.0, flow=1.0, gap=ANY_GAP, asked=None, longest_pulse=math.inf, soak=0.0):
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
        longest_pulse=longest_pulse,
        soak=soak,
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
    longest_pulse = draw(st.sampled_from([math.inf, math.inf, 2.0, 4.5, 8.0]))
    soak = 0.0 if longest_pulse == math.inf else 2.0 * longest_pulse
    return OutletNeed(need, days, flow, asked, each, gap, longest_pulse, soak)


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


def plain_dry(need, gap, begin, end):
    """Return the squares of the parts of a gap that beds do not last in plain arithmetic."""
    total = 0.0
    for week in range(begin, end):
        if any(need.asked[week] > 0.0):
            total += max(1.0 - max(int(need.gap[week]), 1) / gap, 0.0) ** 2
    return total


def plain_hasty(need, runs_a_day, minutes, begin, end):
    """Return the water of runs beyond what soil takes at once, begun minutes in full [L]."""
    beyond = math.ceil(minutes - need.longest_pulse) if minutes > need.longest_pulse else 0
    weeks, beds = range(begin, end), range(need.flow.shape[0])
    return sum(runs_a_day * beyond * float(need.days[w, b] * need.flow[b]) for w in weeks for b in beds)


def every_setting(need, begin, end, *, timer, longest):
    """Yield (minutes a day, rate, starts, minutes, gap) of all that an outlet may be set to, off too."""
    known = patterns_of(lasting_patterns(timer))
    room = (longest > 0).any(axis=1)
    yield 0.0, 0.0, 0, 0, ANY_GAP
    if not room.any():
        return
    gap = max(int(need.gap[begin:end].min()), int(known.gap[room].min()))
    for number in np.flatnonzero(known.gap <= gap):
        for start, most in enumerate(longest[number].tolist(), 1):
            for minutes in run_lengths(timer):
                if minutes <= most:
                    rate = known.rate[number]
                    yield rate * start * minutes, rate, start, minutes, int(known.gap[number])


def best_key(need, begin, end, *, timer, longest, share):
    """Return (short or dry, hasty, over) of the best of all settings."""
    tried = [
        (
            plain_short(need, a_day, begin, end, share) + plain_dry(need, gap, begin, end),
            plain_hasty(need, rate * starts, minutes, begin, end),
            plain_over(need, a_day, begin, end),
        )
        for a_day, rate, starts, minutes, gap in every_setting(need, begin, end, timer=timer, longest=longest)
    ]
    return min(tried, key=lambda key: (round(key[0], 12), round(key[1], 6), round(key[2], 6)))


def mean_need(need):
    """Return the mean need of all years [L]."""
    return math.fsum((need.need.mean(axis=0) @ need.flow).tolist())
