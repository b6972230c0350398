"""Tables that passed all checks -> the typed `Garden`, in canonical units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import PurePath

from scheduler.garden import defaults
from scheduler.garden.build_bill import build_household, build_tariff
from scheduler.garden.build_ground import (
    build_layers,
    build_mulch,
    build_settled,
    build_soil,
    build_state,
)
from scheduler.garden.build_layout import build_layout, build_measures, build_place
from scheduler.garden.build_links import build_meter, build_notice, build_publish, build_source
from scheduler.garden.build_measured import build_water_test, newest_cup_tests, with_flow_tests
from scheduler.garden.build_plantings import build_planting
from scheduler.garden.layout import area_of, emitters_of, line_of, shape_words
from scheduler.garden.notes import assumptions
from scheduler.garden.plan import (
    Bed,
    CupTest,
    DripLine,
    Garden,
    Planning,
    Restriction,
    Site,
    SoilMix,
    Timer,
    Uncertainty,
    WateringWindow,
    WaterSource,
    WeatherChoice,
    Zone,
)
from scheduler.garden.plantables import BedTables, PlanTables
from scheduler.garden.schema_beds import BedTable, DripTable
from scheduler.garden.schema_place import PlanningTable, UncertaintyTable
from scheduler.garden.schema_water import RestrictionTable, TimerTable, WaterSourceTable, WindowTable

__all__ = ["build_garden"]


def build_garden(tables: PlanTables) -> Garden:
    """Return the plan of tables in which no check has found a fault.

    Returns
    -------
    Garden
        `assumed` lists every value that the plan did not give.
    """
    site, household = tables.site.table, tables.household
    garden = Garden(
        name=tables.head.table.name,
        note=tables.head.table.note,
        site=Site(site.latitude, site.elevation, site.timezone, site.longitude),
        weather=_weather(tables),
        beds=_beds(tables),
        zones=tuple(Zone(zone.table.name, zone.table.outlet, zone.table.rule) for zone in tables.zones),
        timer=_timer(tables.timer.table),
        windows=tuple(_window(window.table) for window in tables.windows),
        restrictions=tuple(_restriction(limit.table) for limit in tables.restrictions),
        water_source=_source(tables.water_source.table),
        soil_states=tuple(build_state(state.table) for state in tables.soil_states),
        planning=_planning(tables.planning.table),
        tariff=None if tables.tariff is None else build_tariff(tables.tariff),
        household=None if household is None else build_household(household.table),
        ledger=None if tables.head.table.ledger is None else PurePath(tables.head.table.ledger),
        sources=tuple(build_source(source) for source in tables.sources),
        meter=None if tables.meter is None else build_meter(tables.meter.table),
        notify=tuple(build_notice(notice.table) for notice in tables.notices),
        publish=None if tables.publish is None else build_publish(tables.publish.table, tables.mqtt),
        uncertainty=_uncertainty(tables.uncertainty.table),
        layout=build_layout(tables),
        drip_lines=tuple(_drip(name, drip.table) for name, drip in tables.drips.items()),
    )
    return replace(garden, assumed=tuple(assumptions(tables, garden)))


def _weather(tables: PlanTables) -> WeatherChoice:
    table, fill = tables.weather.table, tables.fill.table
    return WeatherChoice(
        file=None if table.file is None else PurePath(table.file),
        wind_height=table.wind_height,
        columns={
            variable: (column.table.column, column.table.unit or "")
            for variable, column in tables.columns.items()
        },
        gaps=fill.gaps,
        humidity=fill.humidity,
        dew_point_below_tmin=fill.dew_point_below_tmin or 0.0,
        radiation=fill.radiation,
        radiation_site=fill.radiation_site or "inland",
        wind=fill.wind,
        rain=fill.rain,
        method=fill.method,
        contact=table.contact or "",
    )


def _drip(name: str, table: DripTable) -> DripLine:
    return DripLine(
        name=name,
        emitter_flow=table.emitter_flow,
        at_pressure=table.at_pressure,
        exponent=table.exponent,
        emitter_spacing=table.emitter_spacing,
        manufacturing_variation=table.manufacturing_variation,
        efficiency=table.efficiency,
        inside_diameter=table.inside_diameter,
        opening_pressure=table.opening_pressure,
        lowest_pressure=table.lowest_pressure,
        highest_pressure=table.highest_pressure,
        passage=table.passage,
    )


def _beds(tables: PlanTables) -> tuple[Bed, ...]:
    soils = {name: build_soil(name, soil.table) for name, soil in tables.soils.items()}
    drips = {name: _drip(name, drip.table) for name, drip in tables.drips.items()}
    tests = newest_cup_tests(tables)
    beds = tuple(
        _bed(
            entry,
            soils=soils,
            drip=drips[entry.bed.table.drip],
            tests=tests,
            water_tested=tables.water_source.table.salinity is not None,
        )
        for entry in tables.beds
    )
    placed = tuple(
        replace(bed, place=build_place(entry.bed.table, tables))
        for bed, entry in zip(beds, tables.beds, strict=True)
    )
    return with_flow_tests(placed, tables)


def _bed(
    entry: BedTables,
    *,
    soils: Mapping[str, SoilMix],
    drip: DripLine,
    tests: Mapping[str, CupTest],
    water_tested: bool,
) -> Bed:
    table = entry.bed.table
    if table.emitter_spacing is not None:
        drip = replace(drip, emitter_spacing=table.emitter_spacing)
    counted = table.emitters is not None
    bed = Bed(
        name=table.name,
        zone=table.zone,
        soil=soils[table.soil],
        shape=table.shape,
        shape_text=shape_words(table.shape, entry.bed.raw),
        area=area_of(table),
        soil_depth=table.soil_depth,
        drip=drip,
        line_length=sum(line_of(table)) or None,
        emitters=emitters_of(table, drip.emitter_spacing) if table.emitters is None else table.emitters,
        emitters_counted=counted,
        pressure=drip.at_pressure if table.pressure is None else table.pressure,
        need=table.need or "area mean",
        plantings=tuple(
            build_planting(planting.table, soil_depth=table.soil_depth, water_tested=water_tested)
            for planting in entry.plantings
        ),
        cup_test=tests.get(table.name),
        layers=build_layers(entry, soils),
        settled=build_settled(entry),
        mulch=None if entry.mulch is None else build_mulch(entry.mulch.table),
        measures=build_measures(table),
    )
    return _placed(bed, table)


def _placed(bed: Bed, table: BedTable) -> Bed:
    """Return the bed with what its place does to sun, rain and wetting; where nothing is said, nothing."""
    return replace(
        bed,
        wetted_share=table.wetted_share,
        wetted_width=table.wetted_width,
        runs_through_after=table.runs_through_after,
        sun_lost=table.direct_sun_lost or 0.0,
        sun_lost_when=table.sun_lost_when or "evening",
        wall_heat=table.wall_heat or 0.0,
        rain_share=1.0 if table.rain_reaching is None else table.rain_reaching,
        isolated_width=table.isolated_stand_width,
        mixing=table.mixing or "area",
        seedbed=table.seedbed_water or "by hand",
    )


def _timer(table: TimerTable) -> Timer:
    return Timer(
        outlets=table.outlets,
        starts_per_day=table.starts_per_day,
        step=table.step,
        shortest_run=table.step if table.shortest_run is None else table.shortest_run,
        longest_run=table.longest_run,
        day_choices=tuple(table.day_choices or defaults.DAY_CHOICES),
        longest_interval=table.longest_interval or defaults.LONGEST_INTERVAL,
        one_zone_at_a_time=table.one_zone_at_a_time,
    )


def _window(table: WindowTable) -> WateringWindow:
    return WateringWindow(tuple(table.days or defaults.ALL_DAYS), table.begin, table.until)


def _restriction(table: RestrictionTable) -> Restriction:
    return Restriction(
        reason=table.reason,
        begins=table.begins,
        ends=table.ends,
        days=tuple(defaults.ALL_DAYS if table.days is None else table.days),
        begin=table.begin,
        until=table.until,
        exempt=table.exempt or "unknown",
        asked_on=table.asked_on,
    )


def _source(table: WaterSourceTable) -> WaterSource:
    return WaterSource(
        flow=table.flow,
        flow_house_busy=table.flow_house_busy,
        usable_share=defaults.USABLE_SHARE if table.usable is None else table.usable,
        static_pressure=table.static_pressure,
        salinity=table.salinity,
        leaching_fraction=table.leaching_fraction,
        test=build_water_test(table),
        temperature=table.temperature,
    )


def _planning(table: PlanningTable) -> Planning:
    given = {
        name: value for name in PlanningTable.model_fields if (value := getattr(table, name)) is not None
    }
    return replace(defaults.PLANNING, **given)


def _uncertainty(table: UncertaintyTable) -> Uncertainty:
    given = {
        name: value for name in UncertaintyTable.model_fields if (value := getattr(table, name)) is not None
    }
    return replace(Uncertainty(), **given)
