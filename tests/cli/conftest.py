from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each test begins with nothing kept, and leaves nothing with the user."""
    folder: Path = tmp_path_factory.mktemp("cache")
    monkeypatch.setenv("MOCKCHECK_CACHE", str(folder))
