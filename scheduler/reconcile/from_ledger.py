"""Entries of the ledger and a plan -> what the comparisons take; the only module here that knows entries."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta, timezone, tzinfo

from scheduler.drip.emitters import emitter_flow
from scheduler.garden.plan import Bed, Garden
from scheduler.ledger.entries import TimetableRun
from scheduler.ledger.reading import LedgerReader
from scheduler.reconcile.bed_series import DatedTest, PrintedFlow
from scheduler.reconcile.meters import LOW_FLOW_LIMIT, Meter, Reading
from scheduler.reconcile.overview import Inputs
from scheduler.reconcile.recorded_nights import leak_steps
from scheduler.reconcile.recorded_tests import bucket_tests, meter_tests
from scheduler.reconcile.recorded_water import water_spans
from scheduler.reconcile.records import AdvisedRun, Bucket, Records, RelaidNote, TaggedReading, ValveNote
from scheduler.reconcile.register import fit_register
from scheduler.season.field import RunNote
from scheduler.season.supply import garden_supply

__all__ = ["NOTHING", "comparison_inputs", "meter_of", "read_records"]

#: Smallest digit of a meter that the plan does not describe [L], and a register that never turns over.
ASSUMED_DIGIT, NO_TURN = 1.0, 1e12
#: Runs are looked up for so many days before the newest reading: as long as any span that is compared.
LONGEST_PAST = timedelta(days=120)
#: Days that a timetable holds for.
TABLE_DAYS = 7

#: A ledger without entries.
NOTHING = Records((), (), (), (), {}, ())


def read_records(reader: LedgerReader, garden: Garden, *, zone: tzinfo) -> Records:
    """Return what a ledger holds that the comparisons use, with times in the garden's `zone`.

    Readings of beds that the plan has not are left out of the tests, but the register did show them.

    Raises
    ------
    LedgerError
        If the ledger cannot be read.
    """
    names = {bed.name for bed in garden.beds}
    readings = [kept.entry for kept in reader.readings()]
    meters = tuple(
        TaggedReading(
            Reading(_local(one.at, zone), one.volume_l),
            one.bed,
            one.as_written or f"{one.volume_l:.10g} L",
            one.minutes,
        )
        for one in readings
        if one.kind == "meter"
    )
    buckets = tuple(
        Bucket(_local(one.at, zone), one.bed, one.volume_l, one.minutes)
        for one in readings
        if one.kind == "bucket" and one.bed in names and one.bed is not None and one.minutes
    )
    valves = (kept.entry for kept in reader.valves())
    relaid = (kept.entry for kept in reader.relaid())
    last = max((one.reading.at.date() for one in meters), default=None)
    return Records(
        readings=meters,
        buckets=buckets,
        valves=tuple(
            ValveNote(_local(v.at, zone), v.bed, v.state == "shut") for v in valves if v.bed in names
        ),
        runs=() if last is None else _runs(reader, last),
        advised={} if last is None else _advised(reader, last, zone),
        strangers=tuple(sorted({one.bed for one in readings if one.bed is not None} - names)),
        relaid=tuple(RelaidNote(_local(r.at, zone), r.bed) for r in relaid if r.bed in names),
    )


def _runs(reader: LedgerReader, last: date) -> tuple[RunNote, ...]:
    """Return recorded runs up to a day, in the order they were entered."""
    kept = sorted(reader.runs_between(last - LONGEST_PAST, last), key=lambda one: one.id)
    entries = (one.entry for one in kept)
    return tuple(
        RunNote(run.date, run.status == "ran", zone=run.zone, bed=run.bed, minutes=run.minutes)
        for run in entries
    )


def _advised(reader: LedgerReader, last: date, zone: tzinfo) -> dict[date, tuple[AdvisedRun, ...]]:
    """Return what the newest timetable of each day advised for it; days without one are left out."""
    runs: dict[int, list[tuple[date, AdvisedRun]]] = {}
    advised: dict[date, tuple[AdvisedRun, ...]] = {}
    for back in range(LONGEST_PAST.days + 1):
        day = last - timedelta(days=back)
        table = reader.latest_timetable(day)
        if table is None or (day - table.entry.first_day).days >= TABLE_DAYS:
            continue
        if table.id not in runs:
            kept = (one.entry for one in reader.timetable_runs(table.id))
            runs[table.id] = [(run.date, _advised_run(run, zone)) for run in kept]
        advised[day] = tuple(run for on, run in runs[table.id] if on == day)
    return advised


def _advised_run(run: TimetableRun, zone: tzinfo) -> AdvisedRun:
    """Return a run that begins as the timer's clock shows it; that may be past midnight."""
    days, rest = divmod(run.start_min, 1440)
    clock = datetime.combine(run.date + timedelta(days=days), time(rest // 60, rest % 60), tzinfo=zone)
    return AdvisedRun(run.zone, _local(clock, zone), run.minutes, run.volume_l)


def _local(at: datetime, zone: tzinfo) -> datetime:
    """Return a moment by the garden's clock, with the offset of that moment.

    Times of one zone would be compared and subtracted by the clock, and be an hour off across its changes.
    """
    local = at.astimezone(zone)
    return local.replace(tzinfo=timezone(local.utcoffset() or timedelta()))


def meter_of(garden: Garden) -> Meter:
    """Return the meter as the plan describes it, else one that shows litres and never turns over."""
    stated = garden.meter
    if stated is None:
        return Meter(capacity=NO_TURN, smallest_digit=ASSUMED_DIGIT)
    limit = LOW_FLOW_LIMIT if stated.low_flow_limit is None else stated.low_flow_limit
    return Meter(stated.capacity, stated.smallest_digit, low_flow_limit=limit)


def comparison_inputs(garden: Garden, records: Records) -> Inputs:
    """Return what the comparisons take."""
    meter = meter_of(garden)
    register = fit_register([one.reading for one in records.readings], meter)
    sound = [records.readings[n] for n in register.kept]
    of_beds = [one for one in sound if one.bed not in records.strangers]
    by_meter, single = meter_tests(of_beds, meter)
    supplies = zip(garden.beds, garden_supply(garden), strict=True)
    flows = {bed.name: supply.flow for bed, supply in supplies}
    tests: dict[str, tuple[DatedTest, ...]] = {bed.name: () for bed in garden.beds}
    for one in (*by_meter, *bucket_tests(records.buckets)):
        tests[one.test.bed] += (DatedTest(one.begins, one.ends, one.test),)
    times = [*(one.reading.at for one in records.readings), *(one.at for one in records.buckets)]
    return Inputs(
        meter=meter,
        meter_stated=garden.meter is not None,
        newest=max(times, default=None),
        written=tuple(one.text for one in records.readings),
        strangers=records.strangers,
        register=register,
        beds={bed.name: (_printed(bed), flows[bed.name]) for bed in garden.beds},
        tests=tests,
        relaid={bed.name: tuple(r.at for r in records.relaid if r.bed == bed.name) for bed in garden.beds},
        whole=sum(one.bed is None for one in sound),
        single=single,
        leak_steps=leak_steps(records, sound, [bed.name for bed in garden.beds]),
        spans=water_spans(garden, records, sound, tests=by_meter, flows=flows, meter=meter),
        house_per_day=None if garden.household is None else garden.household.use_per_day,
    )


def _printed(bed: Bed) -> PrintedFlow:
    line = bed.drip
    one = emitter_flow(
        line.emitter_flow, bed.pressure, nominal_pressure=line.at_pressure, exponent=line.exponent
    )
    return PrintedFlow(bed.emitters, float(one))
