"""How long a sown or transplanted bed needs its surface wet. Pure."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from scheduler.garden.plan import Planting

__all__ = ["wet_until"]


def wet_until(planting: Planting) -> date | None:
    """Return the last day on which a seedbed's surface must stay wet or transplants take hold, if any."""
    days = max(planting.surface_wet_days, planting.establishing_days)
    return planting.planted + timedelta(days=int(np.ceil(days)) - 1) if days > 0.0 else None
