"""What holds of every record that a parser gives, whatever it was given."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from scheduler.errors import RillbookError
from scheduler.weather.quality import POSSIBLE
from scheduler.weather.record import VARIABLES, WeatherRecord

__all__ = ["check", "check_record"]

Parse = Callable[..., WeatherRecord]


def check(parse: Parse, given: object) -> bool:
    """Parse; whatever is no error of ours, and no sound record, raises. Return True for a record."""
    try:
        record = parse(given)
    except RillbookError:
        return False
    check_record(record)
    return True


def check_record(record: WeatherRecord) -> None:
    """Raise AssertionError if a record is not whole, or holds what no weather reaches."""
    assert set(record.values) == set(VARIABLES)
    assert record.forecast.shape == record.dates.shape
    assert record.dates.size > 0
    assert (np.diff(record.dates) == np.timedelta64(1, "D")).all()
    for name, column in record.values.items():
        low, high = POSSIBLE[name]
        known = column[~np.isnan(column)]
        assert column.shape == record.dates.shape, name
        assert ((known >= low) & (known <= high)).all(), f"{name} [{VARIABLES[name]}]: {known}"
    for least, greatest in (("tmin", "tmax"), ("rh_min", "rh_max")):
        assert not (record.values[least] > record.values[greatest]).any(), f"{least} above {greatest}"
