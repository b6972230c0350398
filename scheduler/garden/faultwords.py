"""What pydantic found wrong with a table, in a gardener's words."""

from __future__ import annotations

from difflib import get_close_matches
from typing import Any

from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from scheduler.errors import Fault
from scheduler.garden.fields import Reader, shown
from scheduler.garden.schema_base import Table

__all__ = ["as_faults", "attribute_of", "key_name", "meant_keys", "nearest_hint", "readers_of", "wanted_for"]

# A hint that lists every known name stays readable up to here.
_MOST_NAMES = 20
_ITEM_WORDS = {"corners": "corner", "rings": "ring", "stages": "stage", "volumes": "cup", "days": "day"}


def key_name(model: type[Table], name: str) -> str:
    """Return the key in the file of an attribute of the model."""
    return model.model_fields[name].alias or name


def nearest_hint(name: str, known: list[str], *, kind: str) -> str:
    """Return a hint that names the nearest known name, or all of them."""
    lower = {word.casefold(): word for word in known}
    near = get_close_matches(name.casefold(), list(lower), n=1)
    if near:
        return f'did you mean "{lower[near[0]]}"?'
    listed = ", ".join(known[:_MOST_NAMES]) + (" ..." if len(known) > _MOST_NAMES else "")
    return f"known {kind}: {listed}" if known else f"there are no {kind}"


def attribute_of(model: type[Table], key: str) -> str:
    """Return the attribute that a key of the file fills."""
    for name, info in model.model_fields.items():
        if info.alias == key:
            return name
    return key


def as_faults(model: type[Table], details: list[ErrorDetails], where: str) -> list[Fault]:
    """Return one fault per wrong key; a key that is only misspelt is not also told as missing."""
    meant = meant_keys(model, details)
    return [
        _fault(detail, model, where)
        for detail in details
        if not (detail["type"] == "missing" and detail["loc"][-1] in meant)
    ]


def meant_keys(model: type[Table], details: list[ErrorDetails]) -> set[str]:
    """Return the known keys that unknown ones were most likely meant to be."""
    unknown = [detail["loc"] for detail in details if detail["type"] == "extra_forbidden"]
    near = (get_close_matches(str(loc[-1]), _keys_at(_owner(model, loc)[0]), n=1) for loc in unknown)
    return {keys[0] for keys in near if keys}


def _keys_at(model: type[Table]) -> list[str]:
    """Return the keys that a table may hold."""
    return [info.alias or name for name, info in model.model_fields.items()]


def _fault(detail: ErrorDetails, model: type[Table], where: str) -> Fault:
    """Return one problem in a gardener's words."""
    path = detail["loc"]
    place = " > ".join([*([where] if where else []), *_path_words(path)])
    owner, info = _owner(model, path)
    kind = detail["type"]
    value = detail["input"]
    if kind == "plan_value":
        return Fault(place, detail["ctx"]["found"], detail["ctx"]["wanted"])
    if kind == "extra_forbidden":
        return Fault(
            place, "this key is unknown here", nearest_hint(str(path[-1]), _keys_at(owner), kind="keys")
        )
    if kind == "missing":
        example = _example(info)
        return Fault(place, "missing", f"write {path[-1]} = {example}" + _meaning(info))
    if kind == "literal_error":
        return Fault(
            place, f"{shown(value)} is not known here", _choices(str(detail["ctx"]["expected"]), value)
        )
    if kind == "bool_type":
        return Fault(
            place, f"{shown(value)} is neither true nor false", "write true or false, without quotes"
        )
    if kind in ("too_short", "too_long"):
        limit = detail["ctx"].get("min_length" if kind == "too_short" else "max_length")
        few = "at least" if kind == "too_short" else "at most"
        return Fault(
            place, f"{shown(value)} has {_entries(value)}", f"write {few} {limit}, e.g. {_example(info)}"
        )
    if kind == "list_type":
        return Fault(
            place,
            f"{shown(value)} is not a list",
            f"write a list in brackets, e.g. {_example(info)}{_meaning(info)}",
        )
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        return Fault(
            place, f"{shown(value)} is not a table", "write key = value pairs in braces or under a head"
        )
    return Fault(place, f"{shown(value)}: {detail['msg']}", f"write e.g. {_example(info)}{_meaning(info)}")


def _entries(value: list[object]) -> str:
    return "1 entry" if len(value) == 1 else f"{len(value)} entries"


def _path_words(path: tuple[int | str, ...]) -> list[str]:
    """Return the steps of a path in words: numbers count from 1."""
    words: list[str] = []
    for step in path:
        if isinstance(step, str):
            words.append(step)
        else:
            words.append(f"{_ITEM_WORDS.get(words[-1] if words else '', 'entry')} {step + 1}")
    return words


def _owner(model: type[Table], path: tuple[int | str, ...]) -> tuple[type[Table], FieldInfo | None]:
    """Return the table that holds the last named key of a path, and that key's field if it is known."""
    owner = model
    info: FieldInfo | None = None
    for step in path:
        if isinstance(step, int):
            continue
        if info is not None and (inner := _table_in(info)):
            owner = inner
        info = owner.model_fields.get(attribute_of(owner, step))
    return owner, info


def _table_in(info: FieldInfo) -> type[Table] | None:
    """Return the table class of a field that holds one table, optional or not."""
    kinds = (info.annotation, *getattr(info.annotation, "__args__", ()))
    return next((kind for kind in kinds if isinstance(kind, type) and issubclass(kind, Table)), None)


def _example(info: FieldInfo | None) -> str:
    """Return one right value of a field as it would stand in the file."""
    if info is None:
        return "a value"
    if info.examples:
        return shown(info.examples[0])
    for reader in readers_of(info):
        return reader.example()
    return "true" if info.annotation is bool else "a value"


def wanted_for(model: type[Table], key: str) -> str:
    """Return what to write for a key of a table, with an example and its meaning."""
    info = model.model_fields[attribute_of(model, key)]
    return f"write {key} = {_example(info)}{_meaning(info)}"


def readers_of(info: FieldInfo) -> list[Reader]:
    """Return the readers of a field, whether it is optional or not."""
    found: list[Any] = list(info.metadata)
    for kind in getattr(info.annotation, "__args__", ()):
        found.extend(getattr(kind, "__metadata__", ()))
    return [entry for entry in found if isinstance(entry, Reader)]


def _meaning(info: FieldInfo | None) -> str:
    """Return what a field means, in brackets."""
    if info is None or not info.description:
        return ""
    return f" ({info.description[0].lower()}{info.description[1:].rstrip('.')})"


def _choices(expected: str, value: object) -> str:
    """Return the words that may stand there, the nearest first named."""
    words = [word.strip("'") for word in expected.replace(" or ", ", ").split(", ")]
    near = get_close_matches(str(value).casefold(), [word.casefold() for word in words], n=1)
    listed = ", ".join(f'"{word}"' for word in words)
    hint = next((f'did you mean "{word}"? ' for word in words if near and word.casefold() == near[0]), "")
    return f"{hint}Use one of {listed}" if hint else f"use one of {listed}"
