"""How a service that stays is doing: one line a day for its log, and a file for whoever watches it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from scheduler.service.day import DayReport
from scheduler.show.wholefile import write_whole

__all__ = ["Health", "health_line", "health_path", "last_success", "write_health"]

SCHEMA = "rillbook.health/1"


@dataclass(frozen=True, slots=True)
class Health:
    """The state of one garden's service; instants are aware, texts empty if there is nothing to say.

    `problems` did not stop the last success; `last_error` did stop the last run, and is empty again after
    a success; `failures` counts the runs that failed since.
    """

    garden: str
    last_run: datetime | None = None
    last_success: datetime | None = None
    next_run: datetime | None = None
    last_error: str = ""
    failures: int = 0
    problems: tuple[str, ...] = ()


def health_path(ledger: Path) -> Path:
    """Return where the health file of a ledger lies."""
    return ledger.with_name(f"{ledger.name}.health.json")


def last_success(path: Path) -> datetime | None:
    """Return the last success that a health file tells of; None if there is no such file, or none in it."""
    try:
        return datetime.fromisoformat(json.loads(path.read_text(encoding="utf-8"))["last_success"])
    except (OSError, ValueError, KeyError, TypeError):
        return None


def write_health(path: Path, health: Health) -> None:
    """Write the health file, whole or not at all.

    Raises
    ------
    RillbookError
        If it cannot be written.
    """
    document = {
        "schema": SCHEMA,
        "garden": health.garden,
        "last_run": _text(health.last_run),
        "last_success": _text(health.last_success),
        "next_run": _text(health.next_run),
        "last_error": health.last_error or None,
        "failures": health.failures,
        "problems": list(health.problems),
    }
    text = json.dumps(document, ensure_ascii=False, indent=2) + "\n"
    write_whole(path, lambda file: file.write(text.encode()))


def health_line(health: Health, report: DayReport | None) -> str:
    """Return one line on a run: what it did, or why it failed, and when the next one is."""
    if report is None:
        again = f" ({health.failures} times in a row)" if health.failures > 1 else ""
        done = f"FAILED{again}: {' '.join(health.last_error.split())}"
    else:
        kept = "recorded" if report.recorded else "already there"
        done = f"table of {report.on} {kept}, {_count(len(report.notices), 'notice')}"
        if report.missed:
            done += f", {_count(len(report.missed), 'day')} without a table before it"
        if report.problems:
            done += f", {_count(len(report.problems), 'problem')}"
    following = "none" if health.next_run is None else f"{health.next_run:%Y-%m-%d %H:%M %z}"
    return f"{health.garden}: {done}; next run {following}"


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def _text(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat(timespec="seconds")
