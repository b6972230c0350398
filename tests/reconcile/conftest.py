import pytest

from tests.reconcile.stories import Story


@pytest.fixture
def story(tmp_path):
    """Return an empty ledger to tell a story in."""
    return Story(tmp_path / "garden.ledger.sqlite")
