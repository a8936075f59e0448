import csv
import io
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner, Result

from mockcheck.cli.review import command
from tests.phrases import midi_bytes

CLEAN = midi_bytes("Violin 1 4/4 q=100 | A4:2 B4:2 |", "Cello 4/4 | C3:4 |")
FAULTY = midi_bytes("Violin 1 4/4 q=100 | A4:2 F3:2 |", "Cello 4/4 | C3:4 |")
OUTPUTS = {"review.json", "review.html", "findings.csv", "tracks.csv", "plots"}


@pytest.fixture(scope="module")
def _folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("music") / "works"
    for name in ("early", "late"):
        (folder / name).mkdir(parents=True)
    (folder / "early" / "one.mid").write_bytes(FAULTY)
    (folder / "early" / "two.mid").write_bytes(CLEAN)
    (folder / "late" / "broken.mid").write_bytes(b"")
    (folder / "late" / "one.mid").write_bytes(CLEAN.replace(b"Cello", b"Viola"))
    return folder


@pytest.fixture
def folder(_folder: Path) -> Iterator[Path]:
    before = sorted(_folder.rglob("*"))
    yield _folder
    assert sorted(_folder.rglob("*")) == before, "music is never written to"


@pytest.fixture(scope="module")
def _kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("kept")


@pytest.fixture(autouse=True)
def _shared_cache(_own_cache: None, _kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Most of these tests ask for the same reviews, which the first of them makes."""
    monkeypatch.setenv("MOCKCHECK_CACHE", str(_kept))


@pytest.fixture
def fresh_cache(_shared_cache: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("MOCKCHECK_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache"


def review(*arguments: str | Path) -> Result:
    return CliRunner().invoke(command, [str(argument) for argument in arguments])


def test_a_folder_gets_a_line_a_file_and_its_faults_on_stderr(folder: Path) -> None:
    result = review(folder)
    assert result.exit_code == 3
    lines = result.stdout.splitlines()
    assert lines[0] == "4 files, judged at level sight: 1 not ready, 2 ready, 1 not reviewed."
    told = " ".join(line.strip() for line in lines)
    assert "early/one.mid: Not ready: one impossible place in Violin 1, bar 1" in told
    assert any(line.startswith("early/two.mid: Ready") for line in lines)
    assert "late/broken.mid: Not reviewed: byte 0: the file is empty." in lines
    assert result.stderr.startswith("mockcheck: late/broken.mid, byte 0: the file is empty")
    assert len(result.stderr.splitlines()) == 1, "no progress bar where nobody watches"


def test_all_prints_each_whole_review(folder: Path) -> None:
    text = review(folder, "--all").stdout
    assert text.count("judged at level sight") == 3
    assert "F3" in text


def test_json_is_a_list_in_order_that_tells_files_apart(folder: Path) -> None:
    documents = json.loads(review(folder, "--format", "json").stdout)
    names = [document["source"]["file"] for document in documents]
    assert names == ["early/one.mid", "early/two.mid", "late/one.mid"]
    assert [len(d["findings"]) > 0 for d in documents] == [True, False, False]
    assert documents[0]["schema"] == "mockcheck.review/1"


def test_csv_is_the_findings_of_all(folder: Path) -> None:
    rows = list(csv.DictReader(io.StringIO(review(folder, "--format", "csv").stdout)))
    assert [row["file"] for row in rows] == ["early/one.mid"]
    assert rows[0]["check"] == "note-below-open-string"


def test_the_same_is_printed_by_any_number_of_processes_and_from_the_cache(
    folder: Path, fresh_cache: Path
) -> None:
    assert not fresh_cache.exists()
    first = review(folder, "--format", "csv", "--processes", "1").stdout
    assert review(folder, "--format", "csv").stdout == first
    assert review(folder, "--format", "csv", "--processes", "2", "--no-cache").stdout == first


def test_no_cache_keeps_nothing(folder: Path, fresh_cache: Path) -> None:
    review(folder / "early", "--no-cache")
    assert not fresh_cache.exists()
    review(folder / "early")
    assert len(list(fresh_cache.rglob("*.json"))) == 2


def test_out_has_tables_of_all_and_a_folder_a_file(folder: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = review(folder, "--out", out)
    assert {path.name for path in out.iterdir()} == {
        "files.csv", "findings.csv", "tracks.csv", "early", "late",
    }  # fmt: skip
    for name in ("early/one.mid", "early/two.mid", "late/one.mid"):
        assert {path.name for path in (out / name).iterdir()} >= OUTPUTS
    assert not (out / "late" / "broken.mid").exists()
    files = pd.read_csv(out / "files.csv")
    assert list(files["outcome"]) == ["done", "done", "refused", "done"]
    alone = review(folder / "early" / "one.mid", "--format", "json").stdout
    assert (out / "early" / "one.mid" / "review.json").read_text() == alone
    assert f"Written to {out}: files.csv, findings.csv, tracks.csv" in result.stderr


def test_out_within_the_folder_does_not_review_its_own_results(tmp_path: Path) -> None:
    (tmp_path / "a.mid").write_bytes(CLEAN)
    out = tmp_path / "a review"
    for _ in range(2):
        assert review(tmp_path, "--out", out, "--summary").exit_code == 0
    assert len(pd.read_csv(out / "files.csv")) == 1


def test_parquet_holds_the_same_tables(folder: Path, tmp_path: Path) -> None:
    review(folder, "--out", tmp_path / "a", "--summary")
    review(folder, "--out", tmp_path / "b", "--summary", "--tables", "parquet")
    for name in ("files", "findings", "tracks"):
        text = (tmp_path / "a" / f"{name}.csv").read_text()
        table = pd.read_parquet(tmp_path / "b" / f"{name}.parquet")
        assert table.to_csv(index=False, lineterminator="\n") == text
        assert not (tmp_path / "b" / f"{name}.csv").exists()


def test_a_summary_has_three_forms_and_no_folder_a_file(folder: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    text = review(folder, "--summary", "--out", out).stdout
    assert text.startswith("3 of 4 files reviewed (1 could not be used)")
    assert {path.name for path in out.iterdir()} == {
        "files.csv", "findings.csv", "tracks.csv", "summary.csv", "summary.json",
    }  # fmt: skip
    assert (
        review(folder, "--summary", "--format", "csv").stdout == (out / "summary.csv").read_text()
    )
    as_json = review(folder, "--summary", "--format", "json").stdout
    assert as_json == (out / "summary.json").read_text()
    assert json.loads(as_json)["outcomes"] == {"done": 3, "refused": 1}


def test_a_brief_that_does_not_fit_one_file_is_that_files_fault(
    folder: Path, tmp_path: Path
) -> None:
    brief = tmp_path / "brief.toml"
    brief.write_text("[players]\nCello = 4\n")
    result = review(folder / "early", folder / "late" / "one.mid", "--brief", brief)
    assert result.exit_code == 2
    assert "one.mid: brief: [players] names 'Cello'" in result.stderr
    assert "3 files, judged at level sight: 1 not ready, 1 ready, 1 not reviewed." in result.stdout


def test_an_acceptance_that_fits_nothing_in_any_file_is_told(folder: Path, tmp_path: Path) -> None:
    brief = tmp_path / "brief.toml"
    rows = [
        f'[[accept]]\ncheck = "{check}"\npart = "Violin 1"\nbars = "all"\nreason = "meant"\n'
        for check in ("note-below-open-string", "run-too-fast")
    ]
    brief.write_text("\n".join(rows))
    result = review(folder / "early", "--brief", brief)
    told = [line for line in result.stderr.splitlines() if "accepted by the brief" in line]
    assert told == [
        "mockcheck: accepted by the brief, but in none of the files: run-too-fast in 'Violin 1',"
        " all bars (meant)"
    ]
    assert "(1 accepted" in result.stdout


def test_a_brief_that_is_wrong_in_itself_stops_everything(folder: Path, tmp_path: Path) -> None:
    brief = tmp_path / "brief.toml"
    brief.write_text('levle = "sight"')
    result = review(folder, "--brief", brief)
    assert result.stdout == ""
    assert "levle" in str(result.exception)


@pytest.mark.parametrize(
    ("names", "fail_on", "code"),
    [
        (("early/two.mid", "late/one.mid"), "remark", 0),
        (("early",), "risky", 1),
        (("early",), "never", 0),
        (("early", "late"), "risky", 3),
    ],
)
def test_the_highest_exit_code_counts(
    folder: Path, names: tuple[str, ...], fail_on: str, code: int
) -> None:
    assert review(*[folder / name for name in names], "--fail-on", fail_on).exit_code == code


def test_a_file_that_takes_too_long_is_told(folder: Path) -> None:
    result = review(folder / "early", "--timeout", "0.001", "--format", "json")
    assert result.exit_code == 4
    assert json.loads(result.stdout) == []
    assert "early" not in result.stderr.splitlines()[0].split(":")[0]
    assert "one.mid: stopped after 0.001 s. Give each file longer with --timeout" in result.stderr


def test_a_place_that_cannot_be_written_stops_before_any_review(
    folder: Path, tmp_path: Path, fresh_cache: Path
) -> None:
    (tmp_path / "taken").write_text("a file")
    result = review(folder, "--out", tmp_path / "taken" / "out")
    assert "cannot write there" in str(result.exception)
    assert not fresh_cache.exists()


@pytest.mark.parametrize(
    "options",
    ["--processes 0", "--timeout 0", "--tables xls", "--tables parquet", "--watch --summary"],
)
def test_what_makes_no_sense_is_wrong_usage(folder: Path, options: str) -> None:
    assert review(folder, *options.split()).exit_code == 2


def test_a_single_file_needs_no_worker_and_is_not_kept(folder: Path, fresh_cache: Path) -> None:
    result = review(folder / "early" / "one.mid")
    assert "F3" in result.output
    assert not fresh_cache.exists()


@pytest.mark.skipif(os.name == "nt", reason="signals to a group are POSIX")
def test_ctrl_c_ends_a_run_with_130(tmp_path: Path) -> None:
    demo = Path(__file__).parent.parent.parent / "fixtures" / "demo" / "harbour_at_dawn.mid"
    content = demo.read_bytes()
    for number in range(60):
        (tmp_path / f"{number}.mid").write_bytes(content)
    process = subprocess.Popen(
        [sys.executable, "-m", "mockcheck", "review", str(tmp_path), "--no-cache"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip
    time.sleep(2)
    os.killpg(process.pid, signal.SIGINT)
    printed, errors = process.communicate(timeout=20)
    assert process.returncode == 130
    assert printed == ""
    assert "Traceback" not in errors
