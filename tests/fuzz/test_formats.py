"""What the fuzzer begins with is sound, and its changes make something of it; needs no fuzzer."""

import pytest

from scheduler.errors import RillbookError
from tests.fuzz.broken import BROKEN
from tests.fuzz.formats import FORMATS
from tests.fuzz.invariants import check
from tests.fuzz.mutate import change_token

EVERY = FORMATS | BROKEN


@pytest.mark.parametrize("name", EVERY)
def test_first_seed_is_a_record(name):
    assert check(EVERY[name].parse, EVERY[name].seeds[0])


@pytest.mark.parametrize("name", FORMATS)
def test_changed_seeds_are_records_or_faults(name):
    parse, seeds = FORMATS[name].parse, FORMATS[name].seeds
    changed = [change_token(seeds[0], number) for number in range(200)]
    records = sum(check(parse, data) for data in changed)
    # The changes reach behind the first look at a file, and do not leave it as it was.
    assert 10 < records < 195
    assert len(set(changed)) > 100


def test_any_bytes():
    for each in FORMATS.values():
        for data in (b"", b"\x00", b"\xff\xfe", b"{", b"\n" * 50, bytes(range(256))):
            with pytest.raises(RillbookError):
                each.parse(data)
