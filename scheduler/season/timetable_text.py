"""Timetables as a person says them: words into settings and rules, and back. Pure.

Everything that is wrong in a text is told at once, and a text with a fault gives no timetable.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from typing import NamedTuple

from scheduler.errors import Fault, UnitError
from scheduler.garden.plan import Weekday
from scheduler.garden.units import parse_quantity
from scheduler.season.depth_rule import USUAL_RUNS, DepthRule
from scheduler.timetable.fixed import FixedSetting
from scheduler.timetable.windows import WEEKDAYS

__all__ = [
    "FixedTimetable",
    "days_text",
    "fixed_text",
    "read_depth",
    "read_fixed",
    "read_setting",
    "zone_named",
]

MINUTES_PER_DAY = 24 * 60

#: Runs further apart than a year are a slip of the pen.
LONGEST_INTERVAL = 366

_WANTED = 'write run days and a length, e.g. "every day 20 min", "every 3 days 40 min", "Mon Thu 2 x 15 min"'
_WANTED_DEPTH = 'write e.g. "1 in a week", "25 mm a week in 3 runs" or "1 in a week in 2 runs less rain"'

_EVERY = re.compile(r"(?:daily|every\s+day|every\s+(\S+)\s+days?)(?:[\s,]+|$)", re.IGNORECASE)
_SPOKEN = {"other": "2", "second": "2", "third": "3", "fourth": "4"}
_ORDINAL = re.compile(r"(\d+)(?:st|nd|rd|th)", re.IGNORECASE)
_INCHES = re.compile(r"(.*[\d½¼¾])\s*(?:in|inch|inches)\.?", re.IGNORECASE)
_DAY_WORD = re.compile(r"([^\W\d][^\s,]*)(?:[\s,]+|$)")
_AMOUNT = re.compile(r"(?:(\d+)\s*(?:x|×|times)\s*)?(.*)", re.IGNORECASE)
_WEEK = re.compile(r"(.*?)\s*(?:/|\b(?:a|per|each|every)\s)\s*week\b(.*)", re.IGNORECASE)
_IN_RUNS = re.compile(r"[\s,]*(?:in|on)\s+(\d+)\s+(?:runs?|days?)\b", re.IGNORECASE)
_LESS_RAIN = re.compile(r"[\s,]*less\s+(?:the\s+)?(?:week's\s+)?rain\b", re.IGNORECASE)
_FULL_NAMES = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


@dataclass(frozen=True, slots=True)
class FixedTimetable:
    """A timetable of a person, a setting for every zone; `label` is what they wrote."""

    label: str
    settings: tuple[FixedSetting, ...]


class _Rule(NamedTuple):
    """What one zone, or every zone, is set to."""

    days: frozenset[Weekday] | int | None
    starts: int
    minutes: int


_OFF = _Rule(None, 0, 0)


def read_fixed(
    text: str,
    zones: Sequence[str],
    *,
    begins: date,
    faults: list[Fault],
    beds: Mapping[str, str] | None = None,
) -> FixedTimetable | None:
    """Return the timetable that a text gives for every zone; None and the faults added if it has any.

    Reads "every day 20 min" for all zones, "fruit: every 3 days 40 min; vines: Mon Thu 2 x 15 min" by zone,
    of which one part may name no zone and then is for all others, and "salad: off".

    Parameters
    ----------
    text : str
    zones : sequence of str
        The garden's zones.
    begins : date
        Day from which it holds, and from which an interval is counted.
    faults : list of Fault
        Added to.
    beds : mapping of str to str, optional
        The zone that each bed is behind, to tell somebody who names a bed.
    """
    label = " ".join(text.split())
    where = f'--fixed "{label}"'
    found: list[Fault] = []
    named_without: list[tuple[str, str]] = []
    rules: dict[str | None, _Rule] = {}
    for part in label.split(";"):
        head, colon, words = part.rpartition(":")
        if not colon and (name := _zone_without_colon(words.strip(), [*zones, *(beds or {})])):
            named_without.append((name, words.strip()))
            continue
        zone = zone_named(head.strip(), zones, where, found, beds=beds) if colon else None
        rule = _rule(words.strip(), where, found)
        if zone in rules and words:
            named = "without a zone" if zone is None else f'for zone "{zone}"'
            found.append(Fault(where, f"there are two settings {named}", "write one"))
        if rule is not None:
            rules[zone] = rule
    found += [_colon_fault(where, name, said, zones, beds or {}) for name, said in named_without]
    missing = [zone for zone in zones if zone not in rules]
    if not found and None not in rules and missing:
        names = ", ".join(f'"{zone}"' for zone in missing)
        found.append(
            Fault(where, f"nothing is said of zone {names}", f'add "{missing[0]}: off", or a setting for it')
        )
    faults += found
    if found:
        return None
    return FixedTimetable(
        label, tuple(FixedSetting(zone, begins, *rules.get(zone, rules.get(None, _OFF))) for zone in zones)
    )


def zone_named(
    name: str,
    zones: Sequence[str],
    where: str,
    faults: list[Fault],
    *,
    beds: Mapping[str, str] | None = None,
) -> str:
    """Return the garden's zone of a name; whatever was written, and a fault added, if there is none.

    `beds` tells the zone that each bed is behind.
    """
    same = [zone for zone in zones if zone.casefold() == name.casefold()]
    if name in zones or len(same) == 1:
        return name if name in zones else same[0]
    behind = {bed.casefold(): zone for bed, zone in (beds or {}).items()}.get(name.casefold())
    if behind is not None:
        faults.append(
            Fault(where, f'"{name}" is a bed, not a zone', f'it is behind zone "{behind}": name that')
        )
        return name
    near = get_close_matches(name, list(zones), n=1)
    hint = f'did you mean "{near[0]}"?' if near else f"one of {', '.join(zones)}"
    faults.append(Fault(where, f'the garden has no zone "{name}"', hint))
    return name


def _zone_without_colon(words: str, names: Sequence[str]) -> str | None:
    """Return the name of a zone or bed that a part begins with but does not set apart by a colon, if any."""
    said = words.casefold()
    begun = [name for name in names if said == name.casefold() or said.startswith(f"{name.casefold()} ")]
    # A zone may be called after a day: then the words are run days.
    return None if not begun or _rule(words, "", []) is not None else max(begun, key=len)


def _colon_fault(where: str, name: str, said: str, zones: Sequence[str], beds: Mapping[str, str]) -> Fault:
    """Return that a zone's name is not set apart."""
    rest = said[len(name) :].strip() or "every day 20 min"
    if name in zones:
        return Fault(
            where, f'"{said}" sets nothing', f'a colon belongs after the name of a zone: "{name}: {rest}"'
        )
    zone = beds[name]
    return Fault(
        where,
        f'"{name}" is a bed, not a zone',
        f'it is behind zone "{zone}"; a colon belongs after the name of a zone: "{zone}: {rest}"',
    )


def read_setting(
    words: str, *, zone: str, begins: date, where: str, faults: list[Fault]
) -> FixedSetting | None:
    """Return what one zone is set to from a day on; None and the faults added if the words do not tell."""
    rule = _rule(" ".join(words.split()), where, faults)
    return None if rule is None else FixedSetting(zone, begins, *rule)


def _rule(words: str, where: str, faults: list[Fault]) -> _Rule | None:
    """Return what a zone is set to; None and faults added if the words do not tell."""
    if words.casefold() == "off":
        return _OFF
    before = len(faults)
    if not words:
        faults.append(Fault(where, "a part of it is empty", _WANTED))
        return None
    days, amount = _days(words, where, faults)
    starts, minutes = _amount(amount, where, faults)
    return None if len(faults) > before else _Rule(days, starts, minutes)


def _days(words: str, where: str, faults: list[Fault]) -> tuple[frozenset[Weekday] | int, str]:
    """Return the run days at the beginning of a rule, and what follows them."""
    every = _EVERY.match(words)
    if every is not None:
        said = every[1] or "1"
        ordinal = _ORDINAL.fullmatch(said)
        number = _SPOKEN.get(said.casefold(), said) if ordinal is None else ordinal[1]
        interval = int(number) if number.isascii() and number.isdigit() and len(number) < 5 else 0
        if not 1 <= interval <= LONGEST_INTERVAL:
            wanted = f"write a whole number of days from 1 to {LONGEST_INTERVAL}"
            faults.append(Fault(where, f'"{every[0].strip(" ,")}" is no interval', wanted))
        return interval, words[every.end() :]
    named: list[Weekday] = []
    before = len(faults)
    while (word := _DAY_WORD.match(words)) is not None:
        words = words[word.end() :]
        if word[1].casefold() != "and":
            named += _weekday(word[1], where, faults)
    if not named and len(faults) == before:
        faults.append(Fault(where, "it names no run days", _WANTED))
    for day in sorted(set(named), key=WEEKDAYS.index):
        if named.count(day) > 1:
            faults.append(Fault(where, f"{day} is named twice", "name each run day once"))
    return frozenset(named), words


def _weekday(word: str, where: str, faults: list[Fault]) -> list[Weekday]:
    """Return the weekday that a word begins, two letters or more; none, and a fault added, if it is none."""
    start = word.casefold().rstrip(".")
    days = [
        day
        for day, name in zip(WEEKDAYS, _FULL_NAMES, strict=True)
        if len(start) > 1 and name.startswith(start)
    ]
    if not days:
        faults.append(Fault(where, f'"{word}" is no run day', f"use {' '.join(WEEKDAYS)}, or every N days"))
    return days


def _amount(text: str, where: str, faults: list[Fault]) -> tuple[int, int]:
    """Return runs a day and whole minutes of each."""
    match = _AMOUNT.fullmatch(text)
    starts, length = (match[1] or "1", match[2]) if match is not None else ("1", text)
    if not length:
        faults.append(Fault(where, "it has no length of a run", _WANTED))
        return 0, 0
    try:
        minutes = parse_quantity(length, "duration")
    except UnitError as fault:
        faults.append(Fault(where, fault.found, fault.wanted))
        return 0, 0
    if minutes < 1 or minutes != int(minutes):
        faults.append(Fault(where, f'"{length}" is not a whole number of minutes', "write 1 min or more"))
        return 0, 0
    if not 0 < int(starts[:5]) * minutes <= MINUTES_PER_DAY:
        faults.append(Fault(where, f'"{text}" is no water of one day', "write 1 run or more within 24 h"))
        return 0, 0
    return int(starts), int(minutes)


def fixed_text(settings: Sequence[FixedSetting]) -> str:
    """Return settings, one a zone, in the words that `read_fixed` reads."""
    texts = {setting.zone: _setting_text(setting) for setting in settings}
    if len(set(texts.values())) == 1:
        return next(iter(texts.values()))
    return "; ".join(f"{zone}: {text}" for zone, text in texts.items())


def _setting_text(setting: FixedSetting) -> str:
    """Return days, starts and minutes in words."""
    if setting.days is None:
        return "off"
    days = days_text(setting)
    runs = "" if setting.starts == 1 else f"{setting.starts} x "
    return f"{days} {runs}{setting.minutes} min"


def days_text(setting: FixedSetting) -> str:
    """Return the run days of a setting in words."""
    if setting.days is None:
        return "no run"
    if isinstance(setting.days, int):
        return "every day" if setting.days == 1 else f"every {setting.days} days"
    return " ".join(day for day in WEEKDAYS if day in setting.days)


def read_depth(text: str, *, faults: list[Fault]) -> DepthRule | None:
    """Return the rule of a depth of water a week; None and the faults added if the text has any.

    Its label is the text with inches spelled out.

    Reads "1 in a week", "25 mm per week in 3 runs", "1 in a week, less rain".
    """
    label = " ".join(text.split())
    where = f'--depth "{label}"'
    week = _WEEK.fullmatch(label)
    if week is None:
        faults.append(Fault(where, "it does not say how much water a week", _WANTED_DEPTH))
        return None
    before = len(faults)
    depth = 0.0
    try:
        depth = parse_quantity(week[1], "water_depth")
    except UnitError as fault:
        faults.append(Fault(where, fault.found, fault.wanted))
    else:
        if depth <= 0.0:
            faults.append(Fault(where, f'"{week[1]}" is no water', "write a depth above 0"))
    said, less_rain, rest = _depth_clauses(week[2])
    runs = int(said[:5]) if said is not None else USUAL_RUNS
    if rest:
        faults.append(Fault(where, f'"{rest}" cannot be read', _WANTED_DEPTH))
    if not 1 <= runs <= len(WEEKDAYS):
        faults.append(Fault(where, f"{said} runs in a week", "write 1 to 7 runs, one a day"))
    if len(faults) > before:
        return None
    shown = f"{_spelled_out(week[1])}{label[len(week[1]) :]}"
    return DepthRule(shown if said is not None else f"{shown} in {runs} runs", depth, runs, less_rain)


def _spelled_out(depth: str) -> str:
    """Return a depth with its inches in full: "1 in a week in 2 runs" reads as one run of two."""
    inches = _INCHES.fullmatch(depth)
    if inches is None:
        return depth
    number = inches[1].strip()
    return f"{number} {'inch' if number in ('1', '1/2', '1/4', '3/4', '½', '¼', '¾') else 'inches'}"


def _depth_clauses(rest: str) -> tuple[str | None, bool, str]:
    """Return the number of runs as said, whether rain is taken off, and what was not understood."""
    runs, less_rain = None, False
    while True:
        in_runs, no_rain = _IN_RUNS.match(rest), _LESS_RAIN.match(rest)
        if in_runs is not None and runs is None:
            runs, rest = in_runs[1], rest[in_runs.end() :]
        elif no_rain is not None and not less_rain:
            less_rain, rest = True, rest[no_rain.end() :]
        else:
            return runs, less_rain, rest.strip(" ,")
