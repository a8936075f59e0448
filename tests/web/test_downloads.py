import io
import json
import zipfile
from pathlib import Path

import mido
import pytest

from mockcheck.errors import BadBrief
from mockcheck.model.review import Review
from mockcheck.pipeline import review
from mockcheck.report.handouts import Files
from mockcheck.web import downloads
from mockcheck.web.downloads import make_downloads, zipped

DEMO = Path(__file__).parent.parent.parent / "fixtures" / "demo"


@pytest.fixture(scope="module")
def demo() -> tuple[Review, bytes]:
    path = DEMO / "harbour_at_dawn.mid"
    return review(path, DEMO / "brief.toml"), path.read_bytes()


def test_every_export_is_there_and_can_be_opened(demo: tuple[Review, bytes]) -> None:
    made, failed = make_downloads(*demo, "harbour")
    content = {item.name.removeprefix("harbour."): item.content for item in made}
    assert failed == ()
    assert set(content) == {
        *("review.html", "review.json", "tables.zip", "guesses.toml", "musicxml", "spots.zip"),
        *("markers.mid", "spotting.csv", "booth.txt", "page-notes.txt", "page-notes.csv"),
        *("players-copy.mid", "changes.txt", "changes.csv"),
    }
    assert len(json.loads(content["review.json"])["findings"]) == len(demo[0].findings)
    for name in ("markers.mid", "players-copy.mid"):
        assert mido.MidiFile(file=io.BytesIO(content[name])).tracks
    tables = zipfile.ZipFile(io.BytesIO(content["tables.zip"]))
    assert "findings.csv" in tables.namelist()
    assert tables.testzip() is None
    assert len({item.name for item in made}) == len(made)


def test_one_export_that_fails_is_named_and_the_others_are_made(
    demo: tuple[Review, bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_: Review) -> Files:
        raise BadBrief

    wanted = next(iter(downloads._WRITERS))
    monkeypatch.setitem(downloads._WRITERS, wanted, fail)
    made, failed = make_downloads(*demo, "harbour")
    assert failed == (wanted,)
    assert not [item for item in made if item.purpose == wanted]
    assert "harbour.review.json" in [item.name for item in made]


def test_the_same_files_make_the_same_archive() -> None:
    files = {"a.txt": b"one", "b.txt": b"two"}
    assert zipped(files) == zipped(files)
    archive = zipfile.ZipFile(io.BytesIO(zipped(files)))
    assert {name: archive.read(name) for name in archive.namelist()} == files
