"""The plan file as a whole, and its JSON Schema for editors."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import ConfigDict, Field
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from scheduler.garden.schema_beds import BedTable, DripTable, ZoneTable
from scheduler.garden.schema_layout import HeadPartTable, MainLineTable, SegmentTable, TakeoffTable
from scheduler.garden.schema_links import MeterTable, NotifyTable, PublishTable
from scheduler.garden.schema_measured import CupTestTable, FlowTestTable
from scheduler.garden.schema_place import (
    HeadTable,
    PlanningTable,
    SiteTable,
    SoilStateTable,
    SoilTable,
    UncertaintyTable,
    WeatherTable,
)
from scheduler.garden.schema_water import (
    HouseholdTable,
    RestrictionTable,
    TariffTable,
    TimerTable,
    WaterSourceTable,
    WindowTable,
)

__all__ = ["PlanFile", "plan_schema"]

_AtLeastOne = Field(min_length=1)


class PlanFile(HeadTable):
    """A garden plan file; built only for its schema, the reader goes table by table."""

    model_config = ConfigDict(defer_build=True)

    site: SiteTable
    weather: WeatherTable
    soil: Annotated[dict[str, SoilTable], _AtLeastOne] = Field(description="Soil mixes by name.")
    water_source: WaterSourceTable
    drip: Annotated[dict[str, DripTable], _AtLeastOne] = Field(description="Drip lines by name.")
    zone: Annotated[list[ZoneTable], _AtLeastOne] = Field(description="Timer outlets in use.")
    bed: Annotated[list[BedTable], _AtLeastOne] = Field(description="The beds.")
    head: list[HeadPartTable] = Field(
        default_factory=list, description="Parts of the head assembly, in the order of the water."
    )
    main_line: MainLineTable | None = None
    segment: list[SegmentTable] = Field(
        default_factory=list, description="Named pieces of main line, in place of the main line's own route."
    )
    takeoff: TakeoffTable | None = None
    cup_test: list[CupTestTable] = Field(default_factory=list, description="Cup tests; the newest counts.")
    flow_test: list[FlowTestTable] = Field(
        default_factory=list, description="Bucket and meter tests of beds; the newest counts."
    )
    soil_state: Annotated[list[SoilStateTable], _AtLeastOne] = Field(
        description="What the soil held, and when."
    )
    planning: PlanningTable = Field(default_factory=PlanningTable)
    uncertainty: UncertaintyTable = Field(default_factory=UncertaintyTable)
    timer: TimerTable
    watering_window: Annotated[list[WindowTable], _AtLeastOne] = Field(description="Hours to water in.")
    restriction: list[RestrictionTable] = Field(default_factory=list, description="Limits on watering.")
    tariff: TariffTable | None = None
    household: HouseholdTable | None = None
    meter: MeterTable | None = None
    notify: list[NotifyTable] = Field(default_factory=list, description="Ways to be told.")
    publish: PublishTable | None = None


class _FileSchema(GenerateJsonSchema):
    """A schema of what can stand in a TOML file: there is no null, so a key is there or not."""

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        """Describe an optional key by its value alone."""
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        """Leave out defaults that stand for a key that is not there."""
        described = super().default_schema(schema)
        if described.get("default", ...) in (None, "", {}, []):
            described.pop("default")
        return described


def plan_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a garden plan file.

    Returns
    -------
    dict
        Quantities are text with examples; dates and times are text, as editors hold those of TOML.
    """
    schema = PlanFile.model_json_schema(schema_generator=_FileSchema)
    return {"$schema": _FileSchema.schema_dialect, **schema, "title": "Garden plan"}
