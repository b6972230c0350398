"""The exception tree.

RillbookError           exit 1   anything a person can mend by changing an input
├── UnitError           exit 1   a quantity without a unit, or with one of the wrong dimension
├── PlanError           exit 1   faults in a garden plan file, all of them at once
├── WeatherError        exit 1   faults in a weather record
├── LedgerError         exit 1   a ledger file that cannot be used, or faults in what should be entered
├── NetworkError        exit 1   a layout of tubes that cannot be solved, all faults at once
├── UnsettledError      exit 1   pressures and flows that did not settle; none of them is handed out
├── SourceError         exit 4   weather that could not be fetched, or came back unusable
└── TimetableError      exit 3   answered, but the runs do not fit the timer or the windows
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "Fault",
    "LedgerError",
    "NetworkError",
    "PlanError",
    "RillbookError",
    "SourceError",
    "TimetableError",
    "UnitError",
    "UnsettledError",
    "WeatherError",
]


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong, told so that a gardener can mend it.

    Attributes
    ----------
    where : str
        Place in the file, for example ``bed "tall bed" > length``, or ``row 14, column tmax``.
    found : str
        What was found there.
    wanted : str
        What would be right, with an example where that helps.
    """

    where: str
    found: str
    wanted: str

    def __str__(self) -> str:
        """Return the fault as one line."""
        return f"{self.where}: {self.found}; {self.wanted}" if self.where else f"{self.found}; {self.wanted}"


class RillbookError(Exception):
    """Base of every error that a person can mend; shown without a traceback."""

    exit_code = 1


class UnitError(RillbookError):
    """A quantity that cannot be read: no unit, an unknown unit or the wrong dimension."""

    def __init__(self, found: str, wanted: str) -> None:
        self.found = found
        self.wanted = wanted
        super().__init__(f"{found}; {wanted}")


class _FaultListError(RillbookError):
    """An error that carries every fault of one file."""

    def __init__(self, source: str, faults: list[Fault]) -> None:
        self.source = source
        self.faults = tuple(faults)
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        lines = "\n".join(f"  {fault}" for fault in faults)
        super().__init__(f"{source}: {count}\n{lines}")


class PlanError(_FaultListError):
    """A garden plan file that cannot be used; lists all its faults."""


class WeatherError(_FaultListError):
    """A weather record that cannot be used; lists all its faults."""


class SourceError(_FaultListError):
    """Weather that could not be fetched, with nothing stored in its place, or an unusable answer."""

    exit_code = 4


class LedgerError(_FaultListError):
    """A ledger that cannot be used, or entries it refuses; lists all faults."""


class NetworkError(_FaultListError):
    """A layout of tubes, emitters and parts that cannot be solved; lists all its faults."""


class UnsettledError(RillbookError):
    """Pressures and flows that did not settle; no answer is handed out.

    Attributes
    ----------
    mass_residual : float
        Largest imbalance of any node, as a share of the total flow.
    head_residual : float
        Largest disagreement of any tube's loss with the heads at its ends [m].
    steps : int
        Steps that were tried.
    """

    def __init__(self, why: str, *, mass_residual: float, head_residual: float, steps: int) -> None:
        self.mass_residual = mass_residual
        self.head_residual = head_residual
        self.steps = steps
        super().__init__(
            f"the pressures of the layout did not settle in {steps} steps ({why}): flows miss by"
            f" {mass_residual:.1e} of the total, losses by {head_residual:.1e} m; check for lengths, bores or"
            " losses that are far from those of real tube and parts"
        )


class TimetableError(RillbookError):
    """A timetable that does not fit the timer, the windows or the tap."""

    exit_code = 3
