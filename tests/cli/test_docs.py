import re
import subprocess
import sys
import time
from pathlib import Path

import click
import pytest

from mockcheck.cli import cli
from mockcheck.config import session_from_file
from mockcheck.grade.rubric import read_rubric
from tests.cli.readme_checks import check_table

README = (Path(__file__).parent.parent.parent / "README.md").read_text()
COMMANDS = cli.list_commands(click.Context(cli))


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example_and_stands_in_the_readme(name: str) -> None:
    command = cli.get_command(click.Context(cli), name)
    assert command is not None
    assert command.help
    assert command.epilog is not None
    assert f"mockcheck {name}" in command.epilog
    assert f"mockcheck {name}" in README


def test_the_list_of_checks_in_the_readme_is_current() -> None:
    # `python -m tests.cli.readme_checks` rewrites it.
    assert check_table() in README


def test_help_starts_quickly() -> None:
    seconds = []
    for _ in range(3):
        start = time.perf_counter()
        subprocess.run(
            [sys.executable, "-m", "mockcheck", "--help"], capture_output=True, check=True
        )
        seconds.append(time.perf_counter() - start)
    assert min(seconds) < 0.3, seconds


TABLES = re.findall(r"^```toml\n(.*?)^```", README, re.MULTILINE | re.DOTALL)


def test_every_brief_and_rubric_in_the_readme_can_be_used(tmp_path: Path) -> None:
    assert len(TABLES) >= 5
    for text in TABLES:
        # The name that it is to be saved under stands in its first line, if it matters.
        named = re.match(r"# (\S+\.toml)\b", text)
        path = tmp_path / (named[1] if named else "session.toml")
        path.write_text(text)
        if path.name == "rubric.toml":
            assert read_rubric(path) != read_rubric(None)
        else:
            session_from_file(path)
