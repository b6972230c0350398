"""Changes that keep the look of a table or a document: one number, word or sign in place of another."""

from __future__ import annotations

import random
import re

__all__ = ["change_token"]

_TOKEN = re.compile(rb"[+-]?\d+(?:\.\d+)?|[A-Za-z_]+|[\x80-\xff]+|[^\w\s]|\s+")
# A number that stands by itself, such as a cell.
_VALUE = re.compile(rb"(?<![^\s,;:\[\"])[+-]?\d+(?:[.,]\d+)?(?![^\s,;\]}\"])")
_ODD = (
    *(
        b"",
        b"0",
        b"-0",
        b"1",
        b"-40",
        b"104",
        b"212",
        b"366",
        b"9999",
        b"-9999",
        b"99999",
        b"0.0001",
        b"1e99",
    ),
    *(b"99999999999999999999", b"NaN", b"Infinity", b"null", b"true", b"{}", b"[]", b'""', b"\xef\xbb\xbf"),
    *(b"degF", b"degC", b"\xc2\xb0F", b"\xc2\xb0C", b"mm", b"in", b"inch", b"mph", b"m/s", b"km/h", b"K"),
    *(b"2024-02-30", b"1800-01-01", b"2199-12-31", b"PT0S", b"P9999D", b"24:00", b"forecast", b"T", b"P"),
    *(b'"', b"'", b",", b";", b"\t", b"\r", b"\n", b"\x00", b"#", b"\xd9\xa3"),
)


def change_token(data: bytes, seed: int) -> bytes:
    """Return a text with one or two tokens changed, doubled or left out, or a line repeated or left out."""
    chance = random.Random(seed)
    if chance.random() < 0.2:
        lines = data.splitlines(keepends=True)
        if lines:
            place = chance.randrange(len(lines))
            lines[place : place + 1] = [lines[place]] * chance.choice((0, 2, 3))
        return b"".join(lines)
    for _ in range(chance.choice((1, 1, 2))):
        tokens = list(_TOKEN.finditer(data))
        if not tokens:
            return chance.choice(_ODD)
        # What a parser makes most of is values and words; most signs between only hold a text together.
        values = list(_VALUE.finditer(data)) or tokens
        spoken = [token for token in tokens if token[0][-1:].isalnum()] or tokens
        old = chance.choice(chance.choices((values, spoken, tokens), (5, 4, 1))[0])
        new = chance.choice(
            (chance.choice(_ODD), chance.choice(tokens)[0], old[0] + old[0], _near(old[0], chance))
        )
        if chance.random() < 0.5:
            # Columns of a fixed width stay where they are.
            new = new.rjust(len(old[0]))
        data = data[: old.start()] + new + data[old.end() :]
    return data


def _near(old: bytes, chance: random.Random) -> bytes:
    """Return a number in place of a number, of the same or another size."""
    try:
        number = float(old)
    except ValueError:
        return old
    other = chance.choice((number + 1, -number, number * 10, number / 10, number * chance.uniform(-3, 3)))
    return f"{other:.{chance.choice((0, 0, 1, 3))}f}".encode()
