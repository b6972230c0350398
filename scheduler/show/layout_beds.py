"""One bed on the drawing of a layout: its boards, its name, and what to know of its tubes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from scheduler.garden.dimensions import System
from scheduler.garden.places import bed_outline, outline_of_shape
from scheduler.garden.plan import Bed
from scheduler.garden.units import format_quantity, to_display, unit_label
from scheduler.layout.bed_lines import bed_lines
from scheduler.layout.graph import Layout
from scheduler.show.layout_tracks import drawable

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["bed_words", "draw_bed"]

Point = tuple[float, float]

INK = "#111111"
SOIL = "#ececec"
#: Room that the words of a bed take [inches], and from line to line [points].
WORDS = (2.8, 0.62)
LINE = 9.5


def draw_bed(axes: Axes, bed: Bed, layout: Layout, *, inch: float, system: System) -> None:
    """Draw a bed's boards with its name and words, above it or, where a main is in the way, below.

    `inch` is an inch of paper on the sketch [m].
    """
    from matplotlib.patches import Polygon

    outline = bed_outline(bed)
    axes.add_patch(Polygon(outline, closed=True, facecolor=SOIL, edgecolor=INK, linewidth=1.6, zorder=1))
    left = min(x for x, _ in outline)
    above = max(y for _, y in outline)
    below = min(y for _, y in outline)
    size = (WORDS[0] * inch, WORDS[1] * inch)
    under = _mains_in(layout, (left, below - size[1]), size) < _mains_in(layout, (left, above), size)
    lines = [bed.name, *bed_words(bed, layout, system)]
    for number, text in enumerate(lines):
        drop = -3 - LINE * (number + 1) if under else 3 + LINE * (len(lines) - 1 - number)
        axes.annotate(
            text,
            (left, below if under else above),
            xytext=(3, drop),
            textcoords="offset points",
            fontsize=9 if number == 0 else 7.5,
            fontweight="bold" if number == 0 else "normal",
            va="bottom",
            color=INK,
            zorder=7,
        )


def _mains_in(layout: Layout, corner: Point, size: tuple[float, float]) -> float:
    """Return how much main lies in a rectangle, as far as it goes along the sketch grid [m]."""
    total = 0.0
    for edge in layout.edges:
        ends = drawable(layout, edge)
        if ends is None or edge.kind != "main":
            continue
        spans = []
        for low, extent, first, second in (
            (corner[0], size[0], ends[0].x, ends[1].x),
            (corner[1], size[1], ends[0].y, ends[1].y),
        ):
            spans.append(min(low + extent, max(first, second)) - max(low, min(first, second)))
        if min(spans) >= 0:
            total += max(spans)
    return total


def bed_words(bed: Bed, layout: Layout, system: System) -> Iterator[str]:
    """Yield what to know of the tubes of one bed: lengths, where they lie, emitters, riser and header."""
    lines = bed_lines(bed)
    if lines.runs and bed.measures is not None:
        lowest = min(y for _, y in outline_of_shape(bed.shape, bed.measures))
        heights = [lines.header[run.header][1] - lowest for run in lines.runs]
        yield f"{_counted('run', _lengths(bed, layout, system))}, {bed.emitters} emitters"
        yield f"{_listed(heights, system)} from one side"
    if lines.rings:
        across = [2 * ring.radius for ring in lines.rings]
        yield f"{_counted('ring', _lengths(bed, layout, system))}, {bed.emitters} emitters"
        yield f"{_listed(across, system)} across"
    sums = {
        what: sum(edge.length for edge in layout.edges if edge.bed == bed.name and edge.kind == what)
        for what in ("riser", "header")
    }
    yield ", ".join(
        f"{what} {format_quantity(length, 'length', system)}" for what, length in sums.items() if length
    )


def _lengths(bed: Bed, layout: Layout, system: System) -> list[str]:
    """Return the length of each run or ring of a bed, as text."""
    lengths: dict[str, float] = {}
    for edge in layout.edges:
        if edge.bed == bed.name and edge.kind in ("run", "ring"):
            lengths[edge.line] = lengths.get(edge.line, 0.0) + edge.length
    return [format_quantity(length, "length", system) for length in lengths.values()]


def _counted(kind: str, lengths: Sequence[str]) -> str:
    """Return such as "3 runs of 7.5 ft", or every length where they differ."""
    if len(lengths) == 1:
        return f"{kind} of {lengths[0]}"
    if len(set(lengths)) == 1:
        return f"{len(lengths)} {kind}s of {lengths[0]}"
    return f"{kind}s of {', '.join(lengths)}"


def _listed(values: Sequence[float], system: System) -> str:
    """Return distances in mm or inches whatever their size: feet are too coarse to lay a line by."""
    decimals = 0 if system == "metric" else 1
    shown = (f"{to_display(value, 'bore', system):.{decimals}f}" for value in values)
    return f"{', '.join(shown)} {unit_label('bore', system)}"
