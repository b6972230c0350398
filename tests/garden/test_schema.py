"""The JSON Schema of the plan file accepts what the reader accepts and refuses unknown keys."""

from __future__ import annotations

import tomllib
from datetime import date, time
from importlib import resources

import jsonschema
import pytest

from scheduler.garden.checks_place import COLUMN_DIMENSIONS
from scheduler.garden.faultwords import readers_of
from scheduler.garden.schema import plan_schema
from scheduler.garden.schema_place import Table
from scheduler.weather.record import VARIABLES

from .conftest import PLAN


def as_json(value):
    """Return TOML values as editors hold them: dates and times as text."""
    if isinstance(value, dict):
        return {key: as_json(item) for key, item in value.items()}
    if isinstance(value, list):
        return [as_json(item) for item in value]
    return value.isoformat() if isinstance(value, (date, time)) else value


def check(text: str) -> None:
    jsonschema.Draft202012Validator(plan_schema()).validate(as_json(tomllib.loads(text)))


def test_schema_is_itself_right():
    jsonschema.Draft202012Validator.check_schema(plan_schema())


def test_schema_accepts_the_starter_and_the_test_plan():
    check((resources.files("scheduler.garden.data") / "starter.toml").read_text(encoding="utf-8"))
    check(PLAN)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('length = "10 ft"', 'lenght = "10 ft"'),
        ('length = "10 ft"', "length = 10"),
        ('rule = "driest bed"', 'rule = "driest"'),
        ("exponent = 0.5", "exponent = 1.5"),
        ('fixed_charge = "9.40"', "fixed_charge = 9.40"),
        ('crop = "tomato"\n', ""),
        ("from = 05:00:00\n", ""),
    ],
)
def test_schema_refuses_what_the_reader_refuses(changed, faults_of, old, new):
    text = changed((old, new))
    assert faults_of(text)
    with pytest.raises(jsonschema.ValidationError):
        check(text)


def keys_of(schema, defs):
    """Yield every property of a schema with its name, through all tables."""
    for name, described in schema.get("properties", {}).items():
        yield name, described
    for table in defs.values():
        for name, described in table.get("properties", {}).items():
            yield name, described


def test_every_key_is_explained_and_every_quantity_has_an_example():
    schema = plan_schema()
    for name, described in keys_of(schema, schema["$defs"]):
        assert "description" in described or "$ref" in described, name
        if described.get("type") == "string":
            assert described.get("examples") or described.get("enum"), name


def test_every_example_of_the_schema_is_read():
    """The first example of each key is what a fault tells people to write, so it must be right itself."""
    seen = set()
    for model in Table.__subclasses__():
        for info in model.model_fields.values():
            for reader in readers_of(info):
                for example in reader.examples:
                    toml = example if reader.example() == reader.examples[0] else f'"{example}"'
                    reader.read(tomllib.loads(f"x = {toml}")["x"])
                    seen.add(example)
    assert len(seen) > 40


def test_weather_columns_are_those_of_a_record():
    assert set(COLUMN_DIMENSIONS) == set(VARIABLES)
