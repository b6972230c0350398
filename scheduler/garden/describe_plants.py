"""What grows in a bed, told back line by line in both unit systems."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.garden.describe_lines import Line, quantities
from scheduler.garden.plan import HeatStages, Planting

__all__ = ["describe_planting"]


def describe_planting(place: str, planting: Planting) -> Iterator[Line]:
    """Yield lines on one planting, all at `place`."""
    stages = planting.stages
    lengths = (stages.initial, stages.development, stages.mid, stages.late)
    yield place, "in the ground", f"{planting.planted} to {planting.removed}"
    yield from quantities(place, ("share of the bed", planting.share, "ratio"))
    yield (
        place,
        "crop coefficients, initial, mid, late",
        f"{planting.kc_ini:g}, {planting.kc_mid:g}, {planting.kc_end:g}",
    )
    yield (
        place,
        "basal coefficients, initial, mid, late",
        f"{planting.kcb_ini:g}, {planting.kcb_mid:g}, {planting.kcb_end:g}",
    )
    yield place, "stages", ", ".join(f"{days:.0f}" for days in lengths) + " days"
    yield from quantities(
        place,
        ("height", planting.height, "length"),
        ("rooting depth", planting.root_depth, "length"),
        ("depletion fraction", planting.depletion_fraction, "ratio"),
        ("salt threshold", planting.salinity_threshold, "salinity"),
        ("ground cover in mid-season", planting.ground_cover, "ratio"),
        ("surface kept wet for", planting.surface_wet_days or None, "days"),
        ("establishing for", planting.establishing_days or None, "days"),
    )
    if planting.ky is not None:
        yield place, "yield response", f"{planting.ky:g}"
    if planting.heat is not None:
        yield from _heat(place, planting.heat)
    yield (
        place,
        "source",
        planting.source + (f", borrowed from {planting.borrowed_from}" if planting.borrowed_from else ""),
    )


def _heat(place: str, heat: HeatStages) -> Iterator[Line]:
    yield from quantities(
        place,
        ("base temperature", heat.base, "temperature"),
        ("upper temperature", heat.upper, "temperature"),
        ("heat of the initial stage", heat.initial, "degree_days"),
        ("heat of the development stage", heat.development, "degree_days"),
        ("heat of the mid-season stage", heat.mid, "degree_days"),
        ("heat of the late stage", heat.late, "degree_days"),
    )
