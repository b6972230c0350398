"""How angles on the sketch are read."""

from __future__ import annotations

import math
import re

from scheduler.errors import UnitError
from scheduler.garden.fields import Reader, shown

__all__ = ["Turn"]

_TURN = re.compile(r"([-+]?\d{1,4}(?:\.\d{1,6})?)\s*(?:deg|degree|degrees|°)", re.ASCII)
_FULL = 360.0


class Turn(Reader):
    """An angle to turn by, anticlockwise, as text with its unit."""

    def read(self, value: object) -> float:
        """Return the angle [degrees], from 0 to below a full turn."""
        match = _TURN.fullmatch(value.strip()) if isinstance(value, str) else None
        if match is None:
            raise UnitError(
                f"{shown(value)} is not an angle", f"write degrees, anticlockwise, e.g. {self.example()}"
            )
        return math.fmod(math.fmod(float(match[1]), _FULL) + _FULL, _FULL)
