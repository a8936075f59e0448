import json
import subprocess
import sys
from pathlib import Path

import mido
import pytest
from click.testing import CliRunner, Result

from mockcheck.cli.rehearse import command
from mockcheck.errors import BadBrief, UnreadableInput
from tests.phrases import midi_bytes
from tests.plan.cues import DEMO, bars_of

DEMO_FILES = (DEMO / "harbour_at_dawn.mid", "--brief", DEMO / "brief.toml")


def in_process(*arguments: str | Path) -> Result:
    return CliRunner().invoke(command, [str(argument) for argument in arguments])


@pytest.fixture
def fast(tmp_path: Path) -> Path:
    path = tmp_path / "fast.mid"
    path.write_bytes(midi_bytes(bars_of("calm run run calm")))
    return path


@pytest.fixture
def calm(tmp_path: Path) -> Path:
    path = tmp_path / "calm.mid"
    path.write_bytes(midi_bytes(bars_of("calm moving calm moving")))
    return path


def test_the_demo_says_what_to_change_what_to_rehearse_and_how_long_it_takes() -> None:
    result = in_process(*DEMO_FILES)
    assert result.exit_code == 0
    for words in (
        "To be changed before the session",
        "B2, the viola ends at C3",
        "To rehearse, in this order",
        "bars 27-29: Violin 1, Cello",
        "waiting: Violin 2",
        "Click: quarter = ",
        "finished minutes in a studio hour",
        "[session_time]",
        "An estimate, not a promise",
    ):
        assert words in " ".join(result.output.split())


def test_json_is_json_only_and_its_seconds_add_up() -> None:
    document = json.loads(in_process(*DEMO_FILES, "--format", "json").output)
    (cue,) = document["cues"]
    passes = [one["seconds"] for spot in cue["spots"] for one in spot["passes"]]
    assert cue["rehearsal_s"] == pytest.approx(sum(passes), abs=0.001 * len(passes))
    assert sum(cue["recording"]["usual"].values()) == pytest.approx(
        cue["recording"]["usual_s"], abs=0.01
    )
    assert document["session"]["assumed"]["takes_usual"] == 3


def test_practice_files_are_written_with_a_word_of_caution(fast: Path, tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "practice"
    result = in_process(fast, "--practice", folder)
    assert result.exit_code == 0
    names = sorted(path.name for path in folder.iterdir())
    assert names
    assert all(name.endswith(".mid") for name in names)
    assert mido.MidiFile(folder / names[0]).tracks[1].name == "Click"
    assert "ask a hearing specialist" in result.stderr
    assert "specialist" not in result.stdout


def test_wav_and_subdivision_are_asked_for(fast: Path, tmp_path: Path) -> None:
    in_process(fast, "--practice", tmp_path / "plain")
    in_process(fast, "--practice", tmp_path / "more", "--subdivide", "--wav")
    plain = sorted(path.stem for path in (tmp_path / "plain").glob("*.mid"))
    more = sorted(path.stem for path in (tmp_path / "more").glob("*.mid"))
    heard = sorted(path.stem for path in (tmp_path / "more").glob("*.wav"))
    assert plain == more == heard
    sizes = [(tmp_path / name / f"{plain[0]}.mid").stat().st_size for name in ("plain", "more")]
    assert sizes[0] < sizes[1]


def test_nothing_is_overwritten_unasked(fast: Path, tmp_path: Path) -> None:
    folder, sheet = tmp_path / "practice", tmp_path / "sheet"
    sheet.mkdir()
    (sheet / "rehearsal.html").write_text("mine")
    error = in_process(fast, "--practice", folder, "--out", sheet).exception
    assert isinstance(error, BadBrief)
    assert "rehearsal.html" in str(error)
    assert "--replace" in str(error)
    assert not folder.exists()
    assert (sheet / "rehearsal.html").read_text() == "mine"
    assert in_process(fast, "--practice", folder, "--out", sheet, "--replace").exit_code == 0
    assert (sheet / "rehearsal.html").read_text() != "mine"
    again = in_process(fast, "--practice", folder).exception
    assert isinstance(again, BadBrief)
    assert in_process(fast, "--practice", folder, "--replace").exit_code == 0


def test_the_folder_gets_a_sheet_and_the_numbers(fast: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert in_process(fast, "--out", out).exit_code == 0
    assert sorted(path.name for path in out.iterdir()) == ["rehearsal.html", "rehearsal.json"]
    assert json.loads((out / "rehearsal.json").read_text())["cues"][0]["spots"]


def test_several_files_become_a_session(fast: Path, calm: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = in_process(calm, fast, "--out", out, "--practice", tmp_path / "practice")
    assert result.exit_code == 0
    assert "The session: " in result.output
    assert "The risk is fast.mid" in result.output
    assert (out / "calm.mid" / "rehearsal.html").exists()
    assert (out / "fast.mid" / "rehearsal.html").exists()
    assert not (tmp_path / "practice" / "calm.mid").exists()
    assert list((tmp_path / "practice" / "fast.mid").glob("*.mid"))
    session = json.loads((out / "rehearsal.json").read_text())
    assert [cue["file"] for cue in session["cues"]] == ["fast.mid", "calm.mid"]


def test_two_files_of_one_name_are_refused(fast: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / "fast.mid").write_bytes(fast.read_bytes())
    result = in_process(fast, other / "fast.mid")
    assert result.exit_code == 2
    assert "fast.mid" in result.output


def test_the_brief_changes_the_estimate(fast: Path, tmp_path: Path) -> None:
    def usual(text: str) -> float:
        brief = tmp_path / "brief.toml"
        brief.write_text(text)
        output = in_process(fast, "--brief", brief, "--format", "json").output
        return float(json.loads(output)["cues"][0]["recording"]["usual_s"])

    talk = "[session_time]\ntalk_s = "
    assert usual(talk + "300") == pytest.approx(usual(talk + "90") + 210)


def test_music_without_trouble_needs_no_files(calm: Path, tmp_path: Path) -> None:
    result = in_process(calm, "--practice", tmp_path / "practice")
    assert result.exit_code == 0
    assert "0 spots to rehearse alone" in result.output
    assert list((tmp_path / "practice").iterdir()) == []


@pytest.mark.parametrize("option", ["--wav", "--subdivide"])
def test_options_of_practice_files_want_a_folder(fast: Path, option: str) -> None:
    result = in_process(fast, option)
    assert result.exit_code == 2
    assert "--practice" in result.output


def test_a_place_that_cannot_be_written_is_said(fast: Path, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    error = in_process(fast, "--out", tmp_path / "taken" / "out").exception
    assert isinstance(error, BadBrief)
    assert "cannot write" in str(error)


def test_a_file_without_bars_is_unreadable_for_this(fast: Path, tmp_path: Path) -> None:
    data = bytearray(fast.read_bytes())
    data[12:14] = bytes((256 - 25, 40))
    path = tmp_path / "frames.mid"
    path.write_bytes(bytes(data))
    assert isinstance(in_process(path).exception, UnreadableInput)


def test_text_loads_no_drawing_or_table_package(fast: Path) -> None:
    script = (
        "import sys\n"
        "from mockcheck.cli.rehearse import command\n"
        f"command([{str(fast)!r}], standalone_mode=False)\n"
        "print([m for m in ('matplotlib', 'pandas', 'jinja2', 'mido') if m in sys.modules])\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert result.stdout.splitlines()[-1] == "[]"
