"""A garden -> its whole layout."""

from __future__ import annotations

from scheduler.errors import RillbookError
from scheduler.garden.plan import Garden
from scheduler.layout.graph import Draft, Layout
from scheduler.layout.head import lay_head
from scheduler.layout.in_bed import lay_bed
from scheduler.layout.joints import add_joints
from scheduler.layout.mains import lay_mains, lay_segments

__all__ = ["NoLayoutError", "layout_of"]


class NoLayoutError(RillbookError):
    """A plan that says nothing of its layout."""


def layout_of(garden: Garden) -> Layout:
    """Return the layout of a garden, from the tap to the last emitter.

    Returns
    -------
    Layout
        Every bed has one hand valve, and as many emitters as the bed of the plan.

    Raises
    ------
    NoLayoutError
        If the plan gives no layout.
    """
    plan = garden.layout
    if plan is None:
        raise NoLayoutError(
            "the plan says nothing of its layout; give a [main_line] and the position of each bed, or name "
            "every [[segment]]"
        )
    draft = Draft()
    outlets = lay_head(draft, garden, plan)
    rims = lay_mains(draft, garden, plan, outlets) | lay_segments(draft, garden, plan, outlets)
    for bed in garden.beds:
        lay_bed(draft, bed, rim=rims[bed.name])
    _put_missing_valves(draft, garden)
    add_joints(draft)
    return Layout(
        nodes=tuple(draft.nodes),
        edges=tuple(draft.edges),
        fittings=tuple(draft.fittings),
        takeoff=plan.takeoff,
        material="polyethylene" if plan.main_line is None else plan.main_line.material,
        notes=tuple(draft.notes),
    )


def _put_missing_valves(draft: Draft, garden: Garden) -> None:
    """Put the valve of a bed that lies level with its main into its header, where the water comes in."""
    valved = {edge.valve for edge in draft.edges if edge.valve}
    for bed in garden.beds:
        if bed.name not in valved:
            first = next(number for number, edge in enumerate(draft.edges) if edge.bed == bed.name)
            draft.put_valve(first, bed.name)
