from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import settings

# How long an example takes hangs on what else the machine does.
settings.register_profile("any machine", deadline=None)
settings.load_profile("any machine")

TESTS = Path(__file__).parent


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--update-golden",
        action="store_true",
        help="rewrite golden files with what the code produces now; review the difference",
    )


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Callable[[str, str], None]:
    """Compare a text with the file of that name in the folder `golden` beside the test."""
    folder = TESTS / request.path.parent.relative_to(TESTS) / "golden"
    is_update = bool(request.config.getoption("--update-golden"))

    def compare(name: str, text: str) -> None:
        path = folder / name
        if is_update:
            folder.mkdir(exist_ok=True)
            path.write_bytes(text.encode("utf-8"))
        assert path.exists(), f"no golden file {name}; write it with --update-golden"
        assert text == path.read_bytes().decode("utf-8")

    return compare
