import os
from pathlib import Path

import pytest

import mockcheck
from mockcheck.model.played import PlayedPart

FIXTURES = Path(__file__).parent.parent.parent / "fixtures" / "quartets"


@pytest.fixture(scope="session")
def quartet_violins() -> list[PlayedPart]:
    """Violin parts of the published quartets in fixtures, or every other one of the larger set."""
    folder = os.environ.get("MOCKCHECK_QUARTETS")
    files = sorted(Path(folder).glob("*.mid"))[1:12:2] if folder else sorted(FIXTURES.glob("*.mid"))
    played = [mockcheck.play(mockcheck.load(file), {"level": "rehearsed"}) for file in files]
    return [part for score in played for part in score.parts if part.instrument.id == "violin"]
