import pytest

from scheduler.ledger.store import Ledger


@pytest.fixture
def path(tmp_path):
    return tmp_path / "ledger.sqlite"


@pytest.fixture
def ledger(path):
    with Ledger.open(path) as opened:
        yield opened
