"""What to record next, as the very lines to type."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.garden.dimensions import System
from scheduler.reconcile.baseline import FIRST_TESTS
from scheduler.reconcile.overview import Overview
from scheduler.show.reconcile_words import since_relaid

__all__ = ["NextStep", "next_steps"]

#: An invented reading, for people to put their own in its place.
_EXAMPLE: dict[System, str] = {"metric": "84.512 m3", "us": "22325.4 gal"}


@dataclass(frozen=True, slots=True)
class NextStep:
    """Why something should be recorded, and the lines to type, in their order."""

    why: str
    commands: tuple[str, ...]


class _Lines:
    """Writes the lines for one plan."""

    def __init__(self, plan: str, system: System) -> None:
        self._plan, self._example = plan, _EXAMPLE[system]

    def log(self, *words: str) -> str:
        return " ".join(["rillbook log", *words, "--garden", _quoted(self._plan)])

    def meter(self, *words: str) -> str:
        return self.log("meter", f'"{self._example}"', *words)


def _quoted(text: str) -> str:
    """Return a word for the command line, in quotes where it needs them."""
    plain = text.replace("/", "").replace(".", "").replace("-", "").replace("_", "").isalnum()
    if plain:
        return text
    return '"' + "".join(f"\\{letter}" if letter in '\\"$`' else letter for letter in text) + '"'


def next_steps(found: Overview, *, plan: str, system: System) -> tuple[NextStep, ...]:
    """Return what is worth recording next, the most useful first; empty if all is known.

    Parameters
    ----------
    plan : str
        The plan's file as the person named it.
    """
    lines = _Lines(plan, system)
    steps = (_whole(found, lines), _first_tests(found, lines), _more_tests(found, lines))
    later = (_runs(found, lines), _night(found, lines)) if found.water else ()
    return tuple(step for step in (*steps, *_singles(found, lines), *later) if step is not None)


def _whole(found: Overview, lines: _Lines) -> NextStep | None:
    """Return the step to two readings of the whole garden."""
    if found.inputs.spans:
        return None
    if not found.inputs.whole:
        return NextStep(
            "Read the meter now, and again in a week: the water in between is set against the runs.",
            (lines.meter(),),
        )
    return NextStep(
        "One reading of the whole garden says nothing by itself; read the meter again after some days.",
        (lines.meter(),),
    )


def _first_tests(found: Overview, lines: _Lines) -> NextStep | None:
    """Return the step to a first test of every bed."""
    untested = [bed for bed in found.beds if not bed.tests]
    if not untested:
        return None
    first = f"Flow of {untested[0].bed}{since_relaid(untested[0])}"
    line = lines.meter("--bed", _quoted(untested[0].bed))
    others = f"; then likewise {', '.join(one.bed for one in untested[1:])}" if untested[1:] else ""
    why = (
        f"{first}: no water in the house, all other beds shut; read the meter, let this bed "
        f"alone run for 30 minutes, read it again{others}."
    )
    return NextStep(why, (line, line))


def _more_tests(found: Overview, lines: _Lines) -> NextStep | None:
    """Return the step from the printed flow to a baseline of a bed's own."""
    wanting = [bed for bed in found.beds if bed.tests and not bed.baseline.tests]
    if not wanting:
        return None
    bed = wanting[0]
    # The newest test is compared, so the baseline needs that many before it.
    more = max(1, FIRST_TESTS + 1 - len(bed.tests))
    count = "one more test" if more == 1 else f"{more} more tests"
    line = lines.meter("--bed", _quoted(bed.bed))
    others = f", and likewise {', '.join(one.bed for one in wanting[1:])}" if wanting[1:] else ""
    return NextStep(
        f"{bed.bed} is compared with its printed flow{since_relaid(bed)}; after {count} it has a baseline of "
        f"its own{others}.",
        (line, line),
    )


def _singles(found: Overview, lines: _Lines) -> Iterator[NextStep]:
    """Yield a step for each bed whose newest reading is the first half of a test."""
    for bed, at in found.inputs.single:
        if at == found.inputs.newest:
            yield NextStep(
                f"{bed}: the reading of {at:%H:%M} is the beginning of a test; read again at its end.",
                (lines.meter("--bed", _quoted(bed)),),
            )


def _runs(found: Overview, lines: _Lines) -> NextStep | None:
    """Return the step to know what ran."""
    if not found.water[-1].span.unknown:
        return None
    return NextStep(
        "What ran is not known of every day; keep it day by day, or let the table of each week be kept.",
        (lines.log("ran", "--on", "yesterday"),),
    )


def _night(found: Overview, lines: _Lines) -> NextStep | None:
    """Return the step to a test for leaks, the short one where it is known when runs come."""
    if found.leak is not None:
        return None
    if not found.water[-1].span.unknown:
        return NextStep(
            "A leak shows while nothing runs: read the meter late in the evening and again before the runs "
            "of the morning, with no water used in the house.",
            (lines.meter(), lines.meter()),
        )
    shut = [lines.log("valve", _quoted(bed.bed), "shut") for bed in found.beds]
    again = [lines.log("valve", _quoted(bed.bed), "open") for bed in found.beds]
    return NextStep(
        "A leak shows while nothing runs: shut every bed valve in the evening and set the timer open; read "
        "the meter then and in the morning, with no water used in the house; open the valves again.",
        (*shut, lines.meter(), lines.meter(), *again),
    )
