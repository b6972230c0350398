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
#: Fittings at one place are drawn this many points apart.
STEP = 7.0
POINTS = 72.0


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


def draw_marks(axes: Axes, layout: Layout, drawn: Mapping[int, Point]) -> None:
    """Draw the sign of each fitting, several at one place side by side.

    `drawn` says where nodes of a main are drawn, if not at their own place.
    """
    from matplotlib.transforms import ScaledTranslation

    seen: dict[tuple[float, float], int] = {}
    for fitting, x, y in marked_fittings(layout):
        if fitting.node is not None:
            x, y = drawn.get(fitting.node, (x, y))
        place = (round(x, 3), round(y, 3))
        number = seen.get(place, 0)
        seen[place] = number + 1
        marker, size, filled = SIGNS[fitting.kind]
        move = ScaledTranslation(STEP * number / POINTS, 0, axes.figure.dpi_scale_trans)
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
