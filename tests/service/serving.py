"""The service that stays, in a thread of a test."""

import json
import threading
import time as clock_time
from datetime import datetime, time
from zoneinfo import ZoneInfo

from scheduler.errors import RillbookError
from scheduler.service.health import health_path
from scheduler.service.serve import serve
from tests.publish.broker import PATIENCE
from tests.service.conftest import ZONE

__all__ = ["NOW", "Service"]

NOW = datetime(2026, 6, 15, 11, 0, tzinfo=ZoneInfo(ZONE))


class Service:
    """The service in a thread, with a clock that stands still, and what it said."""

    def __init__(self, place, run_day=None, at=time(4, 10)):
        self.said, self.runs, self.stop = [], [], threading.Event()
        self.place, self.error = place, None
        self._run_day = run_day or (lambda *_: None)
        self._thread = threading.Thread(target=self._serve, args=(at,), daemon=True)

    def _run(self, plan, *, on, moment):
        self.runs.append(on)
        self._run_day(len(self.runs))
        return self.place.day(on)

    def _serve(self, at):
        try:
            serve(
                [self.place.plan],
                at=at,
                stop=self.stop,
                say=self.said.append,
                run_day=self._run,
                clock=lambda _zone: NOW,
            )
        except RillbookError as error:
            self.error = error

    def __enter__(self):
        self._thread.start()
        return self

    def __exit__(self, *_):
        self.stop.set()
        self.join()

    def join(self):
        self._thread.join(PATIENCE)
        assert not self._thread.is_alive()

    def until(self, happened):
        """Wait for a state that lasts, however slow the machine."""
        for _ in range(PATIENCE * 100):
            if happened():
                return
            clock_time.sleep(0.01)
        raise AssertionError(f"did not happen; said {self.said}")

    @property
    def health(self):
        return json.loads(health_path(self.place.ledger).read_text(encoding="utf-8"))
