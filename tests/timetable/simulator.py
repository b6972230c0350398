"""A timer, minute by minute: plays a week's settings and says what breaks the rules.

It reads windows and restrictions on the calendar itself, minute for minute, and knows nothing of spans.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime, time, timedelta

NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
WEEK_MINUTES = 7 * 24 * 60


def _name(day):
    return NAMES[day.weekday()]


def in_hours(moment, begin, until):
    """Return True if a moment's time of day lies from `begin` to before `until`, or over midnight."""
    at = moment.time()
    if begin < until:
        return begin <= at < until
    return at >= begin or at < until


def restricted(moment, restrictions):
    """Return True if some restriction forbids watering at this minute of the calendar."""
    for rule in restrictions:
        if rule.exempt == "yes" or not rule.begins <= moment.date() <= rule.ends:
            continue
        if _name(moment) not in rule.days:
            return True
        if rule.begin is not None and not in_hours(moment, rule.begin, rule.until):
            return True
    return False


def window_open(moment, windows):
    """Return True if a window that opened on this day or the day before is open at the moment."""
    for window in windows:
        for day in (moment.date(), moment.date() - timedelta(days=1)):
            opens = datetime.combine(day, window.begin)
            closes = datetime.combine(day, window.until)
            if closes <= opens:
                closes += timedelta(days=1)
            if _name(day) in window.days and opens <= moment < closes:
                return True
    return False


def may_run(moment, windows, restrictions):
    """Return True if water may be on at this minute of the calendar."""
    return window_open(moment, windows) and not restricted(moment, restrictions)


def play(plan, limits):
    """Return every breach of the rules in a week's plan, in words; none if the plan is sound."""
    breaches = []
    open_zones = defaultdict(list)
    for setting in plan.settings:
        breaches += _setting_breaches(setting, limits)
        for number, runs in enumerate(setting.mask):
            if not runs:
                continue
            day = plan.first + timedelta(days=number)
            midnight = datetime.combine(day, time())
            for begin in setting.begins:
                for minute in range(begin, begin + setting.minutes):
                    moment = midnight + timedelta(minutes=minute)
                    if not may_run(moment, limits.windows, limits.restrictions):
                        breaches.append(f"{setting.zone}: on at {moment}, a run of {day}")
                    open_zones[(number * 1440 + minute) % WEEK_MINUTES].append(setting)
    for minute, settings in open_zones.items():
        names = [setting.zone for setting in settings]
        if len(set(names)) < len(names):
            breaches.append(f"minute {minute}: {names} open twice")
        if limits.timer.one_zone_at_a_time and len(names) > 1:
            breaches.append(f"minute {minute}: {names} open together")
        if len(names) > 1 and sum(setting.flow for setting in settings) > limits.usable_flow + 1e-9:
            breaches.append(f"minute {minute}: {names} take more than the tap gives")
    return sorted(set(breaches))


def _setting_breaches(setting, limits):
    timer = limits.timer
    found = []
    if any(setting.mask) != bool(setting.begins) or bool(setting.begins) != (setting.minutes > 0):
        found.append(f"{setting.zone}: days {setting.mask}, starts {setting.begins}, {setting.minutes} min")
    if len(setting.begins) > timer.starts_per_day:
        found.append(f"{setting.zone}: {len(setting.begins)} starts a day")
    if setting.begins and not timer.shortest_run <= setting.minutes <= timer.longest_run:
        found.append(f"{setting.zone}: a run of {setting.minutes} min")
    if setting.minutes % timer.step:
        found.append(f"{setting.zone}: {setting.minutes} min is no whole number of steps")
    if any(b - a < 2 * setting.minutes for a, b in zip(setting.begins, setting.begins[1:], strict=False)):
        found.append(f"{setting.zone}: no rest between starts {setting.begins}")
    if setting.begins and not settable(setting.mask, timer):
        found.append(f"{setting.zone}: the timer cannot hold days {setting.mask}")
    return found


def settable(mask, timer):
    """Return True if weekdays, or one interval from one day on, give just this mask."""
    if "weekdays" in timer.day_choices:
        return True
    days = [number for number, runs in enumerate(mask) if runs]
    for interval in range(1, timer.longest_interval + 1):
        # Counted on from the first run day; and none could have come before it within the week.
        course = list(range(days[0], 7, interval))
        if days == course and days[0] < interval:
            return True
    return False
