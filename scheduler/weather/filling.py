"""Filling what a record lacks, only as the plan declares, with a mark on every day that rests on it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import WeatherChoice
from scheduler.weather.days import name_days
from scheduler.weather.findings import Findings
from scheduler.weather.gaps import LEAST_OTHER_YEARS, LONGEST_GAP, long_term_mean, mean_of_neighbours
from scheduler.weather.record import WeatherRecord

__all__ = ["Filling"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

_ANY_GAP_RULE = '[weather.fill] gaps = "mean of neighbours" or "long-term mean"'
_BEYOND_RULE = {
    "refuse": f"put the measured values in, or set {_ANY_GAP_RULE}",
    "mean of neighbours": (
        f"the mean of neighbours fills at most {LONGEST_GAP} days in a row with a value on both sides; "
        'put the measured values in, or set [weather.fill] gaps = "long-term mean"'
    ),
    "long-term mean": (
        f"the long-term mean needs values of the same season from {LEAST_OTHER_YEARS} other years; put the "
        "measured values in"
    ),
}


@dataclass(slots=True)
class Filling:
    """The state of one filling: what was estimated where, by which rule, and what could not be.

    Attributes
    ----------
    estimated : dict of str to array of bool, shape (n_days,)
        As in `DailyWeather`.
    rules : dict of str to str
        In words, what was done for each key of `estimated`.
    refused : array of bool, shape (n_days,)
        Days already named in a fault for having no temperature; they are not named again.
    """

    record: WeatherRecord
    choice: WeatherChoice
    findings: Findings
    estimated: dict[str, BoolArray] = field(default_factory=dict)
    rules: dict[str, str] = field(default_factory=dict)
    refused: BoolArray = field(init=False)

    def __post_init__(self) -> None:
        self.refused = np.zeros(self.record.dates.size, dtype=bool)

    def mark(self, key: str, days: BoolArray, *, rule: str) -> None:
        """Record that `days` rest on an estimate, if there are any."""
        if days.any():
            self.estimated[key] = self.estimated.get(key, np.zeros_like(days)) | days
            self.rules[key] = rule

    def put(self, values: FloatArray, estimate: FloatArray, *, key: str, rule: str) -> FloatArray:
        """Return `values` with NaN replaced by `estimate`, and mark the days where it was."""
        days = np.isnan(values) & np.isfinite(estimate)
        self.mark(key, days, rule=rule)
        return np.where(days, estimate, values)

    def close_gaps(self, values: FloatArray, what: str, *, setting: str = "") -> FloatArray:
        """Return `values` with NaN replaced by the plan's rule for gaps; what is left becomes a fault.

        Parameters
        ----------
        values : array, shape (n_days,)
        what : str
            Name of the quantity, as people should see it.
        setting : str
            The plan's own setting for this quantity, which would have filled it too; '' if there is none.
        """
        missing = np.isnan(values)
        if not missing.any():
            return values
        if missing.all():
            wanted = f"a column of it{f', or set {setting}' if setting else ''}"
            self.findings.fault(what, "the record has none", wanted)
            return values
        filled = values
        if self.choice.gaps == "mean of neighbours":
            filled = mean_of_neighbours(values)
        elif self.choice.gaps == "long-term mean":
            filled = long_term_mean(values, self.record.dates, measured=~self.record.forecast)
        left = np.isnan(filled)
        self.mark("gap", missing & ~left, rule=self.choice.gaps)
        self._refuse(what, left & ~self.refused, setting=setting)
        return filled

    def lines(self) -> list[str]:
        """Return one line for each kind of estimate: on how many days, and by which rule."""
        lines: list[str] = []
        for key, days in self.estimated.items():
            line = f"estimated: {key} on {days.sum()} of {days.size} days: {self.rules[key]}"
            lines.append(f"{line} ({name_days(self.record.dates, days)})" if key == "gap" else line)
        return lines

    def _refuse(self, what: str, days: BoolArray, *, setting: str) -> None:
        """Add a fault that names the days left open."""
        if days.any():
            number = "1 day" if days.sum() == 1 else f"{days.sum()} days"
            wanted = _BEYOND_RULE[self.choice.gaps] + (f", or set {setting}" if setting else "")
            where = f"{what}, {name_days(self.record.dates, days)}"
            self.findings.fault(where, f"missing on {number}", wanted)
