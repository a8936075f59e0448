import csv
import io
import math
from dataclasses import replace
from pathlib import Path

from mockcheck.model.finding import Evidence, Severity
from mockcheck.model.session import Session
from mockcheck.report.tables import (
    FINDING_COLUMNS,
    READING_COLUMNS,
    TRACK_COLUMNS,
    evidence_words,
    findings_table,
    tracks_table,
    write_tables,
)
from tests.report.synthetic import (
    BAR,
    HOSTILE_NAME,
    VIOLIN,
    finding_of,
    frames_timeline,
    loads_of,
    part_of,
    review_of,
    studio_review,
    summary_of,
)

FINDING_HEADER = (
    "severity,family,check,part,track,start_bar,start_beat,start_s,end_bar,end_beat,end_s,"
    "pitches,message,suggestion,evidence,confidence,id,accepted"
)


def rows_of(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_bytes().decode("utf-8"), newline="")))


def test_the_columns_of_findings_are_fixed() -> None:
    assert list(findings_table(studio_review()).columns) == FINDING_HEADER.split(",")
    assert list(FINDING_COLUMNS) == FINDING_HEADER.split(",")


def test_an_empty_review_has_the_same_columns_of_the_same_kind() -> None:
    empty = findings_table(review_of([part_of("Violin 1", VIOLIN, [])]))
    full = findings_table(studio_review())
    assert len(empty) == 0
    assert (empty.dtypes == full.dtypes).all()


def test_files_are_utf_8_with_line_feeds_and_one_row_each(tmp_path: Path) -> None:
    review = studio_review()
    written = write_tables(review, tmp_path)
    assert [path.name for path in written] == [
        "findings.csv",
        "tracks.csv",
        "strokes.csv",
        "slides.csv",
        "reading.csv",
    ]
    for path in written:
        assert b"\r" not in path.read_bytes()
    findings, tracks, strokes, slides, _ = map(rows_of, written)
    assert [row["id"] for row in findings] == [finding.id for finding in review.findings]
    assert [row["index"] for row in tracks] == [str(track.index) for track in review.tracks]
    assert "ヴァイオリン" in tracks[2]["name"]
    parts = review.played.parts
    assert len(strokes) == sum(len(part.zones) for part in parts)
    assert len(slides) == sum(len(part.slides) for part in parts)


def test_a_slide_and_a_stroke_read_as_names_and_places(tmp_path: Path) -> None:
    write_tables(studio_review(), tmp_path)
    slide = rows_of(tmp_path / "slides.csv")[0]
    assert (slide["from"], slide["to"], slide["semitones"]) == ("C4", "E4", "4.0")
    assert (slide["kind"], slide["source"], slide["duration_ms"]) == ("portamento", "bend", "120.0")
    stroke = rows_of(tmp_path / "strokes.csv")[0]
    assert (stroke["articulation"], stroke["confidence"]) == ("detache", "0.9")
    assert (stroke["start_bar"], stroke["start_beat"]) == ("1", "1.0")


def test_reading_has_a_row_for_each_bar_with_notes(tmp_path: Path) -> None:
    bars = loads_of([{"notes": 0.3}, {}, {"accidentals": 0.4, "rhythm": 0.375}])
    part = part_of("Violin 1", VIOLIN, [(60, 0, BAR)], index=2, reading=bars)
    write_tables(review_of([part]), tmp_path)
    rows = rows_of(tmp_path / "reading.csv")
    assert list(rows[0]) == list(READING_COLUMNS)
    assert [(row["track"], row["bar"], row["load"]) for row in rows] == [
        ("2", "1", "0.3"),
        ("2", "3", "0.625"),
    ]
    assert [row["mostly"] for row in rows] == ["many notes", "accidentals, rhythm"]


def test_a_finding_reads_as_words_and_whole_bars(tmp_path: Path) -> None:
    write_tables(studio_review(), tmp_path)
    row = next(r for r in rows_of(tmp_path / "findings.csv") if r["check"].startswith("double"))
    assert row["severity"] == "impossible"
    assert (row["start_bar"], row["start_beat"], row["start_s"]) == ("12", "3.0", "28.75")
    assert row["pitches"] == "G3 A3"
    assert row["evidence"] == "strings needed: measured 2 strings, limit 1"
    assert row["accepted"] == ""


def test_evidence_names_measure_unit_and_limit() -> None:
    item = Evidence("notes", 11.2, 10.1, "notes/s")
    assert evidence_words(item) == "notes: measured 11.2 notes/s, limit 10.1"


def test_pitches_follow_the_house_custom_for_middle_c() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, BAR)])
    finding = finding_of(part, Severity.RISKY, 0, BAR, pitches=(60,))
    review = review_of([part], [finding], session=Session(middle_c_octave=3))
    assert findings_table(review)["pitches"].tolist() == ["C3"]
    assert tracks_table(review)["lowest"].tolist() == ["C3"]


def test_a_file_without_bars_leaves_bars_empty(tmp_path: Path) -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, 900)], timeline=frames_timeline())
    write_tables(review_of([part], [finding_of(part, Severity.RISKY, 0, 900)]), tmp_path)
    row = rows_of(tmp_path / "findings.csv")[0]
    assert (row["start_bar"], row["start_beat"], row["end_s"]) == ("", "", "0.9")


def test_hostile_names_are_guarded_in_every_column(tmp_path: Path) -> None:
    part = part_of(HOSTILE_NAME, VIOLIN, [(60, 0, BAR)], track_name=HOSTILE_NAME)
    finding = finding_of(
        part,
        Severity.RISKY,
        0,
        BAR,
        message=HOSTILE_NAME,
        suggestion=HOSTILE_NAME,
        accepted=HOSTILE_NAME,
        id=HOSTILE_NAME,
        evidence=(Evidence(HOSTILE_NAME, 1, 2, "x"),),
    )
    row = summary_of(part, evidence=HOSTILE_NAME, left_out=HOSTILE_NAME)
    write_tables(review_of([part], [finding], summaries=[row]), tmp_path)
    for name, guarded in (("findings", 6), ("tracks", 4)):
        cells = list(rows_of(tmp_path / f"{name}.csv")[0].values())
        assert sum(value.startswith("'=HYPERLINK") for value in cells) == guarded
        assert not any(value.startswith(("=", "+", "-", "@")) for value in cells)
        assert all(value.isprintable() for value in cells)


def test_headroom_names_its_place_and_an_endless_one_is_empty() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, 8 * BAR)])
    row = summary_of(part, headroom=0.8764, headroom_at=part.locate(5 * BAR))
    table = tracks_table(review_of([part], summaries=[row]))
    assert list(table.columns) == list(TRACK_COLUMNS)
    assert table["headroom"].tolist() == [0.876]
    assert table["headroom_bar"].tolist() == [6]
    assert table["headroom_s"].tolist() == [10.0]
    endless = replace(row, headroom=math.inf, headroom_at=None)
    assert tracks_table(review_of([part], summaries=[endless]))["headroom"].isna().all()
