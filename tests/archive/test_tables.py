import io
import random
from pathlib import Path

import pandas as pd
import pytest

from mockcheck.archive import tables as tables_module
from mockcheck.archive.cache import Cache
from mockcheck.archive.files import FoundFile, find_files
from mockcheck.archive.reviewing import Outcome, review_files
from mockcheck.archive.tables import FILE_COLUMNS, run_tables, write_run_tables
from mockcheck.errors import BadBrief
from mockcheck.model.session import Session
from mockcheck.report.tables import FINDING_COLUMNS, TRACK_COLUMNS
from tests.archive.corpus import write_corpus


@pytest.fixture(scope="module")
def corpus(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = write_corpus(tmp_path_factory.mktemp("corpus"), 12)
    (folder / "composer-0" / "broken.mid").write_bytes(b"")
    return folder


@pytest.fixture(scope="module")
def outcomes(corpus: Path) -> list[Outcome]:
    return review_files(find_files([corpus]).files, Session(), processes=1)


def written(outcomes: list[Outcome], folder: Path, kind: str) -> dict[str, bytes]:
    folder.mkdir()
    paths = write_run_tables(run_tables(outcomes, 4), folder, kind)
    return {path.name: path.read_bytes() for path in paths}


def test_bytes_do_not_depend_on_processes_order_or_cache(
    corpus: Path, outcomes: list[Outcome], tmp_path: Path
) -> None:
    files = find_files([corpus]).files
    cache = Cache(tmp_path / "cache")
    # Half of it is kept from before, in another order.
    some = random.Random(1).sample(files, len(files) // 2)
    review_files(some, Session(), processes=2, cache=cache)
    mixed = review_files(files, Session(), processes=2, cache=cache)
    kept = review_files(files, Session(), cache=cache)
    for kind in ("csv", "parquet"):
        reference = written(outcomes, tmp_path / kind, kind)
        assert set(reference) == {f"files.{kind}", f"findings.{kind}", f"tracks.{kind}"}
        assert written(mixed, tmp_path / f"{kind}-mixed", kind) == reference
        assert written(kept, tmp_path / f"{kind}-kept", kind) == reference


def test_rows_count_what_the_reviews_say(outcomes: list[Outcome]) -> None:
    tables = run_tables(outcomes, 4)
    assert list(tables.files["file"]) == [outcome.file.name for outcome in outcomes]
    broken = tables.files[tables.files["file"] == "composer-0/broken.mid"].iloc[0]
    assert broken["outcome"] == "refused"
    assert "empty" in broken["reason"]
    assert pd.isna(broken["notes"])
    assert broken["folder"] == "composer-0"
    done = tables.files[tables.files["outcome"] == "done"]
    assert len(done) == 12
    for row in done.to_dict("records"):
        found = tables.findings[tables.findings["file"] == row["file"]]
        for severity in ("impossible", "risky", "awkward", "remark"):
            assert row[severity] == sum(found["severity"] == severity)
        tracks = tables.tracks[tables.tracks["file"] == row["file"]]
        assert row["notes"] == tracks["notes"].sum()
        assert row["parts"] == 2
    assert done["impossible"].sum() == 4, "every third file has F3 for a violin"


@pytest.mark.parametrize("number", [0, 13])
def test_columns_and_kinds_are_fixed(outcomes: list[Outcome], number: int) -> None:
    tables = run_tables(outcomes[:number], 4)
    for table, columns in (
        (tables.files, FILE_COLUMNS),
        (tables.findings, {"file": "string", **FINDING_COLUMNS}),
        (tables.tracks, {"file": "string", **TRACK_COLUMNS}),
    ):
        assert list(table.columns) == list(columns)
        assert {name: str(kind) for name, kind in table.dtypes.items()} == {
            name: str(pd.Series([], dtype=kind).dtype) for name, kind in columns.items()
        }


def test_parquet_reads_back_as_it_was(outcomes: list[Outcome], tmp_path: Path) -> None:
    tables = run_tables(outcomes, 4)
    content = written(outcomes, tmp_path / "out", "parquet")
    for name in ("files", "findings", "tracks"):
        again = pd.read_parquet(io.BytesIO(content[f"{name}.parquet"]))
        pd.testing.assert_frame_equal(again, getattr(tables, name))


def test_odd_names_are_text_in_a_spreadsheet_and_fit_any_encoding(
    corpus: Path, tmp_path: Path
) -> None:
    content = next(corpus.rglob("*.mid")).read_bytes()
    odd = tmp_path / "music"
    odd.mkdir()
    for name in ("=SUM(A1).mid", "\udcff\u202e.mid", "Étude\n№ 1.mid"):
        (odd / name).write_bytes(content)
    outcomes = review_files(find_files([odd]).files, Session(), processes=1)
    text = written(outcomes, tmp_path / "out", "csv")["files.csv"].decode("utf-8")
    names = pd.read_csv(io.StringIO(text))["file"].tolist()
    assert sorted(names) == sorted([".mid", "'=SUM(A1).mid", "Étude № 1.mid"])


def test_parquet_without_its_package_names_the_line_that_installs_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda _: None)
    with pytest.raises(BadBrief, match=r"pip install 'mockcheck\[cluster\]'"):
        write_run_tables(run_tables([], 4), tmp_path, "parquet")
    assert not list(tmp_path.iterdir())
    assert tables_module.FORMATS == ("csv", "parquet")


def test_a_file_that_is_gone_has_a_row(tmp_path: Path) -> None:
    outcomes = review_files([FoundFile(tmp_path / "gone.mid", "gone.mid")], Session())
    row = run_tables(outcomes, 4).files.iloc[0]
    assert row["outcome"] == "refused"
    assert pd.isna(row["sha256"])
