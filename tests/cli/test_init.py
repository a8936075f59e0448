import subprocess
import sys
from pathlib import Path

import click
import pytest

from mockcheck import cli
from mockcheck.errors import BadBrief, UnreadableInput
from tests.phrases import midi_bytes


def exit_of(monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    monkeypatch.setattr(sys, "argv", ["mockcheck", *arguments])
    with pytest.raises(SystemExit) as caught:
        cli.main()
    code = caught.value.code
    assert isinstance(code, int)
    return code


def fail_with(monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    def broken(**_options: object) -> None:
        raise error

    monkeypatch.setattr(cli.cli, "main", broken)


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (BadBrief("brief.toml: no"), 2),
        (UnreadableInput("x.mid: no"), 3),
        (click.UsageError("no"), 2),
        (click.Abort(), 130),
        (BrokenPipeError(), 0),
        (ZeroDivisionError("ours"), 4),
    ],
)
def test_every_ending_has_its_exit_code(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    error: BaseException,
    code: int,
) -> None:
    fail_with(monkeypatch, error)
    assert exit_of(monkeypatch) == code
    said = capsys.readouterr().err
    assert ("Traceback" in said) is (code == 4)
    assert ("report it" in said) is (code == 4)


def test_a_plain_run_ends_with_nought_and_an_unknown_command_with_two(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert exit_of(monkeypatch, "checks") == 0
    assert exit_of(monkeypatch, "chekcs") == 2


def test_findings_end_with_one(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    path = tmp_path / "mockup.mid"
    path.write_bytes(midi_bytes("violin 4/4 q=100 | A4:2 F3:2 |"))
    assert exit_of(monkeypatch, "review", str(path), "--fail-on", "risky") == 1


def test_the_package_runs_as_a_module() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "mockcheck", "--version"], capture_output=True, text=True, check=True
    )
    assert done.stdout.startswith("mockcheck")
