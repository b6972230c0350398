"""One measurement of a bed's flow, by meter or by bucket and watch, with its uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from scheduler.drip.flow_measurement import flow_in_time
from scheduler.errors import Fault
from scheduler.reconcile.meters import Meter, MeteredVolume, meter_faults
from scheduler.reconcile.refused import finite_fault, positive_fault, refuse

__all__ = ["BucketTest", "FlowTest", "bucket_flow", "meter_flow"]

Method = Literal["bucket", "meter"]


@dataclass(frozen=True, slots=True)
class BucketTest:
    """Water caught in a measured time.

    Attributes
    ----------
    volume, minutes : float
        Water caught [L] in the time [min].
    mark : float
        The level surely lies within this much of the volume as read [L].
    watch : float
        Start and stop together surely lie within this much of the time [min].
    """

    bed: str
    volume: float
    minutes: float
    mark: float
    watch: float


@dataclass(frozen=True, slots=True)
class FlowTest:
    """A bed's flow as measured once: flow and standard uncertainty [L/h]."""

    bed: str
    flow: float
    uncertainty: float
    method: Method
    may_under_read: bool


def bucket_flow(test: BucketTest) -> FlowTest:
    """Return the flow of a bucket test.

    The mark is triangular, since a level near the one read is likelier than one at the edge: half-width
    over the square root of 6 (JCGM 100:2008, 4.3.9).

    Raises
    ------
    ReadingError
        A volume, time or width that is no number; no time; a bucket read without any doubt.
    """
    where = f'bucket test of bed "{test.bed}"'
    faults = [
        *finite_fault(f"{where} > volume", test.volume, wanted="write the volume caught, 0 if none came"),
        *positive_fault(f"{where} > minutes", test.minutes, wanted="write how long water was caught"),
        *positive_fault(
            f"{where} > mark", test.mark, wanted="write how far off the level may be, e.g. half a mark"
        ),
        *finite_fault(f"{where} > watch", test.watch, wanted="write how far off the time may be"),
    ]
    if not faults and test.watch >= test.minutes:
        faults = [Fault(f"{where} > watch", "is as long as the test", "catch water for longer")]
    refuse("bucket test", faults)
    flow, uncertainty = flow_in_time(
        test.volume, test.minutes, volume_uncertainty=test.mark / math.sqrt(6.0), watch=test.watch
    )
    return FlowTest(test.bed, flow, uncertainty, "bucket", may_under_read=False)


def meter_flow(
    bed: str, metered: MeteredVolume, *, meter: Meter, minutes: float | None = None, watch: float = 0.0
) -> FlowTest:
    """Return the flow of a bed from the meter before and after a run of that bed alone.

    Parameters
    ----------
    minutes : float or None
        How long the valve was open [min]; None if it was open from reading to reading.
    watch : float
        The minutes surely are right within this much [min].

    Raises
    ------
    ReadingError
        Minutes that are no number, zero, or longer than the time between the readings.
    """
    where = f'meter test of bed "{bed}"'
    ran = metered.minutes if minutes is None else minutes
    faults = [
        *meter_faults(meter),
        *positive_fault(f"{where} > minutes", ran, wanted="write how long the bed ran"),
        *finite_fault(f"{where} > watch", watch, wanted="write how far off the minutes may be"),
    ]
    if not faults and ran > metered.minutes + watch:
        faults = [Fault(f"{where} > minutes", "are longer than from reading to reading", "check the times")]
    if not faults and watch >= ran:
        faults = [Fault(f"{where} > watch", "is as long as the test", "let the bed run for longer")]
    refuse("meter test", faults)
    flow, uncertainty = flow_in_time(metered.volume, ran, volume_uncertainty=metered.uncertainty, watch=watch)
    return FlowTest(bed, flow, uncertainty, "meter", may_under_read=flow < meter.low_flow_limit)
