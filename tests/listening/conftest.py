from __future__ import annotations

import pytest

from tests.accuracy.corpus import fixture_quartets
from tests.listening.printed import Sheet, read_sheet


@pytest.fixture(scope="session")
def sheet() -> Sheet:
    """Schulhoff: the richest of the quartets kept with the tests."""
    work = next(work for work in fixture_quartets() if work.name.startswith("Schulhoff"))
    return read_sheet(work)
