"""Small crowded weeks drawn from a seed: pulses, both rules, several beds a zone, several spans a day."""

from dataclasses import replace
from datetime import time

import numpy as np

from scheduler.timetable.limits import days_ahead
from tests.timetable.cases import FIRST, make_limits, make_outlook, make_zones, restriction, window

CHOICES = [("weekdays",), ("every n days",), ("weekdays", "every n days")]
RUN_DAYS = [("Mon", "Sat"), ("Tue", "Fri"), ("Wed",), ("Mon", "Tue", "Thu")]


def drawn_week(seed, n_zones):
    """Return outlook, zones and limits of a week."""
    draw = np.random.default_rng([seed, n_zones, 77])
    limits = _limits(draw, n_zones)
    sizes = draw.integers(1, 3, n_zones) if draw.random() < 0.4 else np.ones(n_zones, dtype=int)
    beds = np.arange(int(sizes.sum()))
    groups = np.split(beds, np.cumsum(sizes)[:-1])
    zones = make_zones(
        groups,
        flow=float(draw.choice([20.0, 33.4, 40.0, 60.0, 120.0])),
        area=2.0,
        rule="area mean" if draw.random() < 0.3 else "driest bed",
    )
    return (
        _outlook(draw, beds.size, days_ahead(FIRST, limits)),
        [_drawn(draw, z, limits) for z in zones],
        limits,
    )


def _drawn(draw, beds, limits):
    """Return a zone with other flow and areas, and with soil that takes short runs only, now and then."""
    beds = replace(
        beds,
        flow=beds.flow * float(draw.choice([0.5, 1.0, 1.7])),
        area=beds.area * draw.uniform(0.5, 2.0, beds.index.size),
    )
    if draw.random() < 0.35:
        step = limits.timer.step
        pulse = float(draw.integers(step - 1, 3 * step)) + 0.5
        beds = replace(beds, longest_pulse=pulse, soak=float(draw.uniform(1.0, 5.0 * step)))
    return beds


def _limits(draw, n_zones):
    step = int(draw.choice([2, 3, 4]))
    days = RUN_DAYS[int(draw.integers(4 if n_zones < 3 else 3))]
    begin = int(draw.integers(0, 9))
    length = int(draw.integers(step, 2 * step * n_zones + 2)) if draw.random() < 0.8 else 45
    windows = [window(time(5, begin), time(5, begin + length), days=days)]
    if draw.random() < 0.4:
        windows.append(window(time(7, 1), time(7, 1 + int(draw.integers(step, 3 * step))), days=days))
    if draw.random() < 0.2:
        windows.append(window(time(19, 0), time(19, int(draw.integers(step, 3 * step))), days=days[:1]))
    return make_limits(
        windows=windows,
        restrictions=(restriction(days=("Mon", "Tue", "Wed", "Sat")),) if draw.random() < 0.2 else (),
        starts_per_day=int(draw.integers(1, 4 if n_zones < 3 else 3)),
        step=step,
        shortest_run=step,
        longest_run=int(draw.integers(1, 4)) * step,
        day_choices=CHOICES[int(draw.integers(3))],
        longest_interval=4,
        one_zone_at_a_time=bool(draw.random() < 0.5),
        usable_flow=100.0,
    )


def _outlook(draw, n_beds, n_days):
    taw = draw.uniform(15.0, 50.0, n_beds)
    in_use = np.ones((n_days, n_beds), dtype=bool)
    if draw.random() < 0.25:
        in_use[: int(draw.integers(1, 5)), 0] = False
    return make_outlook(
        n_beds,
        n_days,
        et=draw.uniform(1.0, 6.0, (n_days, n_beds)),
        rain=np.where(draw.random((n_days, 1)) < 0.2, 5.0, 0.0),
        taw=taw,
        raw=taw * draw.uniform(0.3, 0.6, n_beds),
        depletion=taw * draw.uniform(0.0, 0.7, n_beds),
        net_rate=draw.uniform(*((0.02, 0.3) if draw.random() < 0.5 else (0.4, 2.0)), n_beds),
        in_use=in_use,
    )
