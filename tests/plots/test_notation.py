import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

import mockcheck
from mockcheck.model.review import Review
from mockcheck.plots import notation
from mockcheck.plots.notation import (
    FINGERED,
    IMPORTED,
    MOST_BARS,
    READS_WELL,
    WRITTEN,
    NotationPicture,
    can_engrave,
    engrave_findings,
    engraved_findings,
    save_notation,
)
from tests.phrases import midi_bytes

SVG = "{http://www.w3.org/2000/svg}"
# C natural to D sharp between two notes of a fast passage, in a key of one sharp.
STEPS = "B4:1/4 C5:1/4 Eb5:1/4 E5:1/4 F#5:1/4 E5:1/4 Eb5:1/4 C5:1/4"
FOREIGN = f"violin 4/4 q=120 key=1 players=8 | {STEPS} {STEPS} | B4:4 |"
FAST = "violin 4/4 q=180 players=8 | " + " ".join(
    f"{name}:1/8" for name in "D4 E4 F#4 G4 A4 B4 C#5 D5 E5 F#5 G5 A5 B5 C#6 D6 E6".split() * 2
)


def reviewed(tmp_path: Path, *parts: str) -> Review:
    path = tmp_path / "music.mid"
    path.write_bytes(midi_bytes(*parts))
    return mockcheck.review(path)


def captions(picture: NotationPicture) -> list[str]:
    root = ET.fromstring(picture.svg)
    return [row.text or "" for row in root.findall(f"{SVG}text")]


def drawn(picture: NotationPicture, kind: str) -> int:
    """Groups of one class in the drawing: 'note', 'fing', 'accid'."""
    return sum(
        kind in row.get("class", "").split() for row in ET.fromstring(picture.svg).iter(f"{SVG}g")
    )


def test_the_library_is_there_for_the_tests() -> None:
    assert can_engrave()


def test_a_misspelt_bar_is_drawn_both_ways(tmp_path: Path) -> None:
    (picture,) = engrave_findings(reviewed(tmp_path, FOREIGN))
    assert picture.finding.check == "augmented-second-in-fast-notes"
    assert captions(picture) == [IMPORTED, READS_WELL]
    assert drawn(picture, "note") == 2 * 16


def test_a_fast_run_shows_fingers_and_only_on_request(tmp_path: Path) -> None:
    review = reviewed(tmp_path, f"{FAST} | D4:4 |")
    assert [picture.finding.family for picture in engrave_findings(review)] == []
    pictures = list(engrave_findings(review, "all"))
    (run,) = [picture for picture in pictures if picture.finding.check == "run-too-fast"]
    assert captions(run) == [FINGERED]
    assert drawn(run, "fing") >= 16
    assert engraved_findings(review, "all")[0].severity == max(f.severity for f in review.findings)


def test_other_families_are_drawn_as_written_without_fingers(tmp_path: Path) -> None:
    review = reviewed(tmp_path, "violin 4/4 q=90 players=1 | C5:4 | A3+C4:4 | C5:4 |")
    (picture,) = engrave_findings(review, "all")
    assert picture.finding.check == "double-stop-on-one-string"
    assert captions(picture) == [WRITTEN]
    assert (drawn(picture, "note"), drawn(picture, "fing")) == (2, 0)


def test_long_places_show_their_first_bars(tmp_path: Path) -> None:
    notes = " ".join(["C4:1/8 D4:1/8"] * 2)
    bars = " | ".join([FAST.partition("| ")[2]] * (MOST_BARS + 3))
    review = reviewed(tmp_path, f"violin 4/4 q=180 players=8 | {bars} | {notes} r:7/2 |")
    long = [
        picture
        for picture in engrave_findings(review, "all")
        if picture.finding.end.bar - picture.finding.start.bar >= MOST_BARS  # type: ignore[operator]
    ]
    assert long
    assert all(drawn(picture, "measure") == MOST_BARS for picture in long)


def test_text_of_the_file_is_escaped_and_nothing_is_fetched(tmp_path: Path) -> None:
    path = tmp_path / "hostile.mid"
    path.write_bytes(midi_bytes(FOREIGN))
    name = 'Violin <script>alert("1")</script> & Co'
    review = mockcheck.review(path, {"tracks": [{"match": "*", "part": name, "players": 8}]})
    (picture,) = engrave_findings(review)
    assert "<script" not in picture.svg
    root = ET.fromstring(picture.svg)
    assert "<script>" in root.get("aria-label", "")
    links = [value for row in root.iter() for key, value in row.attrib.items() if "href" in key]
    assert links
    assert all(link.startswith("#") for link in links)
    assert "url(" not in picture.svg


def test_the_same_review_gives_the_same_picture(tmp_path: Path) -> None:
    one, other = (list(engrave_findings(reviewed(tmp_path, FOREIGN))) for _ in range(2))
    assert [picture.svg for picture in one] == [picture.svg for picture in other]


def test_pictures_of_findings_that_are_gone_are_taken_out(tmp_path: Path) -> None:
    folder = tmp_path / "notation"
    (drawn_first,) = save_notation(reviewed(tmp_path, FOREIGN), folder)
    own = folder / "bar-my-own.svg"
    own.write_text("<svg/>")
    assert save_notation(reviewed(tmp_path, "violin 4/4 q=90 | C5:4 |"), folder) == []
    assert not drawn_first.exists()
    assert own.exists()


def test_without_the_library_there_are_no_pictures_and_no_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(notation, "can_engrave", lambda: False)
    review = reviewed(tmp_path, FOREIGN)
    assert list(engrave_findings(review)) == []
    assert save_notation(review, tmp_path / "notation") == []
    assert not (tmp_path / "notation").exists()
