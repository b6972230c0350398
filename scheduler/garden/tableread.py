"""One table of the plan file, validated key by key: what is right stays usable beside what is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from pydantic import ValidationError

from scheduler.errors import Fault
from scheduler.garden.faultwords import as_faults, attribute_of, key_name, meant_keys
from scheduler.garden.fields import shown
from scheduler.garden.schema_base import Table

__all__ = ["Read", "read_table", "unreadable"]

T = TypeVar("T", bound=Table)


@dataclass(frozen=True, slots=True)
class Read(Generic[T]):
    """A table as far as it could be read.

    Attributes
    ----------
    where : str
        Readable path of the table, such as ``bed "tall bed"``.
    raw : Mapping
        The table as written.
    table : Table
        The model; attributes of keys that are bad or missing must not be used: ask `has` first.
    bad : frozenset of str
        Attribute names that could not be read.
    """

    where: str
    raw: Mapping[str, Any]
    table: T
    bad: frozenset[str] = frozenset()

    def has(self, *names: str) -> bool:
        """Return True if all of these attributes were read, or were left out and have a default."""
        return self.bad.isdisjoint(names)

    def place(self, name: str) -> str:
        """Return the readable path of one key."""
        return f"{self.where} > {key_name(type(self.table), name)}"


def read_table(
    model: type[T], raw: object, *, where: str, faults: list[Fault], inner: tuple[str, ...] = ()
) -> Read[T]:
    """Return the table with whatever could be read, and add a fault for everything else.

    Parameters
    ----------
    model : type of Table
    raw : object
        What TOML holds at that place.
    where : str
        Readable path of the table; empty for the head of the file.
    faults : list of Fault
        Grows by one fault per wrong key.
    inner : tuple of str
        Keys of tables inside this one, which the caller reads one by one.
    """
    if not isinstance(raw, dict):
        faults.append(Fault(where, f"{shown(raw)} is not a table", f"write {_table_head(where)}"))
        return unreadable(model, where=where)
    own = {key: value for key, value in raw.items() if key not in inner}
    try:
        return Read(where, raw, model.model_validate(own))
    except ValidationError as error:
        details = error.errors(include_url=False)
    faults.extend(as_faults(model, details, where))
    bad = {attribute_of(model, str(detail["loc"][0])) for detail in details}
    # A key that was meant by an unknown one is not known to be left out.
    bad |= {attribute_of(model, key) for key in meant_keys(model, details) if key not in own}
    table = model.model_construct()
    for name, info in model.model_fields.items():
        key = info.alias or name
        if name not in bad and key in own:
            model.__pydantic_validator__.validate_assignment(table, name, own[key])
    return Read(where, raw, table, frozenset(bad))


def unreadable(model: type[T], *, where: str) -> Read[T]:
    """Return a table of which nothing could be read."""
    return Read(where, {}, model.model_construct(), frozenset(model.model_fields))


def _table_head(where: str) -> str:
    """Return how a table of that place begins, as far as the path tells."""
    return f"[{where}] on a line of its own" if where.isidentifier() else "key = value pairs there"
