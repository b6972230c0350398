"""Published crop and soil tables, each row with its source, and what is borrowed from a neighbour row.

The files in `scheduler/garden/data` hold the printed figures; `aliases.csv` holds everyday names,
`borrowed.csv` says which row stands in for a crop, or for stage lengths, that the source does not list.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import cache
from importlib import resources

from scheduler.errors import RillbookError

__all__ = [
    "CropRow",
    "SoilRow",
    "StageRow",
    "UnknownNameError",
    "crop_names",
    "crop_row",
    "nearest_crops",
    "soil_names",
    "soil_row",
    "stage_choices",
]

Record = dict[str, str]


class UnknownNameError(RillbookError):
    """A crop or a soil that the tables do not hold.

    Attributes
    ----------
    name : str
        What was asked for.
    nearest : tuple of str
        The names most like it, best first.
    """

    def __init__(self, kind: str, name: str, nearest: tuple[str, ...]) -> None:
        self.name = name
        self.nearest = nearest
        super().__init__(f'no {kind} is called "{name}"; the nearest names are {", ".join(nearest)}')


@dataclass(frozen=True, slots=True)
class StageRow:
    """Lengths of the four growth stages [d] as printed for one region.

    `l_mid_alt` is the second figure of a printed pair such as 50/30, `crop` the name of the printed row.
    """

    crop: str
    l_ini: float
    l_dev: float
    l_mid: float
    l_late: float
    l_mid_alt: float | None
    plant_month: str
    region: str
    source: str
    notes: str

    @property
    def total(self) -> float:
        """Return the days from planting to the end of the late stage."""
        return self.l_ini + self.l_dev + self.l_mid + self.l_late


@dataclass(frozen=True, slots=True)
class CropRow:
    """Coefficients of one crop as published; None where the source prints nothing.

    Attributes
    ----------
    kc_ini, kc_mid, kc_end : float
        Single crop coefficients (FAO-56 Table 12); `_alt` and `_high` are second printed figures and
        `_staked` holds for crops on stakes or trellis.
    kcb_ini, kcb_mid, kcb_end : float
        Basal crop coefficients (FAO-56 Table 17).
    height_m : float
        Greatest height [m].
    stages : StageRow or None
        Lengths of the stages that belong to the row; None if nothing sensible is published.
    root_min_low_m ... root_max_high_m : float
        Rooting depth after planting and at its greatest [m], ends of the printed ranges.
    depletion_fraction : float
        p of FAO-56 Table 22, for a crop use of 5 mm/d.
    ky : float or None
        Yield response to water over the whole season (FAO-56 Table 24).
    ece_threshold_low, ece_threshold_high : float or None
        Salinity at which yield begins to fall [dS/m], saturation extract.
    slope_low, slope_high : float or None
        Loss of yield beyond the threshold [% per dS/m].
    borrowed_from : str
        The published crop whose values stand in; empty if the crop has its own.
    stages_borrowed_from : str
        The published crop whose stage lengths stand in; empty if they are the row's own.
    """

    name: str
    group: str
    kc_ini: float
    kc_mid: float
    kc_mid_high: float | None
    kc_end: float
    kc_end_alt: float | None
    kc_mid_staked: float | None
    kcb_ini: float
    kcb_mid: float
    kcb_mid_high: float | None
    kcb_end: float
    kcb_end_alt: float | None
    kcb_mid_staked: float | None
    height_m: float
    stages: StageRow | None
    root_min_low_m: float | None
    root_min_high_m: float | None
    root_max_low_m: float
    root_max_high_m: float
    depletion_fraction: float
    ky: float | None
    ece_threshold_low: float | None
    ece_threshold_high: float | None
    slope_low: float | None
    slope_high: float | None
    source: str
    notes: str
    borrowed_from: str = ""
    stages_borrowed_from: str = ""


@dataclass(frozen=True, slots=True)
class SoilRow:
    """Water held by a soil of one texture, by volume: the middle of the printed range, and its ends.

    `rew_*` and `tew_*` are the readily evaporable and total evaporable water of the top 0.10 m [mm].
    """

    name: str
    field_capacity: float
    field_capacity_low: float
    field_capacity_high: float
    wilting_point: float
    wilting_point_low: float
    wilting_point_high: float
    rew_low_mm: float
    rew_high_mm: float
    tew_low_mm: float
    tew_high_mm: float
    source: str

    @property
    def readily_evaporable(self) -> float:
        """Return the middle of the printed range of readily evaporable water [mm]."""
        return _middle(self.rew_low_mm, self.rew_high_mm)

    @property
    def total_evaporable(self) -> float:
        """Return the middle of the printed range of total evaporable water [mm]."""
        return _middle(self.tew_low_mm, self.tew_high_mm)


def crop_row(name: str) -> CropRow:
    """Return the row of a crop by its name in the table or an everyday name, singular or plural.

    Raises
    ------
    UnknownNameError
        If the tables hold no such crop; its `nearest` names those most like it.
    """
    found = _resolve(name)
    if found is None:
        raise UnknownNameError("crop", name, nearest_crops(name))
    return _crops()[found]


def crop_names() -> tuple[str, ...]:
    """Return the names of all crops that have values, own or borrowed, in alphabetical order."""
    return tuple(sorted(_crops()))


def nearest_crops(name: str, n: int = 3) -> tuple[str, ...]:
    """Return up to `n` names most like this one, each of another crop, best first."""
    index = _index()
    crops: dict[str, str] = {}
    for word in _nearest(_plain(name), index, n=8 * n):
        crops.setdefault(index[word], word)
    return tuple(crops.values())[:n]


def stage_choices(crop: str) -> tuple[StageRow, ...]:
    """Return every printed set of stage lengths that holds for a crop, the row's own choice first.

    Raises
    ------
    UnknownNameError
        As for `crop_row`.
    """
    row = crop_row(crop)
    lender = row.stages_borrowed_from or row.borrowed_from or row.name
    printed = {lender, *(record["rows"] for record in _records("stage_names") if record["crop"] == lender)}
    rows = [_stage_row(record) for record in _records("crop_stages") if record["crop"] in printed]
    own = _lengths(row.stages)
    return tuple(sorted(rows, key=lambda choice: _lengths(choice) != own))


def soil_row(texture: str) -> SoilRow:
    """Return water held by a soil of this texture (FAO-56 Table 19).

    Raises
    ------
    UnknownNameError
        If the table has no such texture.
    """
    soils = _soils()
    plain = _plain(texture)
    if plain not in soils:
        raise UnknownNameError("soil", texture, _nearest(plain, soils, n=3))
    return soils[plain]


def soil_names() -> tuple[str, ...]:
    """Return the textures, from coarse to fine."""
    return tuple(_soils())


def _nearest(word: str, words: Iterable[str], *, n: int) -> tuple[str, ...]:
    """Return the words that look like this one, and always at least one."""
    known = list(words)
    return tuple(get_close_matches(word, known, n) or get_close_matches(word, known, 1, cutoff=0.0))


@cache
def _records(table: str) -> tuple[Record, ...]:
    text = (resources.files("scheduler.garden.data") / f"{table}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def _plain(name: str) -> str:
    """Return a name in lower case, with single blanks for hyphens, underscores and runs of blanks."""
    return " ".join(re.sub(r"[-_]", " ", name.replace("’", "'")).casefold().split())


@cache
def _index() -> dict[str, str]:
    """Return every plain name, part of a double name and alias -> name of the crop."""
    index: dict[str, str] = {}
    for name in _crops():
        index |= {_plain(part): name for part in (name, *name.split(" / "))}
    return index | {_plain(record["alias"]): record["crop"] for record in _records("aliases")}


def _resolve(name: str) -> str | None:
    plain = _plain(name)
    singulars = [plain.removesuffix(ending) + stem for ending, stem in _PLURALS if plain.endswith(ending)]
    index = _index()
    return next((index[word] for word in (plain, *singulars) if word in index), None)


# English plural endings and what the singular ends with, most particular first.
_PLURALS = (("ies", "y"), ("es", ""), ("s", ""))


@cache
def _crops() -> dict[str, CropRow]:
    """Return name -> row of every crop with values; what is borrowed is filled in and named."""
    own = {record["crop"]: _crop_row(record) for record in _records("crops") if record["kc_ini"]}
    borrowed = _records("borrowed")
    crops = dict(own)
    for record in (each for each in borrowed if each["kind"] == "values"):
        lender = own[record["from"]]
        notes = f"not listed; {record['from']} stands in: {record['reason']}"
        crops[record["crop"]] = replace(
            lender, name=record["crop"], group="not listed", notes=notes, borrowed_from=lender.name
        )
    for record in (each for each in borrowed if each["kind"] == "stages"):
        row = crops[record["crop"]]
        added = f"stage lengths of {record['from']}: {record['reason']}"
        crops[row.name] = replace(
            row,
            stages=own[record["from"]].stages,
            stages_borrowed_from=record["from"],
            notes=f"{row.notes}; {added}" if row.notes else added,
        )
    return crops


def _crop_row(record: Record) -> CropRow:
    number, maybe = _readers(record)
    return CropRow(
        name=record["crop"],
        group=record["group"],
        kc_ini=number("kc_ini"),
        kc_mid=number("kc_mid"),
        kc_mid_high=maybe("kc_mid_high"),
        kc_end=number("kc_end"),
        kc_end_alt=maybe("kc_end_alt"),
        kc_mid_staked=maybe("kc_mid_staked"),
        kcb_ini=number("kcb_ini"),
        kcb_mid=number("kcb_mid"),
        kcb_mid_high=maybe("kcb_mid_high"),
        kcb_end=number("kcb_end"),
        kcb_end_alt=maybe("kcb_end_alt"),
        kcb_mid_staked=maybe("kcb_mid_staked"),
        height_m=number("height_max_m"),
        # The remarks of a crop's row are about all its figures, not about its stages.
        stages=_stage_row(record | {"notes": ""}) if record["l_ini"] else None,
        root_min_low_m=maybe("root_min_low_m"),
        root_min_high_m=maybe("root_min_high_m"),
        root_max_low_m=number("root_max_low_m"),
        root_max_high_m=number("root_max_high_m"),
        depletion_fraction=number("p"),
        ky=maybe("ky"),
        ece_threshold_low=maybe("ece_threshold_low"),
        ece_threshold_high=maybe("ece_threshold_high"),
        slope_low=maybe("slope_b_low"),
        slope_high=maybe("slope_b_high"),
        source=record["source"],
        notes=record["notes"],
    )


def _stage_row(record: Record) -> StageRow:
    number, maybe = _readers({"l_mid_alt": ""} | record)
    return StageRow(
        crop=record["crop"],
        l_ini=number("l_ini"),
        l_dev=number("l_dev"),
        l_mid=number("l_mid"),
        l_late=number("l_late"),
        l_mid_alt=maybe("l_mid_alt"),
        plant_month=record["plant_month"],
        region=record["region"],
        source="FAO-56 (1998) Table 11",
        notes=record["notes"],
    )


def _lengths(row: StageRow | None) -> tuple[float, ...]:
    return () if row is None else (row.l_ini, row.l_dev, row.l_mid, row.l_late)


@cache
def _soils() -> dict[str, SoilRow]:
    return {r["name"]: _soil_row(r) for r in _records("soils") if r["theta_fc_low"] and r["theta_wp_low"]}


def _soil_row(record: Record) -> SoilRow:
    number, _ = _readers(record)
    fc_low, fc_high = number("theta_fc_low"), number("theta_fc_high")
    wp_low, wp_high = number("theta_wp_low"), number("theta_wp_high")
    return SoilRow(
        name=record["name"],
        field_capacity=_middle(fc_low, fc_high),
        field_capacity_low=fc_low,
        field_capacity_high=fc_high,
        wilting_point=_middle(wp_low, wp_high),
        wilting_point_low=wp_low,
        wilting_point_high=wp_high,
        rew_low_mm=number("rew_low_mm"),
        rew_high_mm=number("rew_high_mm"),
        tew_low_mm=number("tew_low_mm"),
        tew_high_mm=number("tew_high_mm"),
        source=f"{record['source']}, middle of the printed range",
    )


def _middle(low: float, high: float) -> float:
    # The figures are printed to 0.01, so the middle has at most three decimals.
    return round((low + high) / 2, 3)


def _readers(record: Record) -> tuple[Callable[[str], float], Callable[[str], float | None]]:
    """Return a reader of fields that must hold a number and one of fields that may be empty."""

    def number(field: str) -> float:
        return float(record[field])

    def maybe(field: str) -> float | None:
        return float(record[field]) if record[field] else None

    return number, maybe
