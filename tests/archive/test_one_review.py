from pathlib import Path

from mockcheck.archive.files import FoundFile
from mockcheck.archive.one_review import reviewed
from mockcheck.model.review import Review
from mockcheck.model.session import Session
from mockcheck.read import load
from tests.phrases import midi_bytes


def test_what_comes_back_is_the_record_its_verdict_and_what_was_made_of_it(tmp_path: Path) -> None:
    path = tmp_path / "low.mid"
    path.write_bytes(midi_bytes("violin 4/4 q=90 | F3:4 |"))
    file = FoundFile(path, "early/low.mid")

    def count_notes(review: Review, found: FoundFile) -> str:
        return f"{found.name}: {sum(len(part.notes) for part in review.played.parts)}"

    back = reviewed(load(path), file, Session(), count_notes)
    assert [finding.check for finding in back.record.findings] == ["note-below-open-string"]
    assert back.verdict.startswith("Not ready: one impossible place")
    assert back.extra == "early/low.mid: 1"
    assert reviewed(load(path), file, Session()).extra == ""
