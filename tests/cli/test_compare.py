import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from mockcheck.cli.compare import command
from mockcheck.errors import BadBrief, UnreadableInput
from tests.phrases import midi_bytes
from tests.plan.test_compare import LOW, REST_OF_SCORE, TUNE


def in_process(*arguments: str | Path) -> Result:
    return CliRunner().invoke(command, [str(argument) for argument in arguments])


@pytest.fixture
def files(tmp_path: Path) -> tuple[Path, Path]:
    """A cue, and a revision that cures one note and spoils another."""
    old, new = tmp_path / "v1.mid", tmp_path / "v2.mid"
    old.write_bytes(midi_bytes(TUNE, REST_OF_SCORE))
    revised = TUNE.replace("F3:1", "F4:1").replace("B4:1 A4:2", "E3:1 A4:2")
    new.write_bytes(midi_bytes(revised, REST_OF_SCORE))
    return old, new


def test_the_answer_comes_first(files: tuple[Path, Path]) -> None:
    result = in_process(*files)
    assert result.exit_code == 0
    assert result.output.splitlines()[0] == "Fixed: 1; still there: 1; new: 1."
    assert "v2.mid, held against v1.mid" in result.output


def test_the_gate_closes_for_what_is_new_alone(files: tuple[Path, Path]) -> None:
    old, new = files
    assert in_process(old, new, "--gate").exit_code == 1
    assert in_process(old, old, "--gate").exit_code == 0
    assert in_process(old, new).exit_code == 0


def test_the_gate_closes_from_a_severity_on(files: tuple[Path, Path], tmp_path: Path) -> None:
    old, new = files
    assert in_process(old, new, "--gate", "--fail-on", "impossible").exit_code == 1
    awkward = tmp_path / "awkward.mid"
    awkward.write_bytes(midi_bytes(TUNE.replace("A5:2", "C7:2"), REST_OF_SCORE))
    record = json.loads(in_process(old, awkward, "--format", "json").output)
    severities = {row["severity"] for row in record["new_findings"]}
    assert severities
    assert "impossible" not in severities
    assert in_process(old, awkward, "--gate", "--fail-on", "impossible").exit_code == 0
    assert in_process(old, awkward, "--gate").exit_code == 1


def test_a_severity_without_the_gate_is_refused(files: tuple[Path, Path]) -> None:
    result = in_process(*files, "--fail-on", "risky")
    assert result.exit_code == 2
    assert "--gate" in result.output


def test_a_brief_holds_for_both_unless_the_old_file_has_its_own(
    files: tuple[Path, Path], tmp_path: Path
) -> None:
    brief, other = tmp_path / "brief.toml", tmp_path / "old.toml"
    brief.write_text(
        f'[[accept]]\ncheck = "{LOW}"\npart = "Violin"\nbars = "all"\nreason = "he tunes down"\n'
    )
    other.write_text('level = "solo"\n')
    one = json.loads(in_process(*files, "--brief", brief, "--format", "json").output)
    assert one["counts"] == {"fixed": 0, "still_there": 1, "moved": 0, "new": 0, "accepted": 1}
    both = in_process(*files, "--brief", brief, "--old-brief", other, "--format", "json")
    two = json.loads(both.output)
    assert (two["old"]["level"], two["new"]["level"]) == ("solo", "sight")
    assert two["counts"]["fixed"] == 1
    told = in_process(*files, "--brief", brief, "--old-brief", other).output
    assert "judged at level solo" in " ".join(told.split())


def test_a_folder_gets_the_page_and_the_record(files: tuple[Path, Path], tmp_path: Path) -> None:
    result = in_process(*files, "--out", tmp_path / "out")
    assert result.exit_code == 0
    assert "<h1>Fixed: 1;" in (tmp_path / "out" / "compare.html").read_text()
    record = json.loads((tmp_path / "out" / "compare.json").read_text())
    assert record["schema"] == "mockcheck.compare/1"


def test_a_folder_that_cannot_be_written_is_told(files: tuple[Path, Path]) -> None:
    result = in_process(*files, "--out", files[0] / "out")
    assert isinstance(result.exception, BadBrief)
    assert "--out" in str(result.exception)


def test_an_unreadable_file_is_told(files: tuple[Path, Path], tmp_path: Path) -> None:
    broken = tmp_path / "broken.mid"
    broken.write_bytes(b"no music")
    assert isinstance(in_process(files[0], broken).exception, UnreadableInput)


def test_as_a_script_calls_it(files: tuple[Path, Path]) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "mockcheck", "compare", *map(str, files), "--gate"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert done.stdout.startswith("Fixed: 1;")
    assert done.stderr == ""
