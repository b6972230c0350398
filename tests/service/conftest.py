"""A garden with a ledger in a folder of its own, invented weather day by day, and the daily job on it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from scheduler.ledger.reading import open_reader
from scheduler.service.day import daily_job
from scheduler.service.tools import Tools
from tests.builders import make_daily
from tests.cli.conftest import PLAN
from tests.publish.broker import nobody_at

MONDAY = date(2026, 6, 15)
ZONE = "Europe/Berlin"


def plan_text(*more: str, timezone: str = ZONE) -> str:
    """Return the plan of a small garden, with tables added at its end."""
    return "\n".join((PLAN.replace("Etc/GMT+1", timezone), *more))


def weather_of(on: date, *, rain: dict[date, float] | None = None, scale: float = 0.0):
    """Return daily weather as it is known on a morning: three years behind, a forecast of seven days.

    It is dry but for the days in `rain` [mm], and each day's evapotranspiration is the mean of its season,
    so that nothing but what a test changes can change a table.
    """
    begins = date(2024, 1, 1)
    daily = make_daily(begins, (on - begins).days + 7, rain_scale=scale, forecast_from=on)
    day = (daily.dates - daily.dates.astype("datetime64[Y]")).astype(int)
    steady = 3.0 + 2.0 * np.cos(2 * np.pi * (day - 195) / 365.25)
    depth = daily.rain.copy()
    for when, value in (rain or {}).items():
        depth[daily.dates == np.datetime64(when)] = value
    return replace(daily, reference_et=steady, rain=depth)


@dataclass
class Place:
    """A garden in a folder, and what its service asks of the world."""

    folder: Path
    rain: dict[date, float] = field(default_factory=dict)
    doubts: list = field(default_factory=list)
    fetched: list = field(default_factory=list)
    fault: Exception | None = None

    @property
    def plan(self) -> Path:
        return self.folder / "garden.toml"

    @property
    def ledger(self) -> Path:
        return self.folder / "garden.ledger.sqlite"

    def write(self, *more: str, timezone: str = ZONE) -> Place:
        self.plan.write_text(plan_text(*more, timezone=timezone), encoding="utf-8")
        return self

    def tools(self, on: date) -> Tools:
        def fetch(_plan, _garden, _ledger, *, on, moment):
            self.fetched.append((on, moment))
            if self.fault is not None:
                raise self.fault
            return ()

        return Tools(
            fetch=fetch,
            gather=lambda _plan, _garden, _reader, *, moment: weather_of(on, rain=self.rain),
            doubts=lambda _plan, _garden, _reader: tuple(self.doubts),
        )

    def day(self, on: date, *, hour: int = 4, post=None, timezone: str = ZONE):
        moment = datetime(on.year, on.month, on.day, hour, 10, tzinfo=ZoneInfo(timezone))
        return daily_job(self.plan, on=on, moment=moment, tools=self.tools(on), post=post)

    def days(self, first: date, n: int):
        return [self.day(first + timedelta(days=k)) for k in range(n)]

    def tables(self):
        with open_reader(self.ledger) as reader:
            return reader.timetables()

    def count(self) -> dict[str, int]:
        """Return how many rows each table of the ledger has."""
        from scheduler.ledger.columns import TABLES

        with open_reader(self.ledger) as reader:
            return {name: len(reader.rows(table, withdrawn=True)) for name, table in TABLES.items()}


@pytest.fixture
def dead_port():
    """Return a port of this machine that nobody answers at."""
    with nobody_at() as port:
        yield port


@pytest.fixture
def place(tmp_path: Path) -> Place:
    return Place(tmp_path).write()
