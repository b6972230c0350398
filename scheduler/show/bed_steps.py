"""The numbered steps of a bed's working, each with its value in canonical units and as shown to a person."""

from __future__ import annotations

from scheduler.garden.dimensions import Dimension, System
from scheduler.garden.units import to_display, unit_label
from scheduler.show.report import Row

__all__ = ["Steps"]

#: Unit in machine output of each dimension used here.
UNITS: dict[Dimension | None, str] = {
    "area": "m2",
    "length": "m",
    "flow": "L/h",
    "application_rate": "mm/h",
    "ratio": "share",
    "water_depth": "mm",
    "duration": "min",
    "volume": "L",
    "salinity": "dS/m",
    None: "",
}


class Steps:
    """Collects numbered steps, each with its value in canonical units and as shown to a person."""

    def __init__(self, system: System) -> None:
        self.rows: list[Row] = []
        self.system = system

    def add(self, quantity: str, value: float, *, of: Dimension | None, working: str, source: str) -> None:
        """Add a step; `of` is the dimension of its value, None for a plain number."""
        self.rows.append(
            {
                "step": len(self.rows) + 1,
                "quantity": quantity,
                "shown": self.exact(value, of),
                "value": float(value),
                "unit": UNITS[of],
                "working": working,
                "source": source,
            }
        )

    def exact(self, value: float, of: Dimension | None) -> str:
        """Return a value with enough digits to go on reckoning by hand."""
        if of is None:
            return f"{value:.4g}"
        return f"{float(to_display(value, of, self.system)):.4g} {unit_label(of, self.system)}"
