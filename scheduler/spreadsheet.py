"""CSV as it leaves the program: its texts are no formulas to a spreadsheet program, and come back whole."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

__all__ = ["csv_text", "guarded", "unguarded"]

GUARD = "'"

# What begins a formula, or is dropped before one: = + - @, tab, line ends, and the full-width signs, which
# some programs take for the plain ones. Apostrophes in front are those of a guard, or look like one.
_FORMULA = re.compile(r"'*[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]")

# A plain number, such as a sum of money kept as text: no formula, and worth adding up.
_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?")


def guarded(text: str) -> str:
    """Return a text with an apostrophe in front if a spreadsheet program might run it as a formula.

    One that looks as if it had been guarded already gets another, so that `unguarded` always gives back what
    was there. A plain number stays one.
    """
    return GUARD + text if _FORMULA.match(text) and not _NUMBER.fullmatch(text) else text


def unguarded(text: str) -> str:
    """Return a text without the apostrophe that `guarded` has put in front; any other text as it is."""
    return text[1:] if text.startswith(GUARD) and _FORMULA.match(text) else text


def csv_text(columns: Sequence[str], rows: Iterable[Mapping[str, Any]]) -> str:
    """Return rows under a heading as CSV, lines ending with a line feed; None is an empty cell.

    A number keeps all its digits. Texts are written as they are: guard those that a person has chosen.
    """
    lines: list[str] = []
    for cells in (columns, *([row[name] for name in columns] for row in rows)):
        line = io.StringIO(newline="")
        # The writer puts quotes around a carriage return only if it ends its own lines with one.
        csv.writer(line, lineterminator="\r\n").writerow(cells)
        lines.append(line.getvalue().removesuffix("\r\n") + "\n")
    return "".join(lines)
