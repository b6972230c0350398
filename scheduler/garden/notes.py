"""What the plan did not say and was taken all the same, and what in it looks unusual."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from scheduler.garden import defaults
from scheduler.garden.bounds import limit
from scheduler.garden.fields import percent
from scheduler.garden.layout import DEFAULT_END_GAP, emitters_of, flow_at_pressure, line_of, sides_of
from scheduler.garden.notes_ground import ground_notes, soil_notes, state_notes, uncertainty_notes
from scheduler.garden.notes_layout import layout_notes
from scheduler.garden.notes_measured import measured_notes
from scheduler.garden.plan import Assumption, Bed, Garden
from scheduler.garden.plantables import BedTables, PlanTables
from scheduler.garden.schema_beds import BedTable
from scheduler.garden.schema_place import PlanningTable
from scheduler.garden.schema_water import RestrictionTable
from scheduler.garden.tableread import Read
from scheduler.garden.units import both_systems

__all__ = ["assumptions"]

_PLANNING_WORDS = {
    "reserve": "of the water that can be drawn without stress kept in hand",
    "forecast_rain": "of forecast rain counted on",
    "normal_rain": "of the long-term mean rain counted on",
    "bare_soil_coefficient": "of the reference taken for bare moist soil",
}
# A count that differs from the line's own by more than this share is worth a second look.
_COUNT_TOLERANCE = 0.15
# An answer older than this at the start of a restriction is worth asking for again [d].
_FRESH_ANSWER = 366


def assumptions(tables: PlanTables, garden: Garden) -> Iterator[Assumption]:
    """Yield one line per value that the plan left open, and per entry worth a second look.

    Parameters
    ----------
    tables : PlanTables
        The plan as written.
    garden : Garden
        The plan as built from it.
    """
    yield from _place_notes(tables)
    computed = garden.layout is not None and garden.water_source.static_pressure is not None
    for entry, bed in zip(tables.beds, garden.beds, strict=True):
        yield from _bed_notes(entry, bed, computed=computed)
        yield from ground_notes(entry, bed)
        yield from _line_notes(entry.bed.table, bed)
        yield from measured_notes(bed)
    yield from _flow_notes(garden)
    yield from layout_notes(tables, garden)
    yield from state_notes(tables)
    yield from _planning_notes(tables.planning.table)
    yield from uncertainty_notes(tables.uncertainty.table, garden.uncertainty)
    yield from _timer_notes(tables)
    yield from _bill_notes(tables)
    yield from _link_notes(garden)


def _place_notes(tables: PlanTables) -> Iterator[Assumption]:
    fill = tables.fill.table
    if fill.radiation == "from temperature" and fill.radiation_site is None:
        yield Assumption("weather > fill", "an inland site is assumed for radiation from temperature")
    if fill.humidity == "dew point from tmin" and fill.dew_point_below_tmin is None:
        yield Assumption(
            "weather > fill", "the dew point is assumed to reach the lowest temperature of the day"
        )
    yield from soil_notes(tables)


def _bed_notes(entry: BedTables, bed: Bed, *, computed: bool) -> Iterator[Assumption]:
    """Yield what is assumed of a bed; with its pressure `computed` from the layout none is."""
    table = entry.bed.table
    place = f'bed "{bed.name}"'
    if not entry.plantings:
        yield Assumption(place, "nothing is planted, it counts as bare soil")
    if table.need is None and _grow_together(bed):
        yield Assumption(place, "the need of its crops is weighted by area, as the plan does not choose")
    if table.pressure is None and bed.drip.exponent > 0 and not computed:
        yield Assumption(
            place,
            f"the pressure at the emitters is assumed to be the printed "
            f"{both_systems(bed.pressure, 'pressure')}",
        )
    if table.runs is not None and table.end_gap is None:
        yield Assumption(place, f"end gaps of {DEFAULT_END_GAP} are assumed")
    held = bed.soil.field_capacity - bed.soil.wilting_point
    if not limit("4 %", "ratio") <= held <= limit("35 %", "ratio"):
        yield Assumption(place, f"its mix gives plants {percent(held)} water by volume, which is unusual")


def _grow_together(bed: Bed) -> bool:
    """Return True if two crops of a bed are in the ground on the same day."""
    by_date = sorted(bed.plantings, key=lambda planting: planting.planted)
    return any(second.planted < first.removed for first, second in pairwise(by_date))


def _line_notes(table: BedTable, bed: Bed) -> Iterator[Assumption]:
    place = f'bed "{bed.name}"'
    line = bed.line_length
    if line is not None and line * limit("3 in", "length") > bed.area:
        yield Assumption(
            place, f"{both_systems(line, 'length')} of line lie closer than 3 in, more than fits well"
        )
    # With a layout a ring that sticks out is a fault.
    if bed.place is None and table.rings is not None and max(table.rings) > max(sides_of(table)):
        yield Assumption(place, "a ring is wider than the bed")
    if bed.emitters_counted and line_of(table):
        expected = emitters_of(table, bed.drip.emitter_spacing)
        if abs(bed.emitters - expected) > _COUNT_TOLERANCE * expected:
            yield Assumption(place, f"{bed.emitters} emitters counted, its line would hold {expected}")


def _flow_notes(garden: Garden) -> Iterator[Assumption]:
    source = garden.water_source
    usable = source.flow * source.usable_share
    for zone in garden.zones:
        beds = garden.beds_of(zone.name)
        total = sum(flow_at_pressure(bed.drip, emitters=bed.emitters, pressure=bed.pressure) for bed in beds)
        if total > usable:
            yield Assumption(
                f'zone "{zone.name}"',
                f"its beds draw {both_systems(total, 'flow')} together, more than the "
                f"{percent(source.usable_share)} of the tap's flow to plan on",
            )
        if source.static_pressure is not None and any(bed.pressure > source.static_pressure for bed in beds):
            yield Assumption(f'zone "{zone.name}"', "a bed is given more pressure than the tap has at rest")


def _planning_notes(planning: PlanningTable) -> Iterator[Assumption]:
    for name, words in _PLANNING_WORDS.items():
        if getattr(planning, name) is None:
            value = getattr(defaults.PLANNING, name)
            yield Assumption(f"planning > {name}", f"{percent(value)} {words}, a judgement without a source")


def _timer_notes(tables: PlanTables) -> Iterator[Assumption]:
    timer, source = tables.timer.table, tables.water_source.table
    if source.usable is None:
        yield Assumption(
            "water_source > usable",
            f"{percent(defaults.USABLE_SHARE)} of the bucket flow planned on, common "
            "practice without a source",
        )
    if timer.shortest_run is None:
        yield Assumption("timer > shortest_run", f"the step of {timer.step} min is taken")
    if timer.day_choices is None:
        yield Assumption("timer > day_choices", "both chosen weekdays and every n days are taken as possible")
    if timer.longest_interval is None:
        longest = defaults.LONGEST_INTERVAL
        yield Assumption(
            "timer > longest_interval", f"at most {longest} days from watering to watering are assumed"
        )
    for restriction in tables.restrictions:
        if restriction.table.exempt in (None, "unknown"):
            yield Assumption(
                restriction.where, "whether you are exempt is unknown; ask whoever made the rule"
            )
        yield from _asked_long_ago(restriction)


def _asked_long_ago(restriction: Read[RestrictionTable]) -> Iterator[Assumption]:
    table = restriction.table
    if table.asked_on is not None and (table.begins - table.asked_on).days > _FRESH_ANSWER:
        yield Assumption(
            f"{restriction.where} > asked_on",
            f"{table.asked_on} is more than a year before it begins; orders change, so ask again",
        )


def _bill_notes(tables: PlanTables) -> Iterator[Assumption]:
    if tables.tariff is None:
        yield Assumption("tariff", "none is given, so water is counted and not priced")
        return
    if tables.tariff.sewer is None:
        yield Assumption("tariff > sewer", "none is given, so no sewer charge is counted")
    if tables.household is not None and tables.household.table.meter_reading is None:
        yield Assumption("household > meter_reading", "the meter is taken to stand at 0 on the first reading")


def _link_notes(garden: Garden) -> Iterator[Assumption]:
    broker = None if garden.publish is None else garden.publish.mqtt
    if broker is not None and broker.password is not None and not broker.tls:
        yield Assumption("publish > mqtt", "the password goes to the broker unencrypted, as tls is not true")
