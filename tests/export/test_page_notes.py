import csv
import io
import tempfile
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import mockcheck
from mockcheck.errors import UnreadableInput
from mockcheck.export._marks import KINDS, PAGE
from mockcheck.export.page_notes import (
    COLUMNS,
    PageNote,
    PageNotes,
    page_notes,
    to_csv,
    to_text,
)
from mockcheck.model.review import Review
from tests.phrases import midi_bytes

ROOT = Path(__file__).parent.parent.parent
DEMO = ROOT / "fixtures" / "demo"
QUIRKS = ROOT / "fixtures" / "quirks"
QUARTETS = sorted((ROOT / "fixtures" / "quartets").glob("*.mid"))


def reviewed(*phrases: str, brief: Any = None) -> Review:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "music.mid"
        path.write_bytes(midi_bytes(*phrases))
        return mockcheck.review(path, brief)


def notes(*phrases: str, brief: Any = None) -> PageNotes:
    return page_notes(reviewed(*phrases, brief=brief))


def told(page: PageNotes, kind: str) -> list[tuple[int | None, int | None, str]]:
    """First bar, bar of the end, and mark of one kind."""
    return [(row.start.bar, row.end.bar, row.mark) for row in page.rows if row.kind == kind]


@pytest.fixture(scope="module")
def demo() -> PageNotes:
    return page_notes(mockcheck.review(DEMO / "harbour_at_dawn.mid", DEMO / "brief.toml"))


def of(page: PageNotes, part: str, kind: str) -> list[PageNote]:
    return [row for row in page.rows if row.part == part and row.kind == kind]


def test_the_demo_says_what_its_switches_and_names_say(demo: PageNotes) -> None:
    strokes = [(r.start.bar, r.end.bar, r.mark) for r in of(demo, "Violin 1", "stroke")]
    assert strokes == [(1, 4, "trem."), (19, 23, "spiccato")]
    assert [(r.start.bar, r.mark) for r in of(demo, "Violin 1", "colour")] == [(33, "con sord.")]
    plucked = [(r.start.bar, r.mark) for r in of(demo, "Double Bass", "stroke")]
    assert plucked == [(17, "pizz."), (29, "arco")]


def test_the_demo_shares_out_what_nobody_plays_alone(demo: PageNotes) -> None:
    (chord,) = of(demo, "Violin 1", "divisi")
    assert (chord.start.bar, chord.mark) == (
        31,
        "div. a 4, 2 players each: A5, E5, C5, A3, then unis.",
    )


def test_of_too_many_slides_the_page_has_the_chosen_one(demo: PageNotes) -> None:
    slides = [(r.start.bar, r.mark) for r in of(demo, "Violin 2", "slide")]
    assert slides == [(5, "port. E4-A4"), (13, "port. G4-B4")]


def test_unsure_marks_are_questions(demo: PageNotes) -> None:
    assert all(r.confidence >= PAGE.sure for r in demo.rows if r.kind != "dynamics")
    asked = {(q.part, q.question) for q in demo.questions}
    assert ("Cello", "a slide from B3 to G4, or none?") in asked
    assert all(q.confidence < PAGE.sure for q in demo.questions)


def test_a_page_stays_readable(demo: PageNotes) -> None:
    for part, _ in demo.players.items():
        assert sum(row.part == part for row in demo.rows) <= 0.6 * 44


@pytest.mark.slow
@pytest.mark.parametrize("path", QUARTETS, ids=lambda path: path.stem)
def test_long_works_stay_readable(path: Path) -> None:
    review = mockcheck.review(path)
    page = page_notes(review)
    bars = review.played.score.bar_count
    assert bars is not None
    for part in page.players:
        assert sum(row.part == part for row in page.rows) <= 0.3 * bars
        assert sum(asked.part == part for asked in page.questions) <= 10
    assert max(map(len, to_text(page).splitlines())) <= 100


@pytest.mark.parametrize("path", QUARTETS[:2], ids=lambda path: path.stem)
def test_rows_are_in_order_and_never_say_again_what_holds(path: Path) -> None:
    review = mockcheck.review(path)
    page = page_notes(review)
    for part in review.played.parts:
        rows = [row for row in page.rows if row.part == part.name]
        order = [(row.start.tick, KINDS.index(row.kind)) for row in rows]
        assert order == sorted(order)
        for kind in ("bow", "dynamics"):
            own = [row for row in rows if row.kind == kind]
            for row, later in pairwise(own):
                between = (part.notes.onset_ticks >= row.end.tick) & (
                    part.notes.onset_ticks < later.start.tick
                )
                assert row.mark != later.mark or between.any()


def test_slurs_and_separate_bows() -> None:
    slurred = "(G4:1 A4:1) (B4:1 A4:1) | "
    separate = "C5:1 D5:1 E5:1 D5:1 | "
    page = notes(f"violin 4/4 q=90 | {slurred * 3} {separate * 3}")
    marks = [mark for _, _, mark in told(page, "bow")]
    assert marks == ["slurs in twos", "separate bows"]
    assert [first for first, _, _ in told(page, "bow")] == [1, 4]


def test_bars_that_take_turns_are_told_together() -> None:
    turns = "(G4:1 A4:1) (B4:1 A4:1) | C5:1 D5:1 E5:1 D5:1 | "
    page = notes(f"violin 4/4 q=90 | {turns * 4}")
    assert told(page, "bow") == [(1, 8, "slurs in twos, the other notes separate")]


def test_mute_goes_on_and_off() -> None:
    brief = {
        "tracks": [
            {
                "match": "violin",
                "switches": [
                    {"key": 24, "articulation": "con sordino"},
                    {"key": 26, "articulation": "legato"},
                ],
            }
        ]
    }
    page = notes(
        "violin 4/4 q=60 | C1:0.01 A4:3 | A4:4 | D1:0.01 A4:2 | B4:4 |".replace("A4:3", "A4:3.99"),
        brief=brief,
    )
    assert [mark for _, _, mark in told(page, "colour")] == ["con sord.", "senza sord."]


def test_pizzicato_by_program_and_back() -> None:
    page = notes("viola program=45 4/4 q=60 | C4:1 D4:1 E4:1 F4:1 | G4:4 |")
    assert [mark for _, _, mark in told(page, "stroke")] == ["pizz."]
    # Nobody bows again, so nothing takes it back.
    assert not told(page, "bow")


def test_harmonics_have_their_simplest_notation() -> None:
    page = notes("Violin harmonics 4/4 q=60 | E6:4 | E6:4 |")
    ((first, _, mark),) = told(page, "harmonic")
    assert first == 1
    assert mark.startswith("harmonic E6: ")
    assert "circle above" in mark or "diamond" in mark


def test_a_harmonic_that_does_not_exist_is_asked_about() -> None:
    page = notes("Cello harmonics 4/4 q=60 | D2:4 | D2:4 |")
    assert not told(page, "harmonic")
    assert any("no harmonic sounds D2" in asked.question for asked in page.questions)


def fader(*bars: tuple[int, int]) -> str:
    """A held note a bar, with the fader drawn from one value to another."""
    return " | ".join(
        " ".join(
            f"cc11@{1 + beat / 4:g}={round(first + (last - first) * beat / 16)}"
            for beat in range(16)
        )
        + " A4:4"
        for first, last in bars
    )


def test_hairpins_go_from_dynamic_to_dynamic() -> None:
    bars = [(45, 45), (45, 45), (45, 70), (70, 97), (97, 97), (97, 97), (97, 45), (45, 45)]
    page = notes(f"violin 4/4 q=60 | {fader(*bars)} |")
    marks = told(page, "dynamics")
    assert [mark for _, _, mark in marks] == ["p", "cresc. to f", "dim. to p"]
    starts = [first for first, _, _ in marks]
    assert starts[0] == 1
    assert starts[1] == 3
    assert starts[2] == 7


def test_one_loudness_throughout_is_asked_about() -> None:
    page = notes("violin 4/4 q=60 | A4:1 B4:1 C5:1 D5:1 | E5:4 |")
    assert not told(page, "dynamics")
    assert [q.question for q in page.questions if q.kind == "dynamics"] == [
        "how loud? One loudness throughout may be a setting"
    ]


def test_a_chord_for_one_player_is_no_divisi() -> None:
    brief = {"tracks": [{"match": "*", "players": 1}]}
    page = notes("violin 4/4 q=60 | D4+B4:4 | D4+B4:4 |", brief=brief)
    assert not told(page, "divisi")
    assert not [q for q in page.questions if q.kind == "divisi"]


def test_questions_name_every_place_once(demo: PageNotes) -> None:
    asked = [(q.part, q.kind, q.question) for q in demo.questions]
    assert len(asked) == len(set(asked))
    text = to_text(demo)
    for question in demo.questions:
        assert question.question in " ".join(text.split())


def test_the_table_has_a_line_for_each_mark_and_place(demo: PageNotes) -> None:
    table = list(csv.DictReader(io.StringIO(to_csv(demo))))
    assert tuple(table[0]) == COLUMNS
    marks = [row for row in table if not row["is_question"]]
    assert len(marks) == len(demo.rows)
    assert len(table) - len(marks) == sum(len(q.places) for q in demo.questions)
    for row, note in zip(marks, demo.rows, strict=True):
        assert row["mark"] == note.mark
        assert int(row["first_bar"]) == note.start.bar
        assert float(row["confidence"]) == pytest.approx(note.confidence, abs=5e-4)


def test_no_name_becomes_a_formula_or_a_command() -> None:
    brief = {"tracks": [{"match": "violin", "part": "=1+1\x1b[2J"}]}
    page = notes("violin 4/4 q=60 | A4:1 B4:1 C5:1 D5:1 | E5:4 |", brief=brief)
    assert list(page.players) == ["=1+1\x1b[2J"]
    assert "\x1b" not in to_text(page) + to_csv(page)
    cells = [cell for row in csv.reader(io.StringIO(to_csv(page))) for cell in row]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "@"))]


@pytest.mark.parametrize("path", sorted(QUIRKS.glob("*.mid")), ids=lambda path: path.stem)
def test_odd_files_get_a_page(path: Path) -> None:
    brief = {"tracks": [{"match": "*", "instrument": "violin"}]}
    try:
        review = mockcheck.review(path, brief)
    except UnreadableInput:
        return
    page = page_notes(review)
    assert to_text(page)
    assert to_csv(page).count("\n") == 1 + len(page.rows) + sum(
        len(asked.places) for asked in page.questions
    )
    assert np.isfinite([row.confidence for row in page.rows]).all()


def test_uneven_desks_are_named_line_by_line() -> None:
    brief = {"tracks": [{"match": "*", "players": 5}]}
    one = notes("viola 4/4 q=60 | A4:4 | C3+D3:4 | A4:4 |", brief=brief)
    assert [mark for _, _, mark in told(one, "divisi")] == [
        "div. a 2, D3 3 players, C3 2 players, then unis."
    ]
    several = notes("viola 4/4 q=60 | A4:4 | C3+D3:2 D3+F3:2 | A4:4 |", brief=brief)
    assert [mark for _, _, mark in told(several, "divisi")] == [
        "div. a 2, 3 and 2 players, from the top, then unis."
    ]


def test_a_part_that_is_a_guess_is_asked_about() -> None:
    review = reviewed("violin 4/4 q=60 | A4:1 B4:1 C5:1 D5:1 | E5:4 |")
    (part,) = review.played.parts
    roles = tuple(replace(role, confidence=0.5) for role in part.roles)
    played = replace(review.played, parts=(replace(part, roles=roles),))
    asked = [q.question for q in page_notes(replace(review, played=played)).questions]
    assert f"is this {part.name}? The file leaves it open" in asked


def test_loudness_that_changes_all_the_time_is_asked_about() -> None:
    bar = "v40 A4:2 v100 B4:2 | "
    page = notes(f"violin 4/4 q=60 | {bar * 10}")
    assert not told(page, "dynamics")
    (asked,) = (q for q in page.questions if q.kind == "dynamics")
    assert asked.question == "the loudness changes from bar to bar: which dynamics are meant?"
