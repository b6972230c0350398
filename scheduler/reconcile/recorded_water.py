"""Recorded and advised runs -> the water that should have passed between two readings of the whole garden."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from scheduler.garden.plan import Bed, Garden
from scheduler.reconcile.meters import Meter, volumes_between
from scheduler.reconcile.records import Records, TaggedReading, TestedFlow
from scheduler.reconcile.water_use import WaterSpan
from scheduler.season.field import RunNote

__all__ = ["water_spans"]

#: Spans shorter than this say little against a day's house use.
SHORTEST_SPAN = timedelta(days=1)
#: How many spans are compared, the newest.
MOST_SPANS = 8


@dataclass(frozen=True, slots=True)
class _Pour:
    """Water of one bed [L] in a run; `begins` None if only its day is known."""

    bed: str
    litres: float
    begins: datetime | None
    minutes: float


class _Days:
    """What ran on a day."""

    def __init__(self, garden: Garden, records: Records, flows: Mapping[str, float]) -> None:
        self.garden, self.records, self.flows = garden, records, flows

    def recorded(self, day: date) -> bool:
        return any(note.on == day for note in self.records.runs)

    def known(self, day: date) -> bool:
        """Return True if what ran is recorded for every bed, or advice for zones of the plan stands in."""
        zones = {zone.name for zone in self.garden.zones}
        advised = self.records.advised.get(day)
        return (advised is not None and all(run.zone in zones for run in advised)) or all(
            (note := self._note(bed, day)) is not None and (not note.ran or note.minutes is not None)
            for bed in self.garden.beds
        )

    def pours(self, day: date) -> Iterator[_Pour]:
        """Yield the water of each bed's runs, as recorded, else as advised."""
        for bed in self.garden.beds:
            runs = [run for run in self.records.advised.get(day, ()) if run.zone == bed.zone]
            note = self._note(bed, day)
            if note is not None and (not note.ran or note.minutes is not None):
                minutes = note.minutes or 0.0
                begins = runs[0].begins if runs else None
                pours = [_Pour(bed.name, self.flows[bed.name] * minutes / 60.0, begins, minutes)]
            else:
                zone = sum(self.flows[one.name] for one in self.garden.beds_of(bed.zone))
                share = self.flows[bed.name] / zone
                pours = [_Pour(bed.name, run.litres * share, run.begins, run.minutes) for run in runs]
            yield from (pour for pour in pours if pour.litres and not self._shut(bed.name, pour, day))

    def _note(self, bed: Bed, day: date) -> RunNote | None:
        """Return the last note of a day that is about a bed."""
        notes = (note for note in reversed(self.records.runs) if note.on == day)
        return next((n for n in notes if n.zone in (None, bed.zone) and n.bed in (None, bed.name)), None)

    def _shut(self, bed: str, pour: _Pour, day: date) -> bool:
        """Return True if a bed's valve was shut; all valves shut is a leak test, not a way of watering."""
        state = {one.name: False for one in self.garden.beds}
        for note in self.records.valves:
            if note.at.date() < day if pour.begins is None else note.at <= pour.begins:
                state[note.bed] = note.shut
        return state[bed] and not all(state.values())


def water_spans(
    garden: Garden,
    records: Records,
    readings: Sequence[TaggedReading],
    *,
    tests: Sequence[TestedFlow],
    flows: Mapping[str, float],
    meter: Meter,
) -> tuple[WaterSpan, ...]:
    """Return the newest spans between readings of the whole garden, in the order of time.

    Spans end at the newest reading and go back a day or more each. Recorded runs take the place of advised
    ones. Of a run whose time of day is unknown, on a day that lies half in the span, and of a test, which may
    have been one of the runs, it is unsure whether its water is on top. On a day of which nothing is known as
    much as on the wettest other day may have run, if at least twice as many days are known.

    Parameters
    ----------
    readings : sequence of TaggedReading
        Sound ones, in the order of their times.
    flows : mapping of str to float
        Flow that the plan gives each bed [L/h].
    """
    ends: list[TaggedReading] = []
    for one in reversed(readings):
        if one.bed is None and (not ends or ends[-1].reading.at - one.reading.at >= SHORTEST_SPAN):
            ends.append(one)
    days = _Days(garden, records, flows)
    pairs = list(zip(ends[1:], ends, strict=False))[:MOST_SPANS]
    return tuple(_span(days, before, after, tests, meter) for before, after in reversed(pairs))


def _span(
    days: _Days, before: TaggedReading, after: TaggedReading, tests: Sequence[TestedFlow], meter: Meter
) -> WaterSpan:
    begins, ends = before.reading.at, after.reading.at
    (metered,) = volumes_between((before.reading, after.reading), meter)
    span = [begins.date() + timedelta(days=n) for n in range((ends.date() - begins.date()).days + 1)]
    litres = dict.fromkeys(days.flows, 0.0)
    unsure = sum(test.litres for test in tests if begins <= test.begins and test.ends <= ends)
    # A run of the evening before may end after midnight.
    wettest = 0.0
    for day in [begins.date() - timedelta(days=1), *span]:
        pours = tuple(days.pours(day))
        wettest = max(wettest, sum(pour.litres for pour in pours))
        for pour in pours:
            sure, maybe = _shares(pour, day, begins, ends)
            litres[pour.bed] += sure * pour.litres
            unsure += maybe * pour.litres
    known = [day for day in span if days.known(day)]
    unknown = len(span) - len(known)
    guessed = 0 < 2 * unknown <= len(known)
    return WaterSpan(
        metered=metered,
        litres=litres,
        unsure=unsure + (unknown * wettest if guessed else 0.0),
        recorded=sum(days.recorded(day) for day in known),
        advised=sum(not days.recorded(day) for day in known),
        unknown=unknown,
        guessed=guessed,
    )


def _shares(pour: _Pour, day: date, begins: datetime, ends: datetime) -> tuple[float, float]:
    """Return the shares of a run that lie in a span for sure and perhaps."""
    if pour.begins is not None:
        start = pour.begins.astimezone(UTC)
        stop = start + timedelta(minutes=pour.minutes)
        inside = min(stop, ends.astimezone(UTC)) - max(start, begins.astimezone(UTC))
        return max(0.0, inside / (stop - start)), 0.0
    midnight = datetime.combine(day, time(), tzinfo=begins.tzinfo)
    whole = begins <= midnight and midnight + timedelta(days=1) <= ends
    touches = begins.date() <= day <= ends.date()
    return float(whole), float(touches and not whole)
