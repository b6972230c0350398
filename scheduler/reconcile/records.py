"""What people recorded, in the terms of the comparisons; all times carry the garden's time zone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from scheduler.reconcile.flow_tests import FlowTest
from scheduler.reconcile.meters import Reading
from scheduler.season.field import RunNote

__all__ = ["AdvisedRun", "Bucket", "Records", "RelaidNote", "TaggedReading", "TestedFlow", "ValveNote"]


@dataclass(frozen=True, slots=True)
class TaggedReading:
    """A reading of the meter; `bed` is the bed that it belongs to a test of, `text` what the person wrote."""

    reading: Reading
    bed: str | None
    text: str
    minutes: float | None = None


@dataclass(frozen=True, slots=True)
class Bucket:
    """Water [L] that a bed gave in some minutes."""

    at: datetime
    bed: str
    volume: float
    minutes: float


@dataclass(frozen=True, slots=True)
class TestedFlow:
    """A test of a bed's flow, when it ran, and the water it took [L]."""

    begins: datetime
    ends: datetime
    litres: float
    test: FlowTest


@dataclass(frozen=True, slots=True)
class ValveNote:
    """How a bed's hand valve stands from a moment on."""

    at: datetime
    bed: str
    shut: bool


@dataclass(frozen=True, slots=True)
class RelaidNote:
    """From a moment on, a bed's drip line is another, or lies otherwise."""

    at: datetime
    bed: str


@dataclass(frozen=True, slots=True)
class AdvisedRun:
    """One run of a zone as advised: minutes and water of all its beds [L]."""

    zone: str
    begins: datetime
    minutes: float
    litres: float


@dataclass(frozen=True, slots=True)
class Records:
    """Everything recorded that the comparisons use.

    Attributes
    ----------
    readings, buckets, valves : tuples
        In the order of their times.
    runs : tuple of RunNote
        In the order in which they were entered; a later one of one thing takes the place of an earlier one.
    advised : mapping of date to tuple of AdvisedRun
        What was advised for a day; a day without advice is not in it.
    strangers : tuple of str
        Beds that have readings and are not in the plan.
    relaid : tuple of RelaidNote
        In the order of their times.
    """

    readings: tuple[TaggedReading, ...]
    buckets: tuple[Bucket, ...]
    valves: tuple[ValveNote, ...]
    runs: tuple[RunNote, ...]
    advised: Mapping[date, tuple[AdvisedRun, ...]]
    strangers: tuple[str, ...]
    relaid: tuple[RelaidNote, ...] = ()
