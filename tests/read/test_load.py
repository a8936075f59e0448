import hashlib
import os
from pathlib import Path

import pytest

from mockcheck.errors import UnreadableInput
from mockcheck.read import load, read_bytes
from tests.read.building import TEMPO_120, off, on, smf, track

DATA = smf(track(TEMPO_120, on(0, 60), off(480, 60)), smf_format=0)


@pytest.fixture
def cue(tmp_path: Path) -> Path:
    path = tmp_path / "cue.mid"
    path.write_bytes(DATA)
    return path


def test_a_file_is_read_by_path_or_by_text(cue: Path) -> None:
    assert load(cue).file == load(str(cue)).file == "cue.mid"
    assert load(cue).tracks[0].notes.pitch.tolist() == [60]


def test_the_fingerprint_is_that_of_the_bytes(cue: Path) -> None:
    # FIPS 180-4 through the standard library.
    assert load(cue).sha256 == hashlib.sha256(DATA).hexdigest()


def test_bytes_need_no_path() -> None:
    assert read_bytes(DATA, "upload").file == "upload"


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(UnreadableInput, match=r"nowhere\.mid: there is no such file\. Check"):
        load(tmp_path / "nowhere.mid")


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(UnreadableInput, match=r"this is a folder; .* Name the file"):
        load(tmp_path)


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.mid")
    with pytest.raises(UnreadableInput, match="no ordinary file"):
        load(tmp_path / "pipe.mid")


def test_a_file_under_a_file_and_a_name_with_nul_are_refused(cue: Path) -> None:
    for path in (cue / "inner.mid", f"{cue}\0"):
        with pytest.raises(UnreadableInput, match="it cannot be read"):
            load(path)


def test_missing_permission_is_said(cue: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # Tests may run as root, whom no file refuses; so the refusal is played here.
    def refuse(*_arguments: object) -> None:
        raise PermissionError

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(UnreadableInput, match="you have no permission to read it"):
        load(cue)
