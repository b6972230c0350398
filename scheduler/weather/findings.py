"""Collecting everything that a weather file has to be told about, before anything is refused."""

from __future__ import annotations

from dataclasses import dataclass, field

from scheduler.errors import Fault, WeatherError

__all__ = ["Findings"]

# Faults listed one by one; a file in the wrong format has one in every row.
_FAULTS_LISTED = 25


@dataclass(slots=True)
class Findings:
    """Faults, which refuse the file, and notes, which are only said; in the order they were found."""

    faults: list[Fault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def fault(self, where: str, found: str, wanted: str) -> None:
        """Add one fault."""
        self.faults.append(Fault(where, found, wanted))

    def refuse(self, source: str) -> None:
        """Raise `WeatherError` with the faults found so far, at most 25 of them, if there are any."""
        if not self.faults:
            return
        listed, more = self.faults[:_FAULTS_LISTED], len(self.faults) - _FAULTS_LISTED
        if more > 0:
            what = "1 more fault" if more == 1 else f"{more} more faults"
            listed = [*listed, Fault("", f"{what} of these kinds", "mend the ones above first")]
        raise WeatherError(source, listed)
