"""What keeps a week's runs from fitting, the least that would have to give way, and the table then."""

from __future__ import annotations

from scheduler.show.report import Column, Part, Row
from scheduler.timetable.conflict import Conflict
from scheduler.timetable.options import WATER_PARTS

__all__ = ["conflict_lines", "conflict_part"]

COLUMNS = (
    Column("change", "change"),
    Column("limit", "of"),
    Column("water_l", "water", "volume"),
)


def _joined(names: tuple[str, ...]) -> str:
    """Return names as a list in a sentence."""
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def conflict_part(conflict: Conflict) -> Part:
    """Return every single change that would do."""
    rows: list[Row] = [
        {"change": easing.change, "limit": easing.limit, "water_l": easing.plan.score.water / WATER_PARTS}
        for easing in conflict.easings
    ]
    return Part("changes", "Any one of these would do", COLUMNS, tuple(rows))


def conflict_lines(conflict: Conflict) -> list[str]:
    """Return which limits are in each other's way, and that a restriction is not ours to ease."""
    if not conflict.limits:
        return []
    together = " together" if len(conflict.limits) > 1 else ""
    lines = [
        f"IN THE WAY{together}: {_joined(conflict.limits)}. Whatever else gave way, beds would go short."
    ]
    if not conflict.easings:
        lines.append("No change of these limits alone lets the runs fit.")
    elif any("restriction" in easing.limit for easing in conflict.easings):
        lines.append("Only who made a restriction can ease it: ask before you water on other days or hours.")
    return lines
