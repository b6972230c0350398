"""Readings that look wrong, as things to tell once. Pure."""

from __future__ import annotations

from scheduler.reconcile.overview import Overview
from scheduler.service.notices import Doubt

__all__ = ["doubts_of"]

_WORDS = {
    "flow": "the flow of {beds} is not what it was",
    "drift": "the flow of {beds} drifts away from what it was",
    "leak": "water passes the meter while every valve is shut",
    "water": "the meter does not agree with what the runs should have used",
    "reading": "a reading cannot be right beside the others",
}


def doubts_of(found: Overview, *, garden: str, plan: str) -> tuple[Doubt, ...]:
    """Return what of a garden's readings looks wrong.

    Parameters
    ----------
    found : Overview
    garden : str
        Name of the garden.
    plan : str
        File of the plan as a person would name it.

    Returns
    -------
    tuple of Doubt
        One for each kind; it is another one, and told anew, when other beds are concerned.
    """
    beds = {
        "flow": {bed for one in found.rounds for finding in one.diagnosis.findings for bed in finding.beds},
        "drift": {drift.bed for drift in found.drifts if drift.alarm is not None and drift.alarm.standing},
    }
    doubts = []
    for kind in found.wrong:
        names = ", ".join(sorted(beds.get(kind, ())))
        words = _WORDS[kind].format(beds=names)
        text = f"{garden}: {words}. What to look at first: rillbook reconcile {plan}"
        doubts.append(Doubt(f"{kind} {names}".strip(), text))
    return tuple(doubts)
