from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from mockcheck import load, play
from mockcheck.grade.music import PieceMusic, music_of
from mockcheck.grade.reference import (
    KINDS,
    ReferenceReport,
    compare_with_reference,
    reference_losses,
    shift_words,
)
from mockcheck.grade.rubric import read_rubric
from tests.accuracy.corpus import FIXTURES
from tests.accuracy.midi_music import Music, Note, Part, excerpt, read_music, write_music
from tests.grade.classroom import plain_part, plain_quartet
from tests.grade.works import plain_music

TABLE = read_rubric(None).reference
BAR = 4 * 480
APART_TICKS = 4 * 480
"""Two edits nearer than this in one part could be told in another way just as shortly."""


def compare(model: Music, piece: Music) -> ReferenceReport:
    return compare_with_reference(plain_music(model), plain_music(piece), TABLE)


def counts(report: ReferenceReport) -> dict[str, int]:
    return {kind: report.count(kind) for kind in KINDS if report.count(kind)}


def each(piece: Music, change: Callable[[Note], Note], *names: str) -> Music:
    return replace(
        piece,
        parts=tuple(
            replace(part, notes=tuple(change(note) for note in part.notes))
            if not names or part.name in names
            else part
            for part in piece.parts
        ),
    )


EDITS = ("missing", "wrong", "octave", "rhythm", "extra")


def edit(kind: str, note: Note, chance: Random) -> list[Note]:
    """What stands in the place of a note."""
    if kind == "missing":
        return []
    if kind == "wrong":
        return [replace(note, pitch=note.pitch + chance.choice((-3, -2, -1, 1, 2, 3)))]
    if kind == "octave":
        return [replace(note, pitch=note.pitch + 12)]
    if kind == "rhythm":
        later = note.onset + 110
        return [replace(note, onset=later, release=max(note.release, later + 60))]
    added = Note(note.onset + 60, note.onset + 100, note.pitch + chance.choice((4, 5, 6)))
    return [note, added]


def edited(piece: Music, chance: Random, most: int) -> tuple[Music, Counter[str]]:
    """The music with some notes changed, far enough apart that there is one way to tell it."""
    truth: Counter[str] = Counter()
    parts = []
    for part in piece.parts:
        rows: list[Note] = []
        free_from, left = 0, most
        for place, note in enumerate(part.notes):
            alone = 0 < place < len(part.notes) - 1 and all(
                abs(other.onset - note.onset) >= 120
                for other in (part.notes[place - 1], part.notes[place + 1])
            )
            if left and alone and note.onset >= free_from and chance.random() < 0.2:
                kind = chance.choice(EDITS)
                truth[kind] += 1
                rows += edit(kind, note, chance)
                free_from, left = note.onset + APART_TICKS, left - 1
            else:
                rows.append(note)
        rows.sort(key=lambda note: (note.onset, note.pitch))
        parts.append(replace(part, notes=tuple(rows)))
    return replace(piece, parts=tuple(parts)), truth


@pytest.mark.parametrize("number", range(24))
def test_injected_differences_are_counted_exactly(number: int) -> None:
    chance = Random(f"reference {number}")
    if number % 2:
        model = plain_quartet(chance, 24)
    else:
        whole = read_music(FIXTURES / chance.choice(["quartet_13.mid", "quartet_23.mid"]))
        first = chance.randint(1, whole.bar_at(whole.end - 1) - 32)
        model = excerpt(whole, first, first + 31)
    piece, truth = edited(model, chance, 5)
    report = compare(model, piece)
    assert counts(report) == dict(truth)
    gone = truth.total() - truth["extra"]
    assert report.same == report.notes - gone


MODEL = plain_quartet(Random("model"), 24)


def late(note: Note, ticks: int, start: int = 0) -> Note:
    if note.onset < start:
        return note
    return replace(note, onset=note.onset + ticks, release=note.release + ticks)


@pytest.mark.parametrize(
    "change",
    [
        lambda note: note,
        lambda note: late(note, 2 * BAR),
        lambda note: late(note, 3 * BAR, 8 * BAR),
        lambda note: replace(note, velocity=40),
        lambda note: replace(note, release=note.onset + 100),
    ],
    ids=["itself", "empty bars in front", "bars came in", "softer", "shorter"],
)
def test_what_is_no_other_note_is_no_difference(
    change: Callable[[Note], Note],
) -> None:
    report = compare(MODEL, each(MODEL, change))
    assert counts(report) == {}
    assert report.same == report.notes
    assert reference_losses(report, TABLE) == ()


def test_the_same_holds_for_music_that_was_read(tmp_path: Path) -> None:
    short = plain_quartet(Random("read"), 8)
    piece, truth = edited(short, Random("read"), 2)
    read = [music_of(play(load(write_music(m, tmp_path / "x.mid")))) for m in (short, piece)]
    assert truth
    assert counts(compare_with_reference(read[0], read[1], TABLE)) == dict(truth)


def test_a_hand_at_the_keyboard_is_no_other_rhythm() -> None:
    chance = Random("hand")
    by_hand = each(MODEL, lambda n: replace(n, onset=max(n.onset + chance.randint(-14, 14), 0)))
    assert counts(compare(MODEL, by_hand)) == {}


def test_a_part_in_another_octave_is_noted_once_and_its_notes_are_right() -> None:
    higher = each(MODEL, lambda n: replace(n, pitch=n.pitch + 12), "Viola")
    report = compare(MODEL, higher)
    assert report.transposed == (("Viola", 12),)
    assert counts(report) == {}
    (loss,) = reference_losses(report, TABLE)
    assert loss.price == 100 * TABLE.transposed_part
    assert "an octave higher" in loss.words


def test_the_line_is_found_in_the_instrument_that_has_it() -> None:
    viola, cello = MODEL.part("Viola"), MODEL.part("Violoncello")
    swapped = MODEL.with_part(replace(viola, notes=cello.notes))
    swapped = swapped.with_part(replace(cello, notes=viola.notes))
    report = compare(MODEL, swapped)
    assert {(row[0], row[3]) for row in report.moved} == {
        ("Viola", "violoncello"),
        ("Violoncello", "viola"),
    }
    assert counts(report) == {}


def test_a_part_that_is_not_there_is_missing_whole() -> None:
    report = compare(MODEL, replace(MODEL, parts=MODEL.parts[:3]))
    assert report.absent == ("Violoncello",)
    assert counts(report) == {"missing": len(MODEL.part("Violoncello").notes)}


def test_a_part_of_ones_own_is_extra() -> None:
    more: Part = replace(plain_part("Viola", 24, 0, Random("own")), name="Viola 2")
    report = compare(MODEL, replace(MODEL, parts=(*MODEL.parts, more)))
    assert report.added == ("Viola 2",)
    assert counts(report) == {"extra": len(more.notes)}


def test_another_tempo_is_told_by_its_bars() -> None:
    first = MODEL.tempos[0][1]
    slower = replace(MODEL, tempos=((0, first), (12 * BAR, 1.2 * first)))
    report = compare(MODEL, slower)
    assert report.tempo_bars == tuple(range(13, 24))
    assert report.compared_bars == 23
    nearly = replace(MODEL, tempos=((0, 1.05 * first),))
    assert compare(MODEL, nearly).tempo_bars == ()


def test_twice_the_values_at_twice_the_tempo_are_the_same_music() -> None:
    double = each(MODEL, lambda n: replace(n, onset=2 * n.onset, release=2 * n.release))
    double = replace(double, tempos=((0, MODEL.tempos[0][1] / 2),))
    report = compare(MODEL, double)
    assert counts(report) == {}
    assert report.tempo_bars == ()


def test_other_music_has_little_in_common() -> None:
    report = compare(MODEL, plain_quartet(Random("other"), 24))
    assert report.same < 0.2 * report.notes


def test_an_empty_model_asks_for_nothing() -> None:
    nothing = PieceMusic((), None, 0.0)
    report = compare_with_reference(nothing, nothing, TABLE)
    assert reference_losses(report, TABLE) == ()


@pytest.mark.parametrize(
    ("semitones", "words"),
    [(12, "an octave higher"), (-24, "2 octaves lower"), (1, "1 semitone higher")],
)
def test_how_far_a_part_stands_off(semitones: int, words: str) -> None:
    assert shift_words(semitones) == words


def test_every_difference_is_a_line_with_its_part_bars_and_price() -> None:
    piece, truth = edited(MODEL, Random("lines"), 4)
    lines = reference_losses(compare(MODEL, piece), TABLE)
    assert truth
    assert all(
        re.match(r"(Violin [12]|Viola|Violoncello): \d+ notes? .*\(bars? ", x.words) for x in lines
    )
    notes = sum(len(part.notes) for part in MODEL.parts)
    share = sum(100 * number / notes * getattr(TABLE, kind) for kind, number in truth.items())
    assert sum(line.price for line in lines) == pytest.approx(100 * share, abs=len(lines))


def test_music_that_shares_no_row_is_laid_beginning_to_beginning() -> None:
    first = replace(MODEL, parts=(replace(MODEL.parts[0], notes=MODEL.parts[0].notes[:3]),))
    second = each(first, lambda n: late(n, BAR))
    assert counts(compare(first, second)) == {}
