"""What was measured in the garden and written into the plan: tests of the beds' flow, and of the water.

Units as in `plan`: volumes L, flows L/h, times minutes, shares 0..1.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

__all__ = ["BedFlowTest", "CupTest", "WaterTest"]

MINUTES_PER_HOUR = 60.0


@dataclass(frozen=True, slots=True)
class CupTest:
    """Volumes [L] caught under some emitters of one bed in `minutes`."""

    bed: str
    on: date
    minutes: float
    volumes: tuple[float, ...]

    @property
    def emitter_flow(self) -> float:
        """Mean flow of one emitter [L/h]."""
        return sum(self.volumes) / len(self.volumes) / self.minutes * MINUTES_PER_HOUR


@dataclass(frozen=True, slots=True)
class BedFlowTest:
    """Water that one bed, or several of a zone together, took in some minutes.

    Attributes
    ----------
    beds : tuple of str
        The beds whose valves were open.
    shares : tuple of float
        Part of the water of each of them, by their printed flows; they add up to 1.
    minutes, volume : float
        [min], [L].
    method : str
        ``bucket``: caught; ``meter``: the difference of two readings.
    smallest_digit : float
        Smallest step of the meter that can be read [L]; 0 for a bucket.
    """

    beds: tuple[str, ...]
    shares: tuple[float, ...]
    on: date
    minutes: float
    volume: float
    method: Literal["bucket", "meter"]
    smallest_digit: float = 0.0

    def flow_of(self, bed: str) -> float:
        """Return the flow of one of its beds [L/h]."""
        return self.volume * self.shares[self.beds.index(bed)] / self.minutes * MINUTES_PER_HOUR


@dataclass(frozen=True, slots=True)
class WaterTest:
    """What a laboratory or test strips found in the water; None for what was not tested.

    Solids, metals, hydrogen sulfide and hardness (as CaCO3) in mg/L, bacteria in a millilitre.
    """

    suspended_solids: float | None = None
    ph: float | None = None
    dissolved_solids: float | None = None
    manganese: float | None = None
    iron: float | None = None
    hydrogen_sulfide: float | None = None
    hardness: float | None = None
    bacteria: float | None = None
