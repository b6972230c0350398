"""The layout drawn to scale, seen from above: good to lay tube from, legible in grey.

Drawn with matplotlib's Figure, never with pyplot's global state.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from scheduler.garden.dimensions import System
from scheduler.garden.places import bed_outline
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity, parse_quantity
from scheduler.layout.graph import Layout
from scheduler.show.layout_beds import draw_bed
from scheduler.show.layout_marks import draw_key, draw_marks
from scheduler.show.layout_tracks import Tracks, drawable, is_upright, main_tracks

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["layout_figure"]

Point = tuple[float, float]
Pattern = tuple[float, tuple[float, ...]]

INK = "#111111"
#: Inches of paper across the drawing, the least and most along it, and what title and key take of it.
WIDTH = 14.0
HEIGHTS = (5.0, 20.0)
AROUND = 1.7
#: Distance on paper between mains that lie in one trench, as a share of the garden's longer side.
APART = 0.009
#: Width of a letter of a length [inches], and how much longer than its length a piece must be to carry it.
LETTER = 0.06
LEAST_AROUND = 1.6
PATTERNS: tuple[Pattern, ...] = (
    (0.0, ()),
    (0.0, (6.0, 2.0)),
    (0.0, (6.0, 2.0, 1.0, 2.0)),
    (0.0, (2.0, 1.5)),
)
SCALE_BARS = {
    "metric": ("10 m", "5 m", "2 m", "1 m", "50 cm"),
    "us": ("20 ft", "10 ft", "5 ft", "2 ft", "1 ft"),
}


def layout_figure(layout: Layout, garden: Garden, *, system: System) -> Figure:
    """Return a drawing of a layout to scale with lengths, fittings, a key and a scale bar.

    What has no place on the sketch is listed below the drawing, with its length.
    """
    from matplotlib.figure import Figure

    low, high = _extent(layout, garden)
    span = (high[0] - low[0], high[1] - low[1])
    height = min(max(WIDTH * span[1] / span[0] + AROUND, HEIGHTS[0]), HEIGHTS[1])
    figure = Figure(figsize=(WIDTH, height), layout="constrained")
    axes = figure.subplots()
    axes.set_aspect("equal")
    axes.set_xlim(low[0], high[0])
    axes.set_ylim(low[1], high[1])
    axes.axis("off")
    figure.suptitle(_title(garden), fontsize=11, color=INK, x=0.01, ha="left")
    tracks = main_tracks(layout, max(span) * APART)
    inch = max(span[0] / WIDTH, span[1] / (height - AROUND))
    for bed in garden.beds:
        if bed.place is not None and bed.place.position is not None:
            draw_bed(axes, bed, layout, inch=inch, system=system)
    _draw_lines(axes, layout)
    _draw_mains(axes, layout, garden, tracks, inch=inch, system=system)
    draw_marks(axes, layout, tracks.nodes, inch=inch)
    _draw_tap(axes, layout, system)
    _scale_bar(axes, low, span, system)
    draw_key(figure, layout, _patterns(garden))
    unplaced = list(_unplaced(layout, system))
    if unplaced:
        figure.supxlabel("Not on the sketch: " + "; ".join(unplaced), fontsize=8, wrap=True)
    return figure


def _title(garden: Garden) -> str:
    """Return the name of the garden, and below it what stands at the tap in its order."""
    parts = garden.layout.head if garden.layout is not None else ()
    return f"{garden.name}: layout\nT = " + ", ".join(["tap", *(part.label for part in parts)])


def _patterns(garden: Garden) -> dict[str, Pattern]:
    """Return zone -> the line style of its main."""
    return {zone.name: PATTERNS[number % len(PATTERNS)] for number, zone in enumerate(garden.zones)}


def _extent(layout: Layout, garden: Garden) -> tuple[Point, Point]:
    """Return the lower left and the upper right corner of what is drawn, with a margin [m]."""
    points = [(node.x, node.y) for node in layout.nodes if node.placed and math.isfinite(node.x)]
    for bed in garden.beds:
        if bed.place is not None and bed.place.position is not None:
            points += bed_outline(bed)
    xs, ys = zip(*(points or [(0.0, 0.0)]), strict=True)
    wide = max(max(xs) - min(xs), max(ys) - min(ys), 1.0)
    margin = 0.05 * wide
    # Words may stand below the lowest bed and above the highest, and the scale bar below those.
    return (min(xs) - margin, min(ys) - 2.2 * margin), (max(xs) + 2 * margin, max(ys) + 1.4 * margin)


def _draw_lines(axes: Axes, layout: Layout) -> None:
    """Draw headers, runs, rings and emitters."""
    rings: dict[str, list[Point]] = {}
    for edge in layout.edges:
        ends = drawable(layout, edge)
        if ends is None or edge.kind not in ("header", "run", "ring"):
            continue
        start, end = ends
        if edge.kind == "ring":
            rings.setdefault(edge.line, [(start.x, start.y)]).append((end.x, end.y))
            continue
        wide = 2.0 if edge.kind == "header" else 0.9
        axes.plot(
            [start.x, end.x], [start.y, end.y], color=INK, linewidth=wide, solid_capstyle="butt", zorder=3
        )
    for points in rings.values():
        axes.plot(*_circle(points), color=INK, linewidth=0.9, zorder=3)
    emitters = [node for node in layout.nodes if node.kind == "emitter" and node.placed]
    axes.plot(
        [node.x for node in emitters],
        [node.y for node in emitters],
        linestyle="none",
        marker="o",
        markersize=2.6,
        color=INK,
        zorder=4,
    )


def _circle(points: Sequence[Point]) -> tuple[list[float], list[float]]:
    """Return a fine circle through the points of a ring."""
    (ax, ay), (bx, by), (cx, cy) = (points[0], points[len(points) // 3], points[2 * len(points) // 3])
    twice = 2 * (ax * (by - cy) + bx * (cy - ay) + cx * (ay - by))
    if len(points) < 4 or twice == 0:
        return [x for x, _ in points], [y for _, y in points]
    a, b, c = ax**2 + ay**2, bx**2 + by**2, cx**2 + cy**2
    x = (a * (by - cy) + b * (cy - ay) + c * (ay - by)) / twice
    y = (a * (cx - bx) + b * (ax - cx) + c * (bx - ax)) / twice
    radius = math.dist((x, y), points[0])
    angles = [2 * math.pi * step / 120 for step in range(121)]
    return [x + radius * math.cos(one) for one in angles], [y + radius * math.sin(one) for one in angles]


def _draw_mains(
    axes: Axes, layout: Layout, garden: Garden, tracks: Tracks, *, inch: float, system: System
) -> None:
    """Draw the mains side by side, each piece with its length, and from each foot a step to its rim."""
    patterns = _patterns(garden)
    for number, ((ax, ay), (bx, by)) in tracks.edges.items():
        edge = layout.edges[number]
        axes.plot([ax, bx], [ay, by], color=INK, linewidth=1.7, linestyle=patterns[edge.zone], zorder=2)
        if not is_upright(layout, edge):
            text = format_quantity(edge.length, "length", system)
            _length_label(axes, (ax, ay), (bx, by), text, inch=inch)
    for edge in layout.edges:
        ends = drawable(layout, edge)
        if ends is None or edge.kind != "riser":
            continue
        ax, ay = tracks.nodes.get(edge.start, (ends[0].x, ends[0].y))
        axes.plot([ax, ends[1].x], [ay, ends[1].y], color=INK, linewidth=1.2, zorder=2)


def _length_label(axes: Axes, start: Point, end: Point, text: str, *, inch: float) -> None:
    """Write a length into the middle of a piece, or beside one that is too short for it."""
    aside = 0 if math.dist(start, end) / inch > LEAST_AROUND * LETTER * len(text) else 12
    upright = abs(end[1] - start[1]) > abs(end[0] - start[0])
    axes.annotate(
        text,
        ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2),
        xytext=(-aside, 0) if upright else (0, aside),
        textcoords="offset points",
        fontsize=7,
        rotation=90 if upright else 0,
        ha="center",
        va="center",
        color=INK,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4},
        zorder=3,
    )


def _draw_tap(axes: Axes, layout: Layout, system: System) -> None:
    """Draw the tap, and how far the mains go down or up there."""
    tap = next(node for node in layout.nodes if node.kind == "tap")
    if tap.placed:
        axes.plot([tap.x], [tap.y], marker="s", markersize=13, color="white", markeredgecolor=INK, zorder=6)
        axes.annotate("T", (tap.x, tap.y), ha="center", va="center", fontsize=8, fontweight="bold", zorder=7)
    steps = [edge for edge in layout.edges if edge.kind == "main" and is_upright(layout, edge)]
    if tap.placed and steps:
        down = layout.nodes[steps[0].end].height < layout.nodes[steps[0].start].height
        step = format_quantity(steps[0].length, "length", system)
        axes.annotate(
            f"{step}\n{'down' if down else 'up'} to the main",
            (tap.x, tap.y),
            xytext=(-8, -27),
            textcoords="offset points",
            fontsize=7,
            color=INK,
            zorder=7,
        )


def _scale_bar(axes: Axes, low: Point, span: Point, system: System) -> None:
    """Draw a bar of a round length, at most a quarter of the drawing."""
    texts = SCALE_BARS[system]
    text = next((one for one in texts if parse_quantity(one, "length") <= span[0] / 4), texts[-1])
    length = parse_quantity(text, "length")
    x, y = low[0] + 0.02 * span[0], low[1] + 0.02 * span[1]
    tick = 0.008 * max(span)
    axes.plot([x, x + length], [y, y], color=INK, linewidth=2.5, solid_capstyle="butt")
    for at in (x, x + length / 2, x + length):
        axes.plot([at, at], [y - tick, y + tick], color=INK, linewidth=1.2)
    axes.annotate(
        text, (x + length, y), xytext=(5, 0), textcoords="offset points", fontsize=8, va="center", color=INK
    )


def _unplaced(layout: Layout, system: System) -> Iterator[str]:
    """Yield each piece of main or riser that cannot be drawn, with its length."""
    for edge in layout.edges:
        if edge.kind in ("main", "riser") and drawable(layout, edge) is None:
            yield f"{edge.line} {format_quantity(edge.length, 'length', system)}"
