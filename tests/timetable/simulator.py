"""A timer on a wall, minute by minute of real time: plays a week's settings and says what breaks the rules.

It walks through the minutes of UTC. Its clock shows local time, as its owner keeps it; a start fires when the
clock shows the time set on a run day, as the days are told to a person; water is on for the minutes set. It
reads windows and restrictions on the calendar itself, and knows nothing of the planner's spans or rings.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from tests.timetable.wall_clock import wall_minutes

NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MINUTE = timedelta(minutes=1)
EVERY_N_DAYS = re.compile(r"every (\d+) days from (\w{3}) (\d+) (\w{3})")
#: Real minutes of rest that are enough where the clocks skip an hour between two starts.
REST_OVER_A_SKIP = 60


def _name(day):
    return NAMES[day.weekday()]


# --- hours, on the calendar


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


# --- days, as a person sets them


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


def _date_near(first, weekday, day, month):
    """Return the date within half a year that a text such as "Tue 30 Dec" means; it tells no year."""
    for number in range(-180, 181):
        on = first + timedelta(days=number)
        if (_name(on), on.day, on.strftime("%b")) == (weekday, int(day), month):
            return on
    return None


def run_days(text, first, timer):
    """Return the run days of eight days from `first`, by what a person sets; None if no timer takes that."""
    days = [first + timedelta(days=number) for number in range(8)]
    if text == "no run this week":
        return []
    if text == "every day":
        return days
    if (interval := EVERY_N_DAYS.fullmatch(text)) is not None:
        step, anchor = int(interval[1]), _date_near(first, *interval.groups()[1:])
        if "every n days" not in timer.day_choices or step > timer.longest_interval or anchor is None:
            return None
        # A timer that counts days counts on, over the end of a month or a year; it begins at the anchor.
        return [day for day in days if day >= anchor and (day - anchor).days % step == 0]
    names = text.split()
    if "weekdays" not in timer.day_choices or not names or not set(names) <= set(NAMES):
        return None
    return [day for day in days if _name(day) in names]


# --- the walk


@dataclass(eq=False)
class Run:
    """A run as it came: its setting, real minute and wall time of its start, and how long it lasts."""

    setting: object
    begin: int
    wall: datetime

    @property
    def end(self):
        return self.begin + self.setting.minutes


def play(plan, limits, timezone="UTC"):
    """Return every breach of the rules in a week's plan, in words; none if the plan is sound."""
    walls = wall_minutes(plan.first, timezone)
    breaches = [text for setting in plan.settings for text in _setting_breaches(setting, plan.first, limits)]
    due = _due(plan, limits)
    runs = _runs(walls, due, until=plan.first + timedelta(days=7))
    came = Counter((id(run.setting), run.wall) for run in runs)
    for moment, settings in due.items():
        for setting in settings if moment.date() < plan.first + timedelta(days=7) else ():
            if (times := came[id(setting), moment]) != 1:
                how = "never comes" if times == 0 else f"comes {times} times"
                breaches.append(f"{setting.zone}: its start at {moment} {how}")
    return sorted(
        {*breaches, *_hour_breaches(runs, walls, limits), *_together(runs, walls, limits), *_rests(runs)}
    )


def _due(plan, limits):
    """Return the settings that are to start, by what the wall clock must show."""
    due = defaultdict(list)
    for setting in plan.settings:
        for day in run_days(setting.days, plan.first, limits.timer) or ():
            for begin in setting.begins:
                due[datetime.combine(day, time()) + begin * MINUTE].append(setting)
    return due


def _runs(walls, due, *, until):
    """Return the runs as they come: all of the week, and those of the next day that meet one still on."""
    runs, last = [], 0
    for real, wall in enumerate(walls):
        if wall.date() >= until and real >= last:
            break
        for setting in due.get(wall, ()):
            runs.append(Run(setting, real, wall))
            if wall.date() < until:
                last = max(last, runs[-1].end)
    return runs


def _hour_breaches(runs, walls, limits):
    """Yield minutes out of hours, and runs that end when the wall clock shows something else than planned."""
    for run in runs:
        on = walls[run.begin : run.end]
        for wall in on:
            if not may_run(wall, limits.windows, limits.restrictions):
                yield f"{run.setting.zone}: on at {wall}"
        if on and on[-1] - on[0] != (len(on) - 1) * MINUTE:
            yield f"{run.setting.zone}: the clocks change during its run of {run.wall}"


def _together(runs, walls, limits):
    """Yield minutes in which the timer or the tap is asked for too much."""
    on = defaultdict(list)
    for run in runs:
        for real in range(run.begin, run.end):
            on[real].append(run.setting)
    for real, settings in on.items():
        if len(settings) < 2:
            continue
        names = [setting.zone for setting in settings]
        if len(set(names)) < len(names):
            yield f"{walls[real]}: {names} open twice"
        if limits.timer.one_zone_at_a_time and len(set(names)) > 1:
            yield f"{walls[real]}: {names} open together"
        if sum(setting.flow for setting in settings) > limits.usable_flow + 1e-9:
            yield f"{walls[real]}: {names} take more than the tap gives"


def _rests(runs):
    """Yield starts of one day without a rest as long as a run before them, in real minutes."""
    last = {}
    for run in runs:
        key = (id(run.setting), run.wall.date())
        before = last.get(key)
        if before is not None:
            minutes = run.setting.minutes
            skips = (run.wall - before.wall) // MINUTE != run.begin - before.begin
            if run.begin - before.end < (min(minutes, REST_OVER_A_SKIP) if skips else minutes):
                yield f"{run.setting.zone}: no rest before {run.wall}"
        last[key] = run


def _setting_breaches(setting, first, limits):
    timer = limits.timer
    if any(setting.mask) != bool(setting.begins) or bool(setting.begins) != (setting.minutes > 0):
        yield f"{setting.zone}: days {setting.mask}, starts {setting.begins}, {setting.minutes} min"
    days = run_days(setting.days, first, timer)
    if days is None or (setting.begins and not settable(setting.mask, timer)):
        yield f"{setting.zone}: the timer cannot hold days {setting.mask}, told as {setting.days!r}"
    elif [first + timedelta(days=n) for n, runs in enumerate(setting.mask) if runs] != [
        day for day in days if day < first + timedelta(days=7)
    ]:
        yield f"{setting.zone}: {setting.days!r} gives other days than {setting.mask}"
    if len(setting.begins) > timer.starts_per_day:
        yield f"{setting.zone}: {len(setting.begins)} starts a day"
    if any(not 0 <= begin < 24 * 60 for begin in setting.begins):
        yield f"{setting.zone}: no clock shows the starts {setting.begins}"
    if list(setting.begins) != sorted(set(setting.begins)):
        yield f"{setting.zone}: starts {setting.begins} are out of order"
    if setting.begins and not timer.shortest_run <= setting.minutes <= timer.longest_run:
        yield f"{setting.zone}: a run of {setting.minutes} min"
    if setting.minutes % timer.step:
        yield f"{setting.zone}: {setting.minutes} min is no whole number of steps"
