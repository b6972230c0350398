"""What the columns of a station's own file are, as the person who has it declares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from scheduler.errors import UnitError
from scheduler.garden.units import Dimension, convert
from scheduler.weather.findings import Findings
from scheduler.weather.sources.documents import shown

__all__ = ["QUANTITIES", "StationLayout", "column_places"]

#: Quantity -> kind, and the range beyond which a reading cannot be: canonical units, solar in W/m2,
#: rain since the row before or since a start.
QUANTITIES: dict[str, tuple[Dimension, float, float]] = {
    "temperature": ("temperature", -60.0, 60.0),
    "humidity": ("percent", 0.0, 105.0),
    "dew_point": ("temperature", -60.0, 60.0),
    "wind": ("speed", 0.0, 60.0),
    "solar": ("radiation", -20.0, 1800.0),
    "rain": ("water_depth", 0.0, 20_000.0),
}
#: Cells that stand for a missing value beside empty ones.
_MISSING = ("-", "--", "---", "m", "na", "n/a", "nan", "null", "none", "32767", "65535", "-9999", "-999")


@dataclass(frozen=True, slots=True)
class StationLayout:
    """How to read the rows of a station.

    Attributes
    ----------
    time_columns : tuple of str
        One column with date and time, or two to be read one after the other.
    time_format : str
        As `datetime.strptime` takes it, such as ``%d.%m.%Y %H:%M``: day or month first is never guessed.
    columns : dict of str to (str, str)
        Quantity, one of `QUANTITIES`, -> (column, unit). Solar is a flux in W/m2.
    rain : {"daily total", "counter", "interval"}
        The total since the midnight of the station's clock, which starts anew there; a total that
        starts anew now and then; or what fell since the row before.
    clock : {"local", "standard", "utc"}
        What the station's clock shows: local time with its changes, local time without them, or UTC.
    decimal : {".", ","}
    missing : tuple of str
        Cells that stand for a missing value, in any case; an empty cell always does.
    longest_step : float
        Minutes between two rows over which both still speak for the time between them.
    least_share : float
        Share of a day that must be covered before it counts, 0..1. After the practice of state
        networks, from memory: 90 % of a day.
    least_share_solar : float
        The same for radiation, where a gap at noon weighs more: 99 %, likewise.
    """

    time_columns: tuple[str, ...]
    time_format: str
    columns: dict[str, tuple[str, str]]
    rain: Literal["daily total", "counter", "interval"] = "daily total"
    clock: Literal["local", "standard", "utc"] = "local"
    decimal: Literal[".", ","] = "."
    missing: tuple[str, ...] = _MISSING
    longest_step: float = 60.0
    least_share: float = 0.9
    least_share_solar: float = 0.99


def column_places(
    header: Sequence[str], layout: StationLayout, *, findings: Findings
) -> tuple[tuple[int, ...], dict[str, int]]:
    """Return the places of the time columns, and of each quantity; what is wrong goes into `findings`."""
    times = tuple(_place(header, name, where="time", findings=findings) for name in layout.time_columns)
    if not 1 <= len(times) <= 2:
        findings.fault("time", f"{len(times)} columns", "one column with date and time, or two")
    if not layout.longest_step > 0 or not (0 < layout.least_share <= 1 and 0 < layout.least_share_solar <= 1):
        shares = f"{layout.least_share:g} and {layout.least_share_solar:g}"
        found = f"longest step {layout.longest_step:g} min, shares {shares}"
        findings.fault("layout", found, "a step above 0 min, and shares of a day above 0 and up to 1")
    places: dict[str, int] = {}
    for quantity, (name, unit) in layout.columns.items():
        if quantity not in QUANTITIES:
            findings.fault(
                f"columns > {shown(quantity)[1:-1]}", "no such quantity", f"one of {', '.join(QUANTITIES)}"
            )
            continue
        places[quantity] = _place(header, name, where=f"columns > {quantity}", findings=findings)
        _check_unit(quantity, unit, findings)
    if "temperature" not in layout.columns and "rain" not in layout.columns:
        findings.fault("columns", "neither temperature nor rain", "at least one of them")
    used = [*times, *places.values()]
    if -1 not in used and len(set(used)) < len(used):
        findings.fault("columns", "one column for two purposes", "a column of its own for each")
    unread = [f'"{name}"' for place, name in enumerate(header) if name and place not in used]
    if unread:
        findings.notes.append(f"columns not read: {', '.join(unread)}")
    return times, places


def _place(header: Sequence[str], name: str, *, where: str, findings: Findings) -> int:
    """Return the place of the one column of a name, -1 and a fault without one."""
    places = [place for place, text in enumerate(header) if text.casefold() == name.strip().casefold()]
    if len(places) == 1:
        return places[0]
    number = "no column" if not places else f"{len(places)} columns"
    listed = ", ".join(f'"{text}"' for text in header if text)
    findings.fault(where, f'{number} named "{name}"', f"exactly one; the file has {listed}")
    return -1


def _check_unit(quantity: str, unit: str, findings: Findings) -> None:
    try:
        factor = convert(np.array([0.0, 1.0]), unit, QUANTITIES[quantity][0])
    except UnitError as error:
        findings.fault(f"columns > {quantity}", error.found, error.wanted)
        return
    flux = convert(np.array([0.0, 1.0]), "W/m2", "radiation")
    if quantity == "solar" and not np.array_equal(factor, flux):
        findings.fault("columns > solar", f'a unit "{unit}"', "a flux in W/m2 at the time of the row")
