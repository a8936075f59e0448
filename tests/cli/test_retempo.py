import csv
import io
import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from mockcheck.cli.retempo import command
from mockcheck.errors import BadBrief, UnreadableInput
from tests.phrases import midi_bytes

SCALE = "D4 E4 F#4 G4 A4 B4 C#5 D5 E5 D5 C#5 B4 A4 G4 F#4 E4".split()


def in_process(*arguments: str | Path) -> Result:
    return CliRunner().invoke(command, [str(argument) for argument in arguments])


@pytest.fixture
def fast(tmp_path: Path) -> Path:
    path = tmp_path / "fast.mid"
    bar = " ".join(f"{name}:1/4" for name in SCALE)
    path.write_bytes(midi_bytes(f"violin 4/4 q=180 players=8 | D4:4 | {bar} | D4:4 |"))
    return path


def test_the_answer_names_tempo_part_and_bar(fast: Path) -> None:
    result = in_process(fast)
    assert result.exit_code == 0
    for words in ("too fast as written", "quarter = ", "Violin", "bar 2", "+20%", "-20%"):
        assert words in result.output


def test_a_tempo_is_asked_for_by_its_number(fast: Path) -> None:
    record = json.loads(in_process(fast, "--at", "90", "--at", "198", "--format", "json").output)
    assert [step["factor"] for step in record["steps"]] == [0.5, 1.1]
    assert [step["first_bpm"] for step in record["steps"]] == pytest.approx([90, 198], abs=0.01)
    assert record["steps"][0]["too_fast"] == 0
    assert record["steps"][0]["opens"] == [0]


def test_a_change_is_asked_for_in_percent(fast: Path) -> None:
    record = json.loads(in_process(fast, "--by", "7.5", "--by", "-30", "--format", "json").output)
    assert [step["factor"] for step in record["steps"]] == [0.7, 1.075]


def test_the_level_changes_the_answer(fast: Path) -> None:
    def places(level: str) -> float:
        record = json.loads(in_process(fast, "--level", level, "--format", "json").output)
        return float(record["places"][0]["headroom"])

    assert places("sight") < places("rehearsed") < places("solo")


def test_a_brief_is_read(fast: Path, tmp_path: Path) -> None:
    brief = tmp_path / "brief.toml"
    brief.write_text('level = "solo"')
    assert (
        json.loads(in_process(fast, "--brief", brief, "--format", "json").output)["level"] == "solo"
    )
    brief.write_text('levle = "solo"')
    assert isinstance(in_process(fast, "--brief", brief).exception, BadBrief)


def test_csv_has_a_row_for_each_place(fast: Path) -> None:
    rows = list(csv.DictReader(io.StringIO(in_process(fast, "--format", "csv").output)))
    assert [row["part"] for row in rows] == ["Violin"]
    assert float(rows[0]["headroom"]) < 1


def test_a_folder_gets_answer_table_and_picture(fast: Path, tmp_path: Path) -> None:
    out = tmp_path / "deep" / "retempo"
    assert in_process(fast, "--out", out).exit_code == 0
    assert sorted(path.name for path in out.iterdir()) == [
        "headroom.png",
        "retempo.csv",
        "retempo.json",
    ]
    assert json.loads((out / "retempo.json").read_text())["places"]


def test_a_place_that_cannot_be_written_is_said(fast: Path, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    error = in_process(fast, "--out", tmp_path / "taken" / "retempo").exception
    assert isinstance(error, BadBrief)
    assert "cannot write" in str(error)


@pytest.mark.parametrize(
    "options",
    [("--at", "120", "--by", "5"), ("--at", "0"), ("--by", "-100"), ("--by", "fast")],
)
def test_wrong_usage_is_exit_code_2(fast: Path, options: tuple[str, ...]) -> None:
    assert in_process(fast, *options).exit_code == 2


def test_a_file_without_music_is_unreadable(tmp_path: Path) -> None:
    path = tmp_path / "empty.mid"
    path.write_bytes(b"")
    assert isinstance(in_process(path).exception, UnreadableInput)


def test_a_file_that_counts_frames_has_no_tempo_to_replace(fast: Path, tmp_path: Path) -> None:
    # 25 frames of 40 ticks (Standard MIDI Files 1.0, header division): a thousand ticks a second.
    data = bytearray(fast.read_bytes())
    data[12:14] = bytes((256 - 25, 40))
    path = tmp_path / "frames.mid"
    path.write_bytes(bytes(data))
    error = in_process(path, "--at", "120").exception
    assert isinstance(error, BadBrief)
    assert "--by" in str(error)
    assert in_process(path, "--by", "10").exit_code == 0


def test_text_loads_no_drawing_or_table_package(fast: Path) -> None:
    script = (
        "import sys\n"
        "from mockcheck.cli.retempo import command\n"
        f"command([{str(fast)!r}], standalone_mode=False)\n"
        "print([m for m in ('matplotlib', 'pandas') if m in sys.modules])\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert result.stdout.splitlines()[-1] == "[]"
