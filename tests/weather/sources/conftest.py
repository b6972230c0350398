from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from scheduler.weather.sources.limits import Clock, Limits
from scheduler.weather.sources.session import Session, open_session
from tests.weather.sources.server import LocalServer

# Patient enough for a slow, busy machine: nothing but what a test sets lower is waited out.
PATIENT = Limits(connect_timeout=30.0, read_timeout=30.0, total_time=300.0, largest_answer=1_000_000)


@dataclass
class TestClock:
    """A clock that stands still but for its pauses, which take no time."""

    __test__ = False

    at: datetime = datetime(2024, 6, 1, 12, 0, tzinfo=UTC)
    passed: float = 0.0
    pauses: list[float] = field(default_factory=list)

    def pause(self, seconds: float) -> None:
        self.pauses.append(seconds)
        self.passed += seconds
        self.at += timedelta(seconds=seconds)

    def clock(self) -> Clock:
        return Clock(moment=lambda: self.at, elapsed=lambda: self.passed, pause=self.pause)


@pytest.fixture
def server() -> Iterator[LocalServer]:
    with LocalServer() as running:
        yield running


@pytest.fixture
def clock() -> TestClock:
    return TestClock()


Opener = Callable[..., Session]


@pytest.fixture
def opened(tmp_path: Path, clock: TestClock) -> Iterator[Opener]:
    """Opens sessions on one file of stored answers, and closes them."""
    sessions: list[Session] = []

    def open_one(
        *, offline: bool = False, limits: Limits = PATIENT, clock_of: Clock | None = None
    ) -> Session:
        session = open_session(
            tmp_path / "answers.sqlite",
            contact="gardener@example.org",
            offline=offline,
            limits=limits,
            clock=clock_of or clock.clock(),
        )
        sessions.append(session)
        return session

    yield open_one
    for session in sessions:
        session.close()


def make_old(session: Session) -> None:
    """Let everything that is stored be past its lifetime, unless it has none."""
    stored = session._cached.cache.responses
    for key in list(stored):
        response = stored[key]
        if response.expires is not None:
            response.expires -= timedelta(days=400)
            stored[key] = response
