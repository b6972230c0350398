"""Recorded readings -> steps of a leak test: nights without a run, and times with every bed valve shut."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from scheduler.reconcile.leak import LeakStep
from scheduler.reconcile.records import Records, TaggedReading

__all__ = ["leak_steps"]

#: A night as the garden's clock has it: not before, and not after.
EVENING, MORNING = 20, 9
SHORTEST_NIGHT = timedelta(hours=1)
LONGEST_STEP = timedelta(hours=16)
#: Valves are shut for a test on its day; shut for longer, one may be open again and nobody wrote it down.
FRESH = timedelta(hours=24)
#: Steps of one test lie within this of each other.
ONE_TEST = timedelta(days=14)


def leak_steps(
    records: Records, readings: Sequence[TaggedReading], beds: Sequence[str]
) -> tuple[LeakStep, ...]:
    """Return the newest step with every bed valve shut, and the newest night with the timer shut.

    The timer counts as shut where the runs of the night are known and none fell into it. With the bed
    valves shut the timer counts as open, which is how the test is made.

    Parameters
    ----------
    readings : sequence of TaggedReading
        Sound ones, in the order of their times.
    beds : sequence of str
        Every bed of the plan.
    """
    newest: dict[str, LeakStep] = {}
    for before, after in zip(readings, readings[1:], strict=False):
        begins, ends = before.reading.at, after.reading.at
        if before.bed is not None or after.bed is not None or not begins < ends <= begins + LONGEST_STEP:
            continue
        if _all_shut(records, begins, ends, beds):
            newest["bed valves"] = LeakStep("bed valves", before.reading, after.reading)
        elif _is_night(begins, ends) and _timer_shut(records, begins, ends):
            newest["timer"] = LeakStep("timer", before.reading, after.reading)
    last = max((step.after.at for step in newest.values()), default=None)
    return tuple(s for s in newest.values() if last is not None and last - s.after.at <= ONE_TEST)


def _is_night(begins: datetime, ends: datetime) -> bool:
    """Return True if both times lie in one night, at least an hour apart."""
    half_day = timedelta(hours=12)
    dark = all(
        at.hour >= EVENING or at.hour < MORNING or (at.hour, at.minute) == (MORNING, 0)
        for at in (begins, ends)
    )
    one_night = (begins - half_day).date() == (ends - half_day).date()
    return dark and one_night and ends - begins >= SHORTEST_NIGHT


def _all_shut(records: Records, begins: datetime, ends: datetime, beds: Sequence[str]) -> bool:
    """Return True if every bed's valve was shut from one time to the other, and so recorded lately."""
    before = [note for note in records.valves if note.at <= begins]
    if not before or begins - before[-1].at > FRESH:
        return False
    state = {note.bed: note.shut for note in before}
    opened = any(begins < note.at < ends and not note.shut for note in records.valves)
    return all(state.get(bed, False) for bed in beds) and not opened


def _timer_shut(records: Records, begins: datetime, ends: datetime) -> bool:
    """Return True if the runs of the days are known and none fell between the two times."""
    for ahead in range((ends.date() - begins.date()).days + 1):
        day = begins.date() + timedelta(days=ahead)
        notes = [note for note in records.runs if note.on == day]
        whole = [note for note in notes if note.zone is None and note.bed is None]
        if whole and whole[-1] is notes[-1] and not whole[-1].ran:
            continue
        advised = records.advised.get(day)
        # When a run came that nobody advised is not known.
        if advised is None or (not advised and any(note.ran for note in notes)):
            return False
    runs = [run for day in records.advised.values() for run in day]
    return not any(run.begins < ends and begins < run.begins + timedelta(minutes=run.minutes) for run in runs)
