"""Signs of fittings on the drawing of a layout, and the key that explains them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from scheduler.layout.graph import Fitting, FittingKind, Layout

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["draw_key", "draw_marks", "marked_fittings"]

Point = tuple[float, float]
Pattern = tuple[float, tuple[float, ...]]

INK = "#111111"
#: Sign of each fitting: marker, size, filled.
SIGNS: dict[FittingKind, tuple[str, float, bool]] = {
    "hand valve": ("X", 9.0, False),
    "tee": ("^", 7.0, True),
    "elbow": ("s", 5.0, True),
    "coupling": ("D", 5.0, False),
    "reducer": (">", 6.0, False),
    "barb": ("o", 5.0, False),
    "end cap": ("P", 7.0, True),
    "end plug": ("|", 8.0, True),
}
#: Signs are drawn at least this many points apart.
STEP = 9.0
POINTS = 72.0
_HAIR = 1e-6
# Where a sign is moved to, in the order in which room is looked for.
_WAYS = ((1, 0), (-1, 0), (0, -1), (0, 1))


def marked_fittings(layout: Layout) -> list[tuple[Fitting, float, float]]:
    """Return the fittings that have a place on the sketch, with it [m]: a valve in the middle of its tube."""
    placed = []
    for fitting in layout.fittings:
        ends = []
        if fitting.node is not None:
            ends = [layout.nodes[fitting.node]]
        elif fitting.edge is not None:
            edge = layout.edges[fitting.edge]
            ends = [layout.nodes[edge.start], layout.nodes[edge.end]]
        x = sum(node.x for node in ends) / len(ends)
        y = sum(node.y for node in ends) / len(ends)
        if all(node.placed for node in ends) and math.isfinite(x):
            placed.append((fitting, x, y))
    return placed


def draw_marks(axes: Axes, layout: Layout, drawn: Mapping[int, Point], *, inch: float) -> None:
    """Draw the sign of each fitting, those that would cover another moved aside.

    `drawn` says where nodes of a main are drawn, if not at their own place; `inch` is an inch of paper on
    the sketch [m].
    """
    from matplotlib.transforms import ScaledTranslation

    taken: list[Point] = []
    for fitting, x, y in marked_fittings(layout):
        if fitting.node is not None:
            x, y = drawn.get(fitting.node, (x, y))
        marker, size, filled = SIGNS[fitting.kind]
        aside = _aside((x / inch * POINTS, y / inch * POINTS), taken)
        move = ScaledTranslation(aside[0] / POINTS, aside[1] / POINTS, axes.figure.dpi_scale_trans)
        axes.plot(
            [x],
            [y],
            transform=axes.transData + move,
            linestyle="none",
            marker=marker,
            markersize=size,
            markerfacecolor=INK if filled else "white",
            markeredgecolor=INK,
            markeredgewidth=1.0,
            zorder=5,
        )


def _aside(point: Point, taken: list[Point]) -> Point:
    """Return how far aside of a point on paper a sign has room, and take that room [points]."""
    steps = 0
    while True:
        for right, up in _WAYS:
            move = (right * steps * STEP / 3, up * steps * STEP / 3)
            place = (point[0] + move[0], point[1] + move[1])
            if all(math.dist(one, place) >= STEP - _HAIR for one in taken):
                taken.append(place)
                return move
        steps += 1


def draw_key(figure: Figure, layout: Layout, patterns: Mapping[str, Pattern]) -> None:
    """Put the key below the drawing: tubes, signs in use with their counts, emitters."""
    from matplotlib.lines import Line2D

    laid = {edge.zone for edge in layout.edges if edge.kind == "main"}
    handles = [
        Line2D([], [], color=INK, linewidth=1.7, linestyle=pattern, label=f"main of {zone}")
        for zone, pattern in patterns.items()
        if zone in laid
    ]
    handles.append(Line2D([], [], color=INK, linewidth=2.0, label="header"))
    handles.append(
        Line2D([], [], color=INK, linewidth=0.9, marker="o", markersize=2.6, label="drip line and emitters")
    )
    for kind, (marker, size, filled) in SIGNS.items():
        count = sum(fitting.kind == kind for fitting in layout.fittings)
        if count:
            handles.append(
                Line2D(
                    [],
                    [],
                    linestyle="none",
                    marker=marker,
                    markersize=size,
                    markerfacecolor=INK if filled else "white",
                    markeredgecolor=INK,
                    label=f"{kind} ({count})",
                )
            )
    figure.legend(
        handles=handles, loc="outside lower center", ncols=5, fontsize=8, frameon=False, handlelength=4.0
    )
