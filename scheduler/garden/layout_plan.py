"""The layout as the plan gives it: head assembly, main line, named segments, and where each bed lies.

Units as in `plan`: lengths, heights and inside diameters m, pressures kPa, flows L/h, angles degrees. Heights
are above the tap outlet. The sketch grid has x to the right and y upwards; angles turn anticlockwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = [
    "BedMeasures",
    "BedPlace",
    "HeadPart",
    "LayoutPlan",
    "MainLine",
    "Segment",
    "Takeoff",
    "outlet_name",
]

Point = tuple[float, float]
HeadKind = Literal["timer", "backflow preventer", "filter", "regulator", "adapter", "other"]
BackflowKind = Literal["vacuum breaker", "pressure vacuum breaker", "other"]
Inlet = Literal["left", "right", "bottom", "top", "bottom left", "bottom right", "top left", "top right"]
SegmentFitting = Literal["tee", "elbow", "coupling", "reducer"]


@dataclass(frozen=True, slots=True)
class HeadPart:
    """One part of the head assembly, in the order of the water.

    Attributes
    ----------
    part : str
        What it is; `kind` tells which backflow preventer, None for other parts.
    name : str
        Words of the person for it; empty if there are none.
    loss, at_flow : float or None
        Pressure that it takes [kPa] at a flow [L/h]; both None where the plan does not say.
    height : float or None
        Above the tap outlet [m].
    mesh : int or None
        Threads per inch of a filter's screen; `opening` [m] is the other way to say it.
    set_pressure : float or None
        Outlet pressure of a regulator [kPa], which holds from `lowest_flow` to `highest_flow` [L/h].
    """

    part: HeadKind
    kind: BackflowKind | None = None
    name: str = ""
    loss: float | None = None
    at_flow: float | None = None
    height: float | None = None
    mesh: int | None = None
    opening: float | None = None
    set_pressure: float | None = None
    lowest_flow: float | None = None
    highest_flow: float | None = None

    @property
    def label(self) -> str:
        """Return what to call it."""
        return self.name or (f"{self.part} ({self.kind})" if self.kind else self.part)


@dataclass(frozen=True, slots=True)
class MainLine:
    """The tube from the head assembly past the beds.

    Attributes
    ----------
    start : Point
        Where the head assembly stands on the sketch grid [m].
    order : tuple of str
        Beds in the order in which the main reaches them; each zone's branch visits its own.
    height : float
        Of the tube above the tap outlet [m].
    """

    start: Point
    order: tuple[str, ...]
    inside_diameter: float
    material: str
    height: float


@dataclass(frozen=True, slots=True)
class Segment:
    """One named piece of main line between two named points.

    Attributes
    ----------
    start, end : str
        ``outlet 1`` and so on for a timer outlet, the name of a bed for its inlet, else a junction.
    rise : float
        How far `end` lies above `start` [m].
    fittings : tuple of (str, int)
        Fittings along it, each with how many.
    at : Point or None
        Where `end` lies on the sketch grid [m].
    """

    name: str
    start: str
    end: str
    length: float
    inside_diameter: float
    rise: float
    fittings: tuple[tuple[SegmentFitting, int], ...] = ()
    at: Point | None = None


@dataclass(frozen=True, slots=True)
class Takeoff:
    """What to buy beyond the drawing: a share to spare, and the most tube between two stakes [m]."""

    spare: float
    stake_spacing: float


@dataclass(frozen=True, slots=True)
class LayoutPlan:
    """All that the plan says of the layout outside the beds; `main_line` is None if segments name it all."""

    head: tuple[HeadPart, ...]
    main_line: MainLine | None
    segments: tuple[Segment, ...]
    takeoff: Takeoff

    @property
    def head_height(self) -> float:
        """Return how high the end of the head assembly lies above the tap outlet [m]."""
        heights = [part.height for part in self.head if part.height is not None]
        return heights[-1] if heights else 0.0


@dataclass(frozen=True, slots=True)
class BedMeasures:
    """The measures of a bed and of the line in it [m], as far as its shape has them.

    `end_gap` is the gap between a line and the board, given or assumed.
    """

    end_gap: float
    length: float | None = None
    width: float | None = None
    diameter: float | None = None
    corners: tuple[Point, ...] = ()
    runs: int | None = None
    rings: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class BedPlace:
    """Where a bed lies and how the water comes into it.

    Attributes
    ----------
    position : Point or None
        Centre of a round bed; of any other the corner from which its measures go: length along x, width along
        y, corners as they are. None in a plan whose segments need no sketch.
    rotation : float
        About that point, anticlockwise [degrees].
    rim_height : float or None
        Top of the boards above the tap outlet; None if the segments tell it.
    inlet : str
        Where the riser comes up, as the bed lies before it is turned.
    header_diameter : float
        Inside diameter of riser and header [m].
    valve_loss, valve_loss_at : float or None
        Pressure that the open hand valve takes [kPa] at a flow [L/h].
    """

    position: Point | None
    rotation: float
    rim_height: float | None
    inlet: Inlet
    header_diameter: float
    valve_loss: float | None = None
    valve_loss_at: float | None = None


def outlet_name(number: int) -> str:
    """Return what segments call a timer outlet."""
    return f"outlet {number}"
