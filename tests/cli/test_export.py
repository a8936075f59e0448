from pathlib import Path

import mido
import pytest
from click.testing import CliRunner, Result

from mockcheck.cli.export import command
from mockcheck.errors import BadBrief, UnreadableInput
from tests.phrases import midi_bytes

SCALE = "D4 E4 F#4 G4 A4 B4 C#5 D5 E5 F#5 G5 A5 B5 C#6 D6 E6".split()
RUN = " ".join(f"{name}:1/8" for name in SCALE)
EVERYTHING = (
    "--markers", "--spotting", "--booth", "--players-copy", "--page-notes", "--musicxml", "--spots",
)  # fmt: skip


def export(*arguments: str | Path) -> Result:
    return CliRunner().invoke(command, [str(argument) for argument in arguments])


@pytest.fixture
def mockup(tmp_path: Path) -> Path:
    path = tmp_path / "cue 1.mid"
    path.write_bytes(midi_bytes(f"violin 4/4 q=180 players=8 | D4:4 | r:1 {RUN} F#6:1 | D4:4 |"))
    return path


def test_everything_is_written_beside_the_mock_up_and_named_after_it(
    mockup: Path, tmp_path: Path
) -> None:
    before = mockup.read_bytes()
    out = tmp_path / "made"
    result = export(mockup, *EVERYTHING, "--out", out)
    assert result.exit_code == 0, result.output
    names = {path.name for path in out.iterdir()}
    assert {
        "cue 1.markers.mid", "cue 1.spotting.csv", "cue 1.booth.txt",
        "cue 1.players-copy.mid", "cue 1.changes.txt",
        "cue 1.changes.csv", "cue 1.page-notes.txt", "cue 1.page-notes.csv", "cue 1.musicxml",
    } <= names  # fmt: skip
    assert sum(name.startswith("cue 1.bar-002_run-too-fast") for name in names) == 1
    assert sorted(result.stdout.split("\n")[:-1]) == sorted(str(path) for path in out.iterdir())
    assert mockup.read_bytes() == before
    written = sum(len(track) for track in mido.MidiFile(out / "cue 1.players-copy.mid").tracks)
    assert 0 < written < sum(len(track) for track in mido.MidiFile(mockup).tracks)


def test_only_what_is_named_is_written(mockup: Path, tmp_path: Path) -> None:
    out = tmp_path / "made"
    assert export(mockup, "--page-notes", "--out", out).exit_code == 0
    assert {path.name for path in out.iterdir()} == {"cue 1.page-notes.txt", "cue 1.page-notes.csv"}


def test_nothing_named_is_wrong_usage(mockup: Path, tmp_path: Path) -> None:
    result = export(mockup, "--out", tmp_path / "made")
    assert result.exit_code == 2
    assert "--players-copy" in result.output


def test_a_file_that_is_there_is_kept_unless_told(mockup: Path, tmp_path: Path) -> None:
    out = tmp_path / "made"
    out.mkdir()
    own = out / "cue 1.page-notes.txt"
    own.write_text("my own words")
    refused = export(mockup, "--page-notes", "--musicxml", "--out", out)
    assert isinstance(refused.exception, BadBrief)
    assert "cue 1.page-notes.txt is there already" in str(refused.exception)
    assert [path.name for path in out.iterdir()] == [own.name]
    assert own.read_text() == "my own words"
    assert export(mockup, "--page-notes", "--out", out, "--replace").exit_code == 0
    assert own.read_text() != "my own words"


def test_a_place_that_cannot_be_written_is_said(mockup: Path, tmp_path: Path) -> None:
    taken = tmp_path / "file"
    taken.write_text("")
    result = export(mockup, "--page-notes", "--out", taken / "below")
    assert isinstance(result.exception, BadBrief)
    assert "Choose another folder" in str(result.exception)


def test_a_missing_file_is_one_message(tmp_path: Path) -> None:
    result = export(tmp_path / "none.mid", "--musicxml", "--out", tmp_path / "made")
    assert isinstance(result.exception, UnreadableInput)
    assert not (tmp_path / "made").exists()
