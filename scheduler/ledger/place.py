"""Where the ledger of a garden lies."""

from __future__ import annotations

from pathlib import Path

from scheduler.garden.plan import Garden

__all__ = ["ledger_path"]


def ledger_path(plan: Path, garden: Garden) -> Path:
    """Return the ledger's file: the plan's own `ledger` key, else beside the plan under its name."""
    if garden.ledger is not None:
        return plan.parent / garden.ledger
    return plan.with_suffix(".ledger.sqlite")
