"""How hard the planner looks for the best timetable before it gives the best that it has found. Pure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

__all__ = ["QUICK_EFFORT", "USUAL_EFFORT", "Effort"]


def _unlimited() -> float:
    """Return that there is time enough."""
    return float("inf")


@dataclass(frozen=True, slots=True)
class Effort:
    """Limits on an exact search.

    Without a limit on seconds the same question always has the same answer, however busy the machine is.

    Attributes
    ----------
    combinations : int
        Combinations of settings that are tried on the clock.
    nodes : int
        Branches that the solver may look at in one program.
    options : int
        Ways to set the zones that the solver goes through in one program, beside the most promising ones.
    seconds_left : callable
        Returns the seconds that are left.
    """

    combinations: int = 40
    nodes: int = 1_000
    options: int = 2_000
    seconds_left: Callable[[], float] = _unlimited

    @property
    def spent(self) -> bool:
        """True if no time is left."""
        return self.seconds_left() <= 0.0

    def solver_options(self) -> dict[str, float]:
        """Return the options of `scipy.optimize.milp`; gaps between whole numbers are closed."""
        options: dict[str, float] = {"node_limit": self.nodes, "mip_rel_gap": 0.0}
        left = self.seconds_left()
        if left != float("inf"):
            options["time_limit"] = max(left, 0.01)
        return options


#: Of the planner of a week.
USUAL_EFFORT = Effort()

#: Of the many weeks of a replay.
QUICK_EFFORT = Effort(combinations=5, nodes=100, options=0)
