"""One sound entry of every type, all invented, and random ones."""

import datetime
import json
from decimal import Decimal

from hypothesis import strategies as st

from scheduler.ledger.columns import TABLES
from scheduler.ledger.entries import (
    Bill,
    Dig,
    Gauge,
    Moisture,
    PlanVersion,
    Reading,
    ReferenceEt,
    Relaid,
    Run,
    Timetable,
    TimetableRun,
    Valve,
    WeatherDay,
    Withdrawal,
)

__all__ = ["DAY", "NOW", "SAMPLES", "day", "hand_entries", "record_samples", "texts"]

NOW = datetime.datetime(2026, 7, 13, 4, 10, tzinfo=datetime.UTC)
DAY = datetime.date(2026, 7, 13)


def day(number):
    """Return a day of July 2026."""
    return datetime.date(2026, 7, number)


# In an order in which each may refer to row 1 of an earlier one.
SAMPLES = (
    PlanVersion("a1", 'name = "Heron Lane"\n'),
    WeatherDay(
        DAY, "station", "orchard gauge", NOW, 29.5, 14.0, 12.5, 94.0, 41.0, 66.0, 1.8, 2.0, 24.5, 11.0, 0.0
    ),
    ReferenceEt(DAY, 5.4, "b2", 0.0, 1.8, 41.0, 29.5, 14.0, estimated="wind"),
    Timetable(DAY, 1, "c3", NOW, json.dumps({"zones": ["north"]})),
    TimetableRun(1, DAY, "north", 300, 20.0, 64.25),
    Run(DAY, "ran", "north", "low bed", 18.5),
    Valve(NOW, "low bed", "shut"),
    Reading(NOW, "bucket", 7.5, "low bed", 2.0, "2 gal"),
    Gauge(DAY, 8.0, "canopy"),
    Dig(DAY, "low bed", "dry"),
    Bill(day(1), day(31), Decimal("12.50"), "m3", Decimal("48.10"), "EUR"),
    Relaid(NOW, "low bed"),
    Moisture(DAY, "low bed", "content", content_share=0.24, as_written="24 %"),
)


def record_samples(ledger, recorded_at=NOW):
    """Record one entry of every type."""
    with ledger.writing():
        for entry in SAMPLES:
            ledger.record(entry, recorded_at=recorded_at)


# Anything a gardener could type on one line; now and then what a spreadsheet program takes for a formula.
texts = (
    st.tuples(
        st.sampled_from(["", "", "=", "+", "-", "@", "'", "''=", "'-"]),
        st.text(st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp")), min_size=1, max_size=12),
    )
    .map("".join)
    .map(str.strip)
    .filter(bool)
)
_dates = st.dates(datetime.date(1900, 1, 1), datetime.date(2199, 12, 31))
_instants = st.builds(
    lambda seconds, hours: (NOW + datetime.timedelta(seconds=seconds)).astimezone(
        datetime.timezone(datetime.timedelta(hours=hours))
    ),
    st.integers(-3_900_000_000, 5_400_000_000),
    st.integers(-14, 14),
)
_minutes = st.floats(0, 1440)
_names = st.none() | texts
_sums = st.decimals(-100_000, 100_000, places=2)
_by_hand = {
    "run": st.one_of(
        st.builds(Run, _dates, st.just("ran"), _names, _names, st.none() | _minutes),
        st.builds(Run, _dates, st.just("skipped"), _names, _names),
    ),
    "valve": st.builds(Valve, _instants, texts, st.sampled_from(["open", "shut"])),
    "reading": st.one_of(
        st.builds(Reading, _instants, st.just("meter"), st.floats(0, 1e9), _names, as_written=texts),
        st.builds(Reading, _instants, st.just("bucket"), st.floats(0, 99), _names, st.floats(0.01, 60)),
    ),
    "gauge": st.builds(Gauge, _dates, st.floats(0, 500), st.sampled_from(["open", "canopy"])),
    "dig": st.builds(Dig, _dates, texts, st.sampled_from(["wet", "right", "dry"])),
    "bill": st.builds(
        lambda days, units, amount, currency: Bill(*sorted(days), units, "CCF", amount, currency),
        st.tuples(_dates, _dates),
        st.decimals(0, 10_000, places=3),
        _sums,
        texts,
    ),
    "relaid": st.builds(Relaid, _instants, texts),
    "moisture": st.one_of(
        st.builds(Moisture, _dates, texts, st.just("content"), st.floats(0, 0.8), as_written=texts),
        st.builds(Moisture, _dates, texts, st.just("tension"), tension_kpa=st.floats(0, 100)),
    ),
}
hand_entries = st.lists(st.one_of(*_by_hand.values()), max_size=8)

# Every table of a person's entries has random entries.
assert set(_by_hand) == {name for name, table in TABLES.items() if table.by_hand}
assert {type(entry) for entry in SAMPLES} | {Withdrawal} == {table.entry for table in TABLES.values()}
