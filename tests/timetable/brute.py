"""Every timetable of a small week tried in turn, in plain arithmetic: what the planner must find."""

from __future__ import annotations

import math
from datetime import datetime, time, timedelta
from functools import cache
from itertools import product

from tests.timetable.cases import FIRST, plain_shortage
from tests.timetable.simulator import may_run, settable

DAY = 1440


def zone_ways(outlook, beds, limits):
    """Return every (score, mask, starts, minutes, pause) of one zone, its score in whole small units."""
    timer = limits.timer
    lengths = [m for m in range(timer.shortest_run, timer.longest_run + 1) if m % timer.step == 0]
    short = {}
    nothing = ((False,) * 7, 0, 0, 0)
    ways = [(_score(outlook, beds, nothing, short), *nothing)]
    for mask in product((False, True), repeat=7):
        if any(mask) and settable(mask, timer):
            for starts, minutes in product(range(1, timer.starts_per_day + 1), lengths):
                if open_minutes(mask, minutes, limits):
                    pauses = {minutes, max(minutes, math.ceil(beds.soak))} if starts > 1 else {minutes}
                    for pause in pauses:
                        way = (mask, starts, minutes, pause)
                        ways.append((_score(outlook, beds, way, short), *way))
    return ways


def _score(outlook, beds, way, known):
    mask, starts, minutes, pause = way
    key = (mask, starts * minutes)
    if key not in known:
        known[key] = plain_shortage(outlook, beds, mask, starts * minutes)
    flow = outlook.in_use[:7][:, beds.index] @ beds.flow
    water = sum(flow[day] for day in range(7) if mask[day]) * starts * minutes / 60.0
    runs = starts * sum(mask)
    hasty = runs * (round(max(minutes - beds.longest_pulse, 0.0) * 1000) + (starts > 1 and pause < beds.soak))
    return round(known[key] * 1000), hasty, round(water * 1000), runs


def open_minutes(mask, minutes, limits):
    """Return the minutes after midnight at which a run may start on every day of a mask."""
    days = [_open_on(day, limits) for day in range(7) if mask[day]]
    common = frozenset.intersection(*days)
    return [at for at in sorted(common) if all(at + n in common for n in range(minutes))]


@cache
def _open_on(day, limits):
    midnight = datetime.combine(FIRST + timedelta(days=day), time())
    moments = ((at, midnight + timedelta(minutes=at)) for at in range(DAY))
    return frozenset(at for at, moment in moments if may_run(moment, limits.windows, limits.restrictions))


def has_room(ways, flows, limits):
    """Return True if start times exist at which all these settings share the clock, by trying them all."""
    running = [(way, flow) for way, flow in zip(ways, flows, strict=True) if way[2]]
    return _put(running, [], limits)


def _put(left, placed, limits):
    if not left:
        return True
    ((_, mask, starts, minutes, pause), flow), rest = left[0], left[1:]
    for times in _times(open_minutes(mask, minutes, limits), starts, minutes + pause):
        one = (mask, times, minutes, flow)
        if _shares([*placed, one], limits) and _put(rest, [*placed, one], limits):
            return True
    return False


def _times(minutes_open, starts, apart, after=-1):
    if starts == 0:
        yield ()
        return
    for at in minutes_open:
        if at >= after:
            for more in _times(minutes_open, starts - 1, apart, at + apart):
                yield (at, *more)


def _shares(placed, limits):
    for day in range(7):
        on = {}
        for mask, times, minutes, flow in placed:
            if mask[day]:
                for at in times:
                    for minute in range(at, at + minutes):
                        on.setdefault(minute, []).append(flow)
        for flows in on.values():
            if len(flows) > 1 and (limits.timer.one_zone_at_a_time or sum(flows) > limits.usable_flow + 1e-9):
                return False
    return True


def best_score(outlook, zones, limits):
    """Return the best (shortage, haste, water, runs) of all timetables."""
    each = [zone_ways(outlook, beds, limits) for beds in zones]
    flows = [float((outlook.in_use[:7][:, beds.index] @ beds.flow).max()) for beds in zones]
    combinations = sorted(
        product(*each), key=lambda ways: tuple(sum(part) for part in zip(*(w[0] for w in ways), strict=True))
    )
    failed = set()
    for ways in combinations:
        key = tuple(way[1:] for way in ways)
        if key not in failed and has_room(ways, flows, limits):
            return tuple(sum(part) for part in zip(*(w[0] for w in ways), strict=True))
        failed.add(key)
    raise AssertionError("no run at all always has room")
