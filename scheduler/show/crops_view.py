"""The built-in crop table for people and machines."""

from __future__ import annotations

from scheduler.garden.tables import crop_names, crop_row
from scheduler.show.report import Column, Part, Report, Row

__all__ = ["crops_report"]

COLUMNS = (
    Column("crop", "crop"),
    Column("kc_ini", "Kc\nini", decimals=2),
    Column("kc_mid", "Kc\nmid", decimals=2),
    Column("kc_end", "Kc\nend", decimals=2),
    Column("stages_d", "stages\n[days]"),
    Column("root_depth_m", "roots", "length", 2),
    Column("depletion_fraction", "p", decimals=2),
    Column("borrowed_from", "borrowed\nfrom"),
    Column("stages_borrowed_from", "stages\nfrom"),
    Column("source", ""),
)


def _row(name: str) -> Row:
    """Return one crop's row."""
    crop = crop_row(name)
    stages = crop.stages
    return {
        "crop": name,
        "kc_ini": crop.kc_ini,
        "kc_mid": crop.kc_mid,
        "kc_end": crop.kc_end,
        "stages_d": ""
        if stages is None
        else f"{stages.l_ini:g} {stages.l_dev:g} {stages.l_mid:g} {stages.l_late:g}",
        "root_depth_m": crop.root_max_low_m,
        "depletion_fraction": crop.depletion_fraction,
        "borrowed_from": crop.borrowed_from,
        "stages_borrowed_from": crop.stages_borrowed_from,
        "source": crop.source,
    }


def crops_report() -> Report:
    """Return the crop table as a report."""
    rows = tuple(_row(name) for name in crop_names())
    return Report(
        schema="rillbook.crops/1",
        title=f"{len(rows)} crops with single crop coefficients",
        as_of=None,
        parts=(Part("rows", "", COLUMNS, rows),),
        notes=(
            "FAO-56 (1998) Tables 11, 12, 22 and 23. Roots: the shallow end of the printed range, cut to the "
            "bed's soil depth. A borrowed row is the nearest published crop, not a measurement of this one.",
        ),
    )
