"""What the daily job asks of the other parts: weather fetched, weather gathered, readings looked over."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Protocol

from scheduler.garden.plan import Garden
from scheduler.ledger.reading import LedgerReader
from scheduler.ledger.store import Ledger
from scheduler.service.notices import Doubt
from scheduler.weather.record import DailyWeather

__all__ = ["Fetch", "FindDoubts", "Gather", "Tools"]


class Fetch(Protocol):
    """Brings all weather into the ledger that it does not have yet, and gives what went wrong in words.

    Days of the past that were missed are among them.
    """

    def __call__(
        self, plan_path: Path, garden: Garden, ledger: Ledger, *, on: date, moment: datetime
    ) -> Iterable[str]:
        """Ask every source of the plan."""


class Gather(Protocol):
    """Gives all the weather that there is, complete."""

    def __call__(
        self, plan_path: Path, garden: Garden, reader: LedgerReader | None, *, moment: datetime
    ) -> DailyWeather:
        """Read file and ledger."""


class FindDoubts(Protocol):
    """Gives the readings that look wrong."""

    def __call__(self, plan_path: Path, garden: Garden, reader: LedgerReader) -> Iterable[Doubt]:
        """Look at the ledger's readings."""


@dataclass(frozen=True, slots=True)
class Tools:
    """The three; each may raise `RillbookError`."""

    fetch: Fetch
    gather: Gather
    doubts: FindDoubts
