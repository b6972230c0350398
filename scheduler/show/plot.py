"""Figures: the deficit of each bed against its limit, and the season's water. Legible in grey.

Drawn with matplotlib's Figure, never with pyplot's global state.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.dimensions import System
from scheduler.garden.units import to_display, unit_label
from scheduler.show.wholefile import write_whole

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["BedTrace", "ChangesPanel", "changes_figure", "deficit_figure", "save_figure", "season_figure"]

FloatArray = NDArray[np.float64]

INK = "#222222"
MID = "#777777"
PALE = "#c4c4c4"
RAIN = "rain that enters the soil"
RUN = "run, net depth"

#: Beyond this many days bars are too thin to carry a pattern.
DAYS_WITH_WIDE_BARS = 60

HATCHES = ("", "////", "....", "\\\\\\\\", "xxxx", "----", "oo", "++++", "**")
SHADES = ("#333333", "#f2f2f2", "#9a9a9a", "#d9d9d9", "#ffffff", "#6b6b6b", "#e6e6e6", "#b5b5b5", "#4f4f4f")


@dataclass(frozen=True, slots=True, eq=False)
class BedTrace:
    """One bed over some days, for drawing; arrays of shape (n_days,), depths in mm.

    `limit` is NaN where nothing grows; days from `planned_from` on are expected, not replayed.
    """

    name: str
    dates: NDArray[np.datetime64]
    deficit: FloatArray
    limit: FloatArray
    rain: FloatArray
    applied: FloatArray
    planned_from: date | None


def _one_bed(axes: Axes, trace: BedTrace, system: System) -> None:
    """Draw one bed: deficit downwards as a line, limit dashed, rain and runs as bars."""
    from matplotlib.dates import date2num

    deficit = to_display(trace.deficit, "water_depth", system)
    limit = to_display(trace.limit, "water_depth", system)
    rain = to_display(trace.rain, "water_depth", system)
    runs = to_display(trace.applied, "water_depth", system)
    if trace.dates.shape[0] > DAYS_WITH_WIDE_BARS:
        axes.vlines(trace.dates, 0.0, rain, color=PALE, linewidth=1.8, label=RAIN)
        axes.vlines(trace.dates[runs > 0.0], 0.0, runs[runs > 0.0], color=MID, linewidth=1.0, label=RUN)
    else:
        axes.bar(trace.dates, rain, width=0.9, color=PALE, edgecolor=MID, linewidth=0.4, label=RAIN)
        axes.bar(
            trace.dates,
            runs,
            width=0.45,
            color="white",
            edgecolor=INK,
            hatch="////",
            linewidth=0.6,
            label=RUN,
        )
    axes.plot(trace.dates, deficit, color=INK, linewidth=1.6, label="deficit at the day's end")
    axes.plot(
        trace.dates, limit, color=INK, linewidth=1.2, linestyle=(0, (4, 3)), label="limit to stay under"
    )
    if trace.planned_from is not None:
        before_dawn = float(date2num(trace.planned_from)) - 0.5
        axes.axvline(before_dawn, color=MID, linestyle=":", linewidth=1.2)
    axes.set_title(trace.name, loc="left", fontsize=10, fontweight="bold")
    axes.set_ylabel(f"depth [{unit_label('water_depth', system)}]", fontsize=9)
    axes.set_ylim(bottom=0)
    axes.tick_params(labelsize=8)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _date_axis(axes: Axes) -> None:
    """Label a date axis as ``6 Jul``."""
    from matplotlib.dates import AutoDateLocator, DateFormatter

    axes.xaxis.set_major_locator(AutoDateLocator(minticks=3, maxticks=8))
    axes.xaxis.set_major_formatter(DateFormatter("%-d %b"))


def _legend(figure: Figure, axes: Axes, planned: bool) -> None:
    """Put one legend below all beds."""
    from matplotlib.lines import Line2D

    handles, labels = axes.get_legend_handles_labels()
    if planned:
        handles.append(Line2D([], [], color=MID, linestyle=":", linewidth=1.2))
        labels.append("table begins: expected from here")
    figure.legend(handles, labels, loc="outside lower center", ncols=3, fontsize=8, frameon=False)


def deficit_figure(traces: Sequence[BedTrace], *, title: str, system: System) -> Figure:
    """Return a figure with one panel per bed."""
    from matplotlib.figure import Figure

    columns = 1 if len(traces) == 1 else 2
    lines = -(-len(traces) // columns)
    figure = Figure(
        figsize=(5.2 * columns + (2.0 if columns == 1 else 0.0), 2.3 * lines + 1.0), layout="constrained"
    )
    grid = figure.subplots(lines, columns, sharex=True, squeeze=False)
    for axes, trace in zip(grid.flat, traces, strict=False):
        _one_bed(axes, trace, system)
    for axes in grid.flat[len(traces) :]:
        axes.set_visible(False)
    for axes in grid.flat[max(0, len(traces) - columns) : len(traces)]:
        _date_axis(axes)
        axes.tick_params(labelbottom=True)
    figure.suptitle(title.replace(", working", "\nworking") if columns == 1 else title, fontsize=11)
    _legend(figure, grid.flat[0], traces[0].planned_from is not None)
    return figure


def season_figure(
    months: Sequence[str],
    litres: FloatArray,
    *,
    beds: Sequence[str],
    traces: Sequence[BedTrace],
    title: str,
    system: System,
) -> Figure:
    """Return the season's water by month and bed as stacked bars, above each bed's deficit."""
    from matplotlib.figure import Figure

    lines = -(-len(traces) // 2)
    figure = Figure(figsize=(10.4, 3.6 + 2.2 * lines), layout="constrained")
    halves: Any = figure.subfigures(2, 1, height_ratios=[3.2, 2.2 * lines + 0.4])
    upper, lower = halves
    axes = upper.subplots()
    shown = np.asarray(to_display(litres, "volume", system))
    base = np.zeros(len(months))
    for number, bed in enumerate(beds):
        axes.bar(
            months,
            shown[:, number],
            0.6,
            bottom=base,
            label=bed,
            edgecolor=INK,
            linewidth=0.6,
            color=SHADES[number % len(SHADES)],
            hatch=HATCHES[number % len(HATCHES)],
        )
        base += shown[:, number]
    for month, total in zip(months, base, strict=True):
        axes.annotate(f"{total:,.0f}", (month, total), ha="center", va="bottom", fontsize=8)
    axes.set_ylabel(f"water [{unit_label('volume', system)}]", fontsize=9)
    axes.tick_params(labelsize=8)
    axes.margins(y=0.12)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), fontsize=8, frameon=False, title="bed")
    grid: Any = lower.subplots(lines, 2, sharex=True, squeeze=False)
    for panel, trace in zip(grid.flat, traces, strict=False):
        _one_bed(panel, trace, system)
    for panel in grid.flat[len(traces) :]:
        panel.set_visible(False)
    for panel in grid.flat[max(0, len(traces) - 2) : len(traces)]:
        _date_axis(panel)
        panel.tick_params(labelbottom=True)
    handles, labels = grid.flat[0].get_legend_handles_labels()
    lower.legend(handles, labels, loc="outside lower center", ncols=4, fontsize=8, frameon=False)
    figure.suptitle(title, fontsize=11)
    return figure


@dataclass(frozen=True, slots=True)
class ChangesPanel:
    """One figure of a season by the number of settings, 1 first; `reference` is that of the weekly table."""

    label: str
    values: tuple[float, ...]
    reference: float | None


def changes_figure(panels: Sequence[ChangesPanel], *, title: str) -> Figure:
    """Return what more settings a season bring, one panel below the other."""
    from matplotlib.figure import Figure
    from matplotlib.ticker import MaxNLocator

    figure = Figure(figsize=(6.4, 2.0 * len(panels) + 0.9), layout="constrained")
    grid: Any = figure.subplots(len(panels), 1, sharex=True, squeeze=False)
    for axes, panel in zip(grid.flat, panels, strict=True):
        times = range(1, len(panel.values) + 1)
        axes.plot(
            times, panel.values, color=INK, linewidth=1.6, marker="o", markersize=4, label="few settings"
        )
        if panel.reference is not None:
            axes.axhline(
                panel.reference, color=MID, linewidth=1.2, linestyle=(0, (4, 3)), label="set every Monday"
            )
        axes.set_ylabel(panel.label, fontsize=9)
        axes.set_ylim(0.0, 1.12 * max(*panel.values, panel.reference or 0.0, 1e-9))
        axes.xaxis.set_major_locator(MaxNLocator(integer=True))
        axes.tick_params(labelsize=8)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
    grid.flat[-1].set_xlabel("settings a season, the first one included", fontsize=9)
    handles, labels = grid.flat[0].get_legend_handles_labels()
    figure.legend(handles, labels, loc="outside lower center", ncols=2, fontsize=8, frameon=False)
    figure.suptitle(title, fontsize=11)
    return figure


def save_figure(figure: Figure, path: Path) -> None:
    """Write a figure as SVG or PNG, by the ending of the file's name.

    An SVG keeps its text as text, and the same figure gives the same bytes.

    Raises
    ------
    RillbookError
        If the file cannot be written.
    """
    from matplotlib import rc_context

    kind = path.suffix.lower().removeprefix(".")
    metadata = {"Date": None} if kind == "svg" else {}
    with rc_context({"svg.fonttype": "none", "svg.hashsalt": "rillbook"}):
        write_whole(path, lambda file: figure.savefig(file, format=kind, dpi=150, metadata=metadata))
