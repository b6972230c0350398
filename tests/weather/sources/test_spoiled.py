"""Spoiled samples of every format: a record within all weather's reach, or an error of ours."""

from __future__ import annotations

import json
from copy import deepcopy

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.errors import RillbookError
from scheduler.weather.sources.ghcn import parse_ghcn
from scheduler.weather.sources.nws import parse_point
from tests.fuzz.invariants import check
from tests.weather.sources.samples import PARSERS, text_of

SAMPLES = {name: text_of(name) for name in PARSERS}
JSON_SAMPLES = [name for name in PARSERS if name.endswith(".json")]
_FEW = settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])

# What turns up where it should not: other digits, signs of the formats, other alphabets, control signs.
SCRAPS = st.one_of(
    st.sampled_from(
        ["", "-", ".", ",", ";", '"', "'", "\n", "\r\n", "\t", "\x00", "\ufeff", "NaN", "Infinity", "1e999"]
        + [
            "null",
            "true",
            "{}",
            "[]",
            "{",
            "]",
            "-9999",
            "99999999999999999999",
            "٣",
            "½",
            "²",
            "\u202e",
            "é",
        ]
        + ["0000-00-00", "2024-02-30", "PT0H", "P9999D", "24:00", "T", " ", "  7", "USC00999902"]
    ),
    st.text(max_size=6),
    st.integers(-(10**9), 10**9).map(str),
)
EDITS = st.lists(
    st.tuples(st.floats(0, 1), st.integers(0, 12), SCRAPS, st.sampled_from(["put", "cut off", "double"])),
    min_size=1,
    max_size=5,
)
ANYTHING = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | SCRAPS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(SCRAPS, inner, max_size=3),
    max_leaves=6,
)


def spoil(text, edits):
    """Return the text with pieces put in place of others, cut off or doubled."""
    for where, length, scrap, how in edits:
        place = int(where * len(text))
        if how == "put":
            text = text[:place] + scrap + text[place + length :]
        elif how == "double":
            text = text[: place + length * 20] + text[place:]
        elif where > 0.2:
            text = text[:place]
    return text


def places_of(part, at=()):
    """Yield the path of each part of a document."""
    yield at
    inner = part.items() if isinstance(part, dict) else enumerate(part) if isinstance(part, list) else ()
    for key, value in inner:
        yield from places_of(value, (*at, key))


@pytest.mark.parametrize("name", PARSERS)
def test_sample_itself_is_read(name):
    assert check(PARSERS[name], SAMPLES[name])


@pytest.mark.parametrize("name", PARSERS)
@_FEW
@given(edits=EDITS)
def test_spoiled_text(name, edits):
    check(PARSERS[name], spoil(SAMPLES[name], edits))


@pytest.mark.parametrize("name", JSON_SAMPLES)
@_FEW
@given(data=st.data())
def test_spoiled_document(name, data):
    document = deepcopy(json.loads(SAMPLES[name]))
    for _ in range(data.draw(st.integers(1, 3))):
        path = data.draw(st.sampled_from(list(places_of(document))))
        value = data.draw(ANYTHING)
        if not path:
            document = value
            continue
        part = document
        for key in path[:-1]:
            part = part[key]
        if data.draw(st.booleans()):
            part[path[-1]] = value
        else:
            del part[path[-1]]
    check(PARSERS[name], json.dumps(document))


@_FEW
@given(edits=EDITS)
def test_spoiled_point(edits):
    try:
        cell = parse_point(spoil(text_of("nws_points.json"), edits))
    except RillbookError:
        return
    assert cell.office.isalpha()
    assert min(cell.x, cell.y) >= 0


@_FEW
@given(st.text(max_size=300))
def test_any_text(text):
    for parse in PARSERS.values():
        check(parse, text)


@_FEW
@given(edits=EDITS)
def test_rows_of_a_station_with_other_elements(edits):
    lines = SAMPLES["ghcn.dly"].replace("AWND", "MDPR").splitlines()
    check(parse_ghcn, spoil("\n".join([*lines, lines[3].replace("MDPR", "DAPR")]), edits))
