"""The garden plan file: TOML text -> `Garden`, with every fault of the file at once."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from scheduler.errors import Fault, PlanError
from scheduler.garden.build import build_garden
from scheduler.garden.checks import check_plan
from scheduler.garden.checks_built import check_garden
from scheduler.garden.plan import Garden
from scheduler.garden.plantables import read_tables
from scheduler.garden.schema import plan_schema

__all__ = ["load_plan", "parse_plan", "plan_schema"]

#: Largest plan file that is read [bytes]; a plan of a hundred beds takes about a twentieth.
_LARGEST = 1_000_000
_LINE = re.compile(r"\(at line (\d+), column (\d+)\)")
_SECRET = re.compile(r"\b(password|token)\b.*", re.IGNORECASE)
_DATE_LIKE = re.compile(r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}")
_TIME_LIKE = re.compile(r"=\s*\d{1,2}:\d{2}(?!:)")
_SYNTAX_HINT = (
    'text, quantities and prices stand in quotes, e.g. length = "8 ft"; dates, times and counts do not'
)


def load_plan(path: str | Path) -> Garden:
    """Return the garden plan in a file.

    Raises
    ------
    PlanError
        If the file cannot be read or has faults; it lists all of them.
    """
    source = str(path)
    try:
        with Path(path).open("rb") as file:
            content = file.read(_LARGEST + 1)
    except OSError as error:
        reason = (error.strerror or "cannot be read").lower()
        raise PlanError(source, [Fault("", f"cannot be opened: {reason}", "give a plan file")]) from error
    if len(content) > _LARGEST:
        raise PlanError(
            source,
            [
                Fault(
                    "", "the file is larger than 1 MB", "a garden plan is a short text: is it the right file?"
                )
            ],
        )
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        fault = Fault(f"line {line}", "holds bytes that are not text", "save the plan as UTF-8 text")
        raise PlanError(source, [fault]) from error
    garden, faults = parse_plan(text, source=source)
    if garden is None:
        raise PlanError(source, faults)
    return garden


def parse_plan(text: str, *, source: str) -> tuple[Garden | None, list[Fault]]:
    """Return the garden plan in a text, or None and all that is wrong with it.

    Parameters
    ----------
    text : str
        The plan as TOML; a byte-order mark is accepted.
    source : str
        Name of the file, for faults that concern it as a whole.

    Returns
    -------
    tuple of (Garden or None, list of Fault)
        Either a garden and no fault, or None and at least one.
    """
    raw = _read_toml(text.removeprefix("\ufeff"))
    if isinstance(raw, Fault):
        return None, [raw]
    if not raw:
        return None, [Fault("", "the plan is empty", "begin with format = 1 and a name")]
    tables, faults = read_tables(raw)
    faults += check_plan(tables)
    if faults:
        return None, faults
    garden = build_garden(tables)
    faults = list(check_garden(garden))
    return (None, faults) if faults else (garden, [])


def _read_toml(text: str) -> dict[str, Any] | Fault:
    """Return the raw tables, or the first place that is not TOML."""
    try:
        return tomllib.loads(text)
    except RecursionError:
        return Fault("", "brackets lie too deep in each other", _SYNTAX_HINT)
    except ValueError as error:
        return _syntax_fault(str(error), text)


def _syntax_fault(message: str, text: str) -> Fault:
    """Return where the reader of TOML gave up, with the line as written."""
    reason = _LINE.sub("", message).replace("(at end of document)", "").strip()
    place = _LINE.search(message)
    lines = text.splitlines()
    number = int(place[1]) if place else len(lines)
    column = f", column {place[2]}" if place else ""
    written = lines[number - 1].strip()[:80] if 0 < number <= len(lines) else ""
    # A secret that stands there against the rules is not repeated on a screen or in a log.
    written = _SECRET.sub(r"\1 = ...", written)
    found = f"`{written}` cannot be read ({reason[:1].lower()}{reason[1:]})"
    wanted = _SYNTAX_HINT
    if "overwrite" in reason:
        wanted = "each key may stand once in its table"
    elif _DATE_LIKE.search(written):
        wanted = "dates stand without quotes as year-month-day, e.g. 2026-05-12"
    elif _TIME_LIKE.search(written):
        wanted = "times stand without quotes as hours:minutes:seconds, e.g. 04:30:00"
    return Fault(f"line {number}{column}", found, wanted)
