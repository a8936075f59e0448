"""What to mark in the parts: a table for whoever writes them, and what has to be asked first."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from textwrap import wrap

import numpy as np

from mockcheck.export._marks import KINDS, PAGE, Mark, bars_of
from mockcheck.export._page_dynamics import dynamic_marks
from mockcheck.export._page_lines import divisi_marks, harmonic_marks, slide_marks
from mockcheck.export._page_strokes import colour_marks, stroke_marks
from mockcheck.model.played import PlayedPart
from mockcheck.model.review import Review
from mockcheck.model.time import Location
from mockcheck.model.words import bars_words, cell, last_bar, printable

COLUMNS = (
    "part", "first_bar", "first_beat", "last_bar", "last_beat", "start_s", "end_s", "kind", "mark",
    "confidence", "is_question",
)  # fmt: skip
"""Columns of the table as CSV; bars and beats count from 1 and are empty where there are none."""


@dataclass(frozen=True)
class PageNote:
    """One mark: from where to where, what to write, and how sure it is (0-1).

    `kind` is one of colour, stroke, bow, divisi, harmonic, slide, dynamics.
    """

    part: str
    start: Location
    end: Location
    kind: str
    mark: str
    confidence: float


@dataclass(frozen=True)
class PageQuestion:
    """What has to be asked before it can be written, and everywhere it comes up."""

    part: str
    places: tuple[tuple[Location, Location], ...]
    kind: str
    question: str
    confidence: float


@dataclass(frozen=True)
class PageNotes:
    """Marks part by part in the order of the music, questions part by part.

    `players` gives the number of players of every part that has either.
    """

    rows: tuple[PageNote, ...]
    questions: tuple[PageQuestion, ...]
    players: dict[str, int]


def page_notes(review: Review) -> PageNotes:
    """Strokes, slurs, colours, divisi, slides, harmonics and dynamics as a copyist marks them.

    Parameters
    ----------
    review
        What was heard; what is less sure than `PAGE.sure` (dynamics: `PAGE.dynamics_sure`) becomes
        a question.

    Not modelled: where a slur begins and ends (the notes show it), accents, phrasing, and bowings.
    """
    rows: list[PageNote] = []
    questions: list[PageQuestion] = []
    for part in review.played.parts:
        if not len(part.notes):
            continue
        marks = _in_order(_marks(review, part))
        rows += [_row(part, mark) for mark in _joined(part, [m for m in marks if m.is_sure])]
        questions += _questions(part, [mark for mark in marks if not mark.is_sure])
    named = {row.part for row in rows} | {asked.part for asked in questions}
    players = {part.name: part.players for part in review.played.parts if part.name in named}
    return PageNotes(tuple(rows), tuple(questions), players)


def _marks(review: Review, part: PlayedPart) -> Iterator[Mark]:
    bars = bars_of(part)
    yield from _role_marks(part)
    yield from colour_marks(part)
    yield from stroke_marks(part, bars)
    yield from divisi_marks(review, part, bars)
    yield from harmonic_marks(part, bars)
    yield from slide_marks(review, part)
    yield from dynamic_marks(part, bars)


def _role_marks(part: PlayedPart) -> Iterator[Mark]:
    """Nothing on a page is right in the part of another instrument."""
    if part.role_confidence < PAGE.sure:
        notes = part.notes
        question = f"is this {part.name}? The file leaves it open"
        begin, end = int(notes.onset_ticks.min()), int(notes.release_ticks.max())
        yield Mark(KINDS[0], begin, end, question, part.role_confidence, is_sure=False)


def _in_order(marks: Iterator[Mark]) -> list[Mark]:
    return sorted(marks, key=lambda m: (m.onset_ticks, KINDS.index(m.kind), m.release_ticks))


def _joined(part: PlayedPart, marks: list[Mark]) -> list[Mark]:
    """A mark that only says again what the last one of its kind said is left out.

    It says it again where the part has no note in between.
    """
    kept: list[Mark] = []
    last: dict[str, int] = {}
    for mark in marks:
        place = last.get(mark.kind)
        if place is not None and _goes_on(part, kept[place], mark):
            kept[place] = _together(kept[place], mark)
        else:
            last[mark.kind] = len(kept)
            kept.append(mark)
    return kept


def _goes_on(part: PlayedPart, one: Mark, other: Mark) -> bool:
    if one.words != other.words:
        return False
    first, after = np.searchsorted(
        part.notes.onset_ticks, [one.release_ticks, other.onset_ticks]
    ).tolist()
    return bool(first >= after)


def _together(one: Mark, other: Mark) -> Mark:
    return Mark(
        one.kind,
        one.onset_ticks,
        max(one.release_ticks, other.release_ticks),
        one.words,
        min(one.confidence, other.confidence),
        one.is_sure,
    )


def _span(part: PlayedPart, mark: Mark) -> tuple[Location, Location]:
    return part.locate_onset(mark.onset_ticks), part.locate(mark.release_ticks)


def _row(part: PlayedPart, mark: Mark) -> PageNote:
    start, end = _span(part, mark)
    return PageNote(part.name, start, end, mark.kind, mark.words, mark.confidence)


def _questions(part: PlayedPart, marks: list[Mark]) -> list[PageQuestion]:
    """One question, however often it comes up."""
    asked: dict[tuple[str, str], list[Mark]] = {}
    for mark in marks:
        asked.setdefault((mark.kind, mark.words), []).append(mark)
    return [
        PageQuestion(
            part.name,
            tuple(_span(part, mark) for mark in own),
            kind,
            words,
            min(mark.confidence for mark in own),
        )
        for (kind, words), own in asked.items()
    ]


def to_text(notes: PageNotes, width: int = 100) -> str:
    """The marks for a terminal, part by part with the places in a column, then the questions."""
    lines: list[str] = []
    for part, players in notes.players.items():
        rows = [(_place(row.start, row.end), row.mark) for row in notes.rows if row.part == part]
        column = max((len(place) for place, _ in rows), default=0)
        lines += ["", f"{printable(part)} ({players} player{'s' * (players > 1)})"]
        lines += [f"  {place:{column}}  {printable(mark)}" for place, mark in rows]
        asked = [question for question in notes.questions if question.part == part]
        lines += ["  To ask"] if asked else []
        for question in asked:
            bars = _bars(question)
            text = f"{bars[0].upper()}{bars[1:]}: {printable(question.question)}"
            lines += wrap(text, width, initial_indent="  - ", subsequent_indent="    ")
    return "\n".join(lines[1:])


def _place(start: Location, end: Location) -> str:
    """'bar 12, beat 3', 'bars 12-14', 'bars 12-14, from beat 3', or seconds without bars."""
    last = last_bar(start, end)
    if start.bar is None or start.beat is None or last is None:
        return f"{start.time_s:.1f}-{end.time_s:.1f} s"
    on_beat = f"{start.beat:.2f}".rstrip("0").rstrip(".")
    if last <= start.bar:
        return f"bar {start.bar}" + (f", beat {on_beat}" if on_beat != "1" else "")
    return f"bars {start.bar}-{last}" + (f", from beat {on_beat}" if on_beat != "1" else "")


def _bars(question: PageQuestion) -> str:
    """'bars 5, 12-14, 20', or seconds where there are no bars."""
    spans = [(start.bar, last_bar(start, end)) for start, end in question.places]
    bars = sorted(
        {
            bar
            for first, last in spans
            if first is not None and last is not None
            for bar in range(first, last + 1)
        }
    )
    if not bars:
        return ", ".join(f"{start.time_s:.1f} s" for start, _ in question.places)
    return bars_words(bars)


def to_csv(notes: PageNotes) -> str:
    """The same as a table: a line for each mark, and one for each place of a question."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(COLUMNS)
    for row in notes.rows:
        table.writerow(_cells(row.part, row.start, row.end, row.kind, row.mark, row.confidence, ""))
    for asked in notes.questions:
        for start, end in asked.places:
            table.writerow(
                _cells(asked.part, start, end, asked.kind, asked.question, asked.confidence, "yes")
            )
    return out.getvalue()


def _cells(
    part: str, start: Location, end: Location, kind: str, words: str, sure: float, asked: str
) -> list[str | int | float | None]:
    places = [
        start.bar,
        start.beat,
        end.bar,
        end.beat,
        round(start.time_s, 3),
        round(end.time_s, 3),
    ]
    return [cell(part), *places, kind, cell(words), round(sure, 3), asked]
