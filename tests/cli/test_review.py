import json
import subprocess
import sys
import wave
from dataclasses import replace
from pathlib import Path

import mido
import pytest
from click.testing import CliRunner, Result

import mockcheck.pipeline
from mockcheck.cli.review import command
from mockcheck.model.finding import Severity
from tests.phrases import midi_bytes
from tests.report.synthetic import VIOLIN, finding_of, part_of, review_of

CLEAN = midi_bytes("Violin 1 4/4 q=100 | A4:2 B4:2 |", "Cello 4/4 | C3:4 |")
FAULTY = midi_bytes("Violin 1 4/4 q=100 | A4:2 F3:2 |", "Cello 4/4 | C3:4 |")


def run(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "mockcheck", *map(str, arguments)],
        capture_output=True,
        text=True,
        check=False,
    )


def in_process(*arguments: str | Path) -> Result:
    return CliRunner().invoke(command, [str(argument) for argument in arguments])


@pytest.fixture
def faulty(tmp_path: Path) -> Path:
    path = tmp_path / "faulty.mid"
    path.write_bytes(FAULTY)
    return path


@pytest.fixture
def clean(tmp_path: Path) -> Path:
    path = tmp_path / "clean.mid"
    path.write_bytes(CLEAN)
    return path


def test_the_summary_names_part_bar_fault_and_cure(faulty: Path) -> None:
    result = in_process(faulty)
    assert result.exit_code == 0
    for words in ("Violin 1", "bar 1", "F3", "octave"):
        assert words in result.output


def test_json_is_json_only(faulty: Path, clean: Path) -> None:
    one = json.loads(in_process(faulty, "--format", "json").output)
    assert one["findings"][0]["check"] == "note-below-open-string"
    many = json.loads(in_process(faulty, clean, "--format", "json").output)
    assert [len(review["findings"]) for review in many] == [1, 0]


def test_csv_has_a_row_for_each_finding(faulty: Path) -> None:
    lines = in_process(faulty, "--format", "csv").output.splitlines()
    assert len(lines) == 2
    assert lines[0].startswith("file,")
    assert lines[1].startswith("faulty.mid,impossible,range,note-below-open-string,Violin 1")


@pytest.mark.parametrize(
    ("fail_on", "code"),
    [("never", 0), ("impossible", 1), ("risky", 1), ("remark", 1)],
)
def test_the_exit_code_follows_fail_on(faulty: Path, fail_on: str, code: int) -> None:
    assert in_process(faulty, "--fail-on", fail_on).exit_code == code


# Semiquavers at quarter = 160 are 10.7 notes a second: more than a section reads, and practised
# by every player.
SCALE = "G4:0.25 A4:0.25 B4:0.25 C5:0.25 D5:0.25 E5:0.25 F#5:0.25 G5:0.25 " * 4


@pytest.mark.parametrize(
    ("worst", "fail_on", "code"),
    [
        (worst, fail_on, int(order <= limit))
        for order, worst in enumerate(("impossible", "risky", "awkward", "remark"))
        for limit, fail_on in enumerate(("impossible", "risky", "awkward", "remark"))
    ],
)
def test_a_finding_fails_at_its_severity_and_above_and_not_below(
    worst: str, fail_on: str, code: int, clean: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, 480)])
    severities = [s for s in Severity if s <= Severity[worst.upper()]]
    findings = [finding_of(part, severity, 0, 480) for severity in severities]
    result = review_of([part], findings)
    monkeypatch.setattr(mockcheck.pipeline, "review", lambda *_: result)
    assert in_process(clean, "--fail-on", fail_on).exit_code == code
    accepted = [replace(finding, accepted="known") for finding in findings]
    result = review_of([part], accepted)
    assert in_process(clean, "--fail-on", fail_on).exit_code == 0


def test_a_script_is_told_by_level_whether_the_parts_can_go_out(tmp_path: Path) -> None:
    path = tmp_path / "run.mid"
    path.write_bytes(midi_bytes(f"Violin 1 4/4 q=160 | {SCALE} |"))
    codes = {}
    for level in ("sight", "rehearsed", "solo"):
        result = in_process(path, "--level", level, "--fail-on", "risky", "--format", "json")
        review = json.loads(result.output)
        assert review["level"] == level
        found = {finding["severity"] for finding in review["findings"]}
        assert (result.exit_code == 1) == bool(found & {"impossible", "risky"})
        codes[level] = result.exit_code
    assert codes == {"sight": 1, "rehearsed": 0, "solo": 0}


def test_the_worst_exit_code_wins_over_several_files(faulty: Path, clean: Path) -> None:
    assert in_process(clean, clean, "--fail-on", "risky").exit_code == 0
    assert in_process(clean, faulty, "--fail-on", "risky").exit_code == 1
    assert in_process(faulty, clean, "--fail-on", "risky").exit_code == 1
    assert in_process(faulty, clean.parent / "none.mid", "--fail-on", "risky").exit_code == 3


def test_a_severity_that_does_not_exist_is_wrong_usage(faulty: Path) -> None:
    result = in_process(faulty, "--fail-on", "terrible")
    assert result.exit_code == 2
    assert "impossible" in result.output


def test_a_clean_file_never_fails(clean: Path) -> None:
    assert in_process(clean, "--fail-on", "remark").exit_code == 0


def test_a_folder_gets_every_report(faulty: Path, tmp_path: Path) -> None:
    out = tmp_path / "review"
    assert in_process(faulty, "--out", out).exit_code == 0
    assert json.loads((out / "review.json").read_text())["findings"]
    assert (out / "findings.csv").exists()
    assert (out / "tracks.csv").exists()
    assert len(list((out / "plots").glob("*.png"))) == 3  # two parts and the overview


def test_a_place_that_cannot_be_written_is_said(faulty: Path, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    result = run("review", faulty, "--out", tmp_path / "taken" / "review")
    assert result.returncode == 2
    assert "cannot write" in result.stderr
    assert "Traceback" not in result.stderr


def unreadable_inputs(folder: Path) -> dict[str, Path]:
    paths = {name: folder / name for name in ("empty.mid", "text.mid", "audio.mid", "folder.mid")}
    paths["empty.mid"].write_bytes(b"")
    paths["text.mid"].write_text("Dear composer, please find attached")
    with wave.open(str(paths["audio.mid"]), "wb") as audio:
        audio.setnchannels(1)
        audio.setsampwidth(2)
        audio.setframerate(8000)
        audio.writeframes(bytes(800))
    paths["folder.mid"].mkdir()
    paths["missing.mid"] = folder / "missing.mid"
    noteless = mido.MidiFile(type=1)
    noteless.tracks.append(mido.MidiTrack([mido.MetaMessage("track_name", name="Violin")]))
    paths["noteless.mid"] = folder / "noteless.mid"
    noteless.save(paths["noteless.mid"])
    paths["flute.mid"] = folder / "flute.mid"
    paths["flute.mid"].write_bytes(midi_bytes("Flute 4/4 q=100 program=73 | A5:4 |"))
    return paths


@pytest.mark.parametrize(
    "name",
    [
        "empty.mid",
        "text.mid",
        "audio.mid",
        "folder.mid",
        "missing.mid",
        "noteless.mid",
        "flute.mid",
    ],
)
def test_bad_input_is_one_clear_message_and_exit_code_3(tmp_path: Path, name: str) -> None:
    result = run("review", unreadable_inputs(tmp_path)[name])
    assert result.returncode == 3
    assert name in result.stderr
    assert "Traceback" not in result.stderr
    assert result.stdout == ""


def test_one_broken_file_does_not_stop_the_others(tmp_path: Path, faulty: Path) -> None:
    broken = tmp_path / "broken.mid"
    broken.write_bytes(b"nothing")
    result = in_process(broken, faulty, "--all")
    assert result.exit_code == 3
    assert "F3" in result.output


@pytest.mark.parametrize(
    ("brief", "words"),
    [
        ('levle = "sight"', "levle"),
        ('[[tracks]]\nmatch = "Oboe*"', "Oboe*"),
        ("level = ", "TOML"),
    ],
)
def test_a_bad_brief_is_exit_code_2(faulty: Path, tmp_path: Path, brief: str, words: str) -> None:
    path = tmp_path / "brief.toml"
    path.write_text(brief)
    result = run("review", faulty, "--brief", path)
    assert result.returncode == 2
    assert words in result.stderr
    assert "Traceback" not in result.stderr


def test_wrong_usage_is_exit_code_2(faulty: Path) -> None:
    assert run("review").returncode == 2
    assert run("review", faulty, "--level", "perfect").returncode == 2
    assert run("reviw", faulty).returncode == 2


def test_a_review_without_pictures_loads_no_drawing_or_table_package(faulty: Path) -> None:
    script = (
        "import sys\n"
        "from mockcheck.cli.review import command\n"
        f"command([{str(faulty)!r}], standalone_mode=False)\n"
        "print([m for m in ('matplotlib', 'pandas') if m in sys.modules])\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False
    )
    assert result.stdout.splitlines()[-1] == "[]"


def test_a_level_of_the_brief_can_be_asked_for_and_an_unknown_one_is_refused(
    faulty: Path, tmp_path: Path
) -> None:
    house, brief = tmp_path / "house.toml", tmp_path / "class.toml"
    house.write_text('[levels."student orchestra"]\nlike = "sight"\ntempo_share = 0.75\n')
    brief.write_text('extends = "house.toml"\nlevel = "rehearsed"\n')
    result = in_process(faulty, "--brief", brief, "--level", "student orchestra")
    told = " ".join(result.output.split())
    assert "judged at level student orchestra: like a section that reads at sight, at 75%" in told
    refused = run("review", faulty, "--brief", brief, "--level", "studnet orchestra")
    assert refused.returncode == 2
    assert "sight, rehearsed, solo, student orchestra" in refused.stderr
    assert "Traceback" not in refused.stderr
    house.write_text('levle = "solo"\n')
    broken = run("review", faulty, "--brief", brief)
    assert broken.returncode == 2
    assert "house.toml, which class.toml extends" in broken.stderr
    assert "levle" in broken.stderr
