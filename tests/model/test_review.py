from pathlib import Path

import mockcheck
from mockcheck.model.finding import Severity
from mockcheck.model.reading import LOAD_COMPONENTS
from mockcheck.model.review import Review
from tests.phrases import midi_bytes


def review_of(tmp_path: Path, *parts: str) -> Review:
    path = tmp_path / "mockup.mid"
    path.write_bytes(midi_bytes(*parts))
    return mockcheck.review(path)


def test_findings_are_counted_by_severity(tmp_path: Path) -> None:
    review = review_of(tmp_path, "Violin 1 4/4 q=100 | A4:2 F3:1 A4:1 | G3+A3:4 |")
    assert review.counts == {Severity.IMPOSSIBLE: 1, Severity.RISKY: 1}
    assert review.worst() is Severity.IMPOSSIBLE


def test_a_clean_review_has_no_worst(tmp_path: Path) -> None:
    assert review_of(tmp_path, "Violin 1 4/4 q=100 | A4:4 |").worst() is None


def test_the_dictionary_has_every_section_with_places_in_bars_and_beats(tmp_path: Path) -> None:
    music = "Violin 1 4/4 q=120 | A4:1 r:3 | A4:1> E5:1 F3:2 |"
    row = review_of(tmp_path, music).to_dict()
    assert row["schema"] == "mockcheck.review/1"
    assert row["source"]["ticks_per_quarter"] == 480
    assert row["source"]["bars"] == 2
    assert [slide["source"] for slide in row["slides"]] == ["bend"]
    assert row["slides"][0]["start"]["bar"] == 2
    (impossible,) = [item for item in row["findings"] if item["severity"] == "impossible"]
    assert impossible["start"] == {
        "bar": 2,
        "beat": 3.0,
        "tick": 2880,
        "time_s": 3.0,
        "timecode": None,
    }
    assert row["tracks"][1]["notes"] == 4
    assert {check["outcome"] for check in row["checks"]} == {"ran"}
    assert sum(zone["articulation"] != "" for zone in row["articulations"]) >= 1


def test_reading_lists_the_bars_in_which_something_begins_with_what_makes_them_heavy(
    tmp_path: Path,
) -> None:
    music = "Violin 1 4/4 q=120 key=0 | C5:1 F#5:1 G5:2 | r:4 | C5:2 E5:2 |"
    (row,) = review_of(tmp_path, music, "Viola 4/4 | r:4 |").to_dict()["reading"]
    assert (row["track"], row["part"], row["bars"]) == (1, "Violin 1", [1, 3])
    assert set(row) == {"track", "part", "bars", "load", *LOAD_COMPONENTS}
    assert all(len(row[name]) == 2 for name in ("load", *LOAD_COMPONENTS))
    assert row["load"] == [round(value, 3) for value in row["load"]]
    assert row["load"][0] > row["load"][1] > 0
    assert row["accidentals"][1] == 0 < row["accidentals"][0]
