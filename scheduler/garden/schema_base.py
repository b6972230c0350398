"""What every table of the plan file has in common, and the table of one column that several use."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from scheduler.garden.fields import Words

__all__ = ["ColumnTable", "Table"]


class Table(BaseModel):
    """Base of every table: unknown keys are refused and nothing is guessed from another type."""

    model_config = ConfigDict(extra="forbid", strict=True)


class ColumnTable(Table):
    """One column of the weather file."""

    column: Annotated[str, Words("TMAX")] = Field(description="Name of the column in the file's header.")
    unit: Annotated[str, Words("degF", "mm", "mph")] | None = Field(
        default=None, description="Unit of the column; the date has none."
    )
