"""Times as a station's clock shows them -> moments, through both clock changes."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from scheduler.weather.findings import Findings
from scheduler.weather.sheet import Row
from scheduler.weather.sources.documents import shown
from scheduler.weather.sources.station_layout import StationLayout

__all__ = ["midnight_before", "read_times", "to_moments"]

_FIRST_YEAR, _LAST_YEAR = 1900, 2200


def read_times(
    rows: Sequence[Row], places: Sequence[int], *, layout: StationLayout, findings: Findings
) -> list[datetime | None]:
    """Return what the clock showed in each row, None where it cannot be read; a first fault is told."""
    shown_times: list[datetime | None] = []
    bad: list[Row] = []
    for row in rows:
        text = " ".join(row.cells[place] for place in places)
        try:
            moment = datetime.strptime(text, layout.time_format)  # noqa: DTZ007 - the clock's zone follows
        except (ValueError, OverflowError):
            moment = None
        if moment is not None and not _FIRST_YEAR < moment.year < _LAST_YEAR:
            moment = None
        if moment is None:
            bad.append(row)
        shown_times.append(moment)
    if bad:
        text = " ".join(bad[0].cells[place] for place in places)
        number = "" if len(bad) == 1 else f", and {len(bad) - 1} more rows like it"
        findings.fault(
            f"row {bad[0].line}", f"time {shown(text)}{number}", f"a time written as {layout.time_format}"
        )
    return shown_times


def to_moments(
    times: Sequence[datetime],
    rows: Sequence[Row],
    *,
    layout: StationLayout,
    zone: ZoneInfo,
    findings: Findings,
) -> NDArray[np.float64]:
    """Return the moment of each row [s since 1970-01-01 UTC], shape (n_rows,), as growing as the file is.

    An hour that the clock shows twice is told apart by the order of the rows. A time that the clock
    never showed is a fault: that station does not change its clock.
    """
    moments = np.empty(len(times))
    last = -np.inf
    for place, (time, row) in enumerate(zip(times, rows, strict=True)):
        candidates = _candidates(time, layout=layout, zone=zone)
        if not candidates:
            wanted = 'a time that the local clock has; is it on standard time all year (clock "standard")?'
            findings.fault(f"row {row.line}", f"{time} was skipped by the change of clocks", wanted)
            return moments
        later = [moment for moment in candidates if moment > last]
        last = moments[place] = later[0] if later else candidates[-1]
    return moments


def midnight_before(time: datetime, *, layout: StationLayout, zone: ZoneInfo) -> float:
    """Return the moment at which the station's clock began the day of a time."""
    midnight = time.replace(hour=0, minute=0, second=0, microsecond=0, fold=0)
    candidates = _candidates(midnight, layout=layout, zone=zone)
    # Where the clock skips midnight, the day begins with the change.
    return candidates[0] if candidates else midnight.replace(tzinfo=zone).timestamp()


def _candidates(time: datetime, *, layout: StationLayout, zone: ZoneInfo) -> list[float]:
    """Return the moments at which the clock showed a time: one, two in a repeated hour, or none."""
    if time.tzinfo is not None:
        return [time.timestamp()]
    if layout.clock == "utc":
        return [time.replace(tzinfo=UTC).timestamp()]
    if layout.clock == "standard":
        local = time.replace(tzinfo=zone)
        standard = (local.utcoffset() or timedelta(0)) - (local.dst() or timedelta(0))
        return [(time.replace(tzinfo=UTC) - standard).timestamp()]
    moments = sorted({time.replace(tzinfo=zone, fold=fold).timestamp() for fold in (0, 1)})
    back = [datetime.fromtimestamp(moment, UTC).astimezone(zone).replace(tzinfo=None) for moment in moments]
    return [moment for moment, again in zip(moments, back, strict=True) if again == time]
