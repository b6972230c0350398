"""Recorded readings -> tests of the beds' flow."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime, timedelta

from scheduler.drip.flow_measurement import BUCKET_LEAST, BUCKET_SHARE, WATCH
from scheduler.reconcile.flow_tests import BucketTest, bucket_flow, meter_flow
from scheduler.reconcile.meters import Meter, volumes_between
from scheduler.reconcile.records import Bucket, TaggedReading, TestedFlow
from scheduler.reconcile.refused import ReadingError

__all__ = ["bucket_tests", "meter_tests"]

#: Readings of one bed further apart are not the two ends of one test.
LONGEST_TEST = timedelta(hours=6)
#: How far off the time of a reading may be [min]: written to the minute, or taken as entered; judgement.
TO_THE_MINUTE, AS_ENTERED = 0.5, 0.25
#: Minutes that were timed are right within this.
TIMED = 0.1


def meter_tests(
    readings: Sequence[TaggedReading], meter: Meter
) -> tuple[tuple[TestedFlow, ...], tuple[tuple[str, datetime], ...]]:
    """Return the tests that pairs of a bed's readings make, and bed and time of readings left single.

    Two readings in a row make a test if they lie within a few hours, and no reading of another bed lies in
    between, which would say that water went there too.

    Parameters
    ----------
    readings : sequence of TaggedReading
        Sound ones, in the order of their times.
    """
    tests: list[TestedFlow] = []
    single: list[tuple[str, datetime]] = []
    for bed in dict.fromkeys(one.bed for one in readings if one.bed is not None):
        waiting: TaggedReading | None = None
        for one in (reading for reading in readings if reading.bed == bed):
            test = None if waiting is None else _meter_test(bed, waiting, one, readings, meter)
            if test is not None:
                tests.append(test)
                waiting = None
                continue
            if waiting is not None:
                single.append((bed, waiting.reading.at))
            waiting = one
        if waiting is not None:
            single.append((bed, waiting.reading.at))
    return tuple(tests), tuple(sorted(single, key=lambda pair: pair[1]))


def _meter_test(
    bed: str, before: TaggedReading, after: TaggedReading, readings: Sequence[TaggedReading], meter: Meter
) -> TestedFlow | None:
    """Return the test that two readings make, None if they make none."""
    begins, ends = before.reading.at, after.reading.at
    others = (one for one in readings if one.bed not in {None, bed})
    if begins >= ends or ends - begins > LONGEST_TEST:
        return None
    if any(begins < one.reading.at < ends for one in others):
        return None
    (metered,) = volumes_between((before.reading, after.reading), meter)
    # Two rectangles add in quadrature; `watch` is the half-width of one.
    watch = math.hypot(_half_width(begins), _half_width(ends)) if after.minutes is None else TIMED
    try:
        test = meter_flow(bed, metered, meter=meter, minutes=after.minutes, watch=watch)
    except ReadingError:
        # Too short for its times, or shorter than the minutes written beside it.
        return None
    return TestedFlow(begins, ends, metered.volume, test)


def _half_width(at: datetime) -> float:
    return TO_THE_MINUTE if at.second == 0 else AS_ENTERED


def bucket_tests(buckets: Sequence[Bucket]) -> tuple[TestedFlow, ...]:
    """Return a test for each bucket."""
    return tuple(
        TestedFlow(
            begins=one.at,
            ends=one.at,
            litres=one.volume,
            test=bucket_flow(
                BucketTest(
                    one.bed,
                    one.volume,
                    one.minutes,
                    mark=max(BUCKET_LEAST, BUCKET_SHARE * one.volume),
                    # A bucket filled in a moment was timed worse than its time is long.
                    watch=min(WATCH, one.minutes / 2.0),
                )
            ),
        )
        for one in buckets
    )
