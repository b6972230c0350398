"""Readings, tests and beds for the checks of this folder."""

from datetime import UTC, datetime, timedelta

from scheduler.reconcile.baseline import Baseline
from scheduler.reconcile.bed_flow import check_flow
from scheduler.reconcile.flow_tests import FlowTest
from scheduler.reconcile.meters import Meter, Reading

__all__ = ["START", "bed_check", "flow_test", "known_baseline", "make_meter", "reading"]

START = datetime(2027, 6, 1, 6, 0, tzinfo=UTC)


def make_meter(**changes):
    return Meter(**({"capacity": 10_000_000.0, "smallest_digit": 1.0} | changes))


def reading(minutes, volume):
    """Return a reading some minutes after the start."""
    return Reading(START + timedelta(minutes=minutes), volume)


def flow_test(flow, uncertainty=1.0, *, bed="low bed", method="bucket", may_under_read=False):
    return FlowTest(bed, flow, uncertainty, method, may_under_read)


def known_baseline(flow=100.0, *, own=0.0, shared=0.0, day_variation=0.0, bed="low bed"):
    return Baseline(bed, flow, own, shared, day_variation, tests=3, method="bucket")


def bed_check(bed, change, uncertainty=0.02, *, flow=100.0, emitters=40, day_variation=0.0):
    """Return a bed that gives `change` more than its well known baseline."""
    test = flow_test(flow * (1.0 + change), uncertainty * flow, bed=bed)
    baseline = known_baseline(flow, bed=bed, day_variation=day_variation)
    return check_flow(test, baseline, emitters=emitters)
