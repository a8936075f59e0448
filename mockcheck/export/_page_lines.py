"""Who takes what, slides worth writing, and harmonics, as they would be marked in a part."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import numpy as np

from mockcheck.export._divided import DividedPassage, divide_chords
from mockcheck.export._marks import Mark, PartBars, in_turns, mark_of
from mockcheck.export._slides import choose_slides
from mockcheck.model.played import PlayedPart, Slide
from mockcheck.model.review import Review
from mockcheck.playing.division import Division, divide
from mockcheck.playing.harmonics import harmonics

_DIVIDED, _STOPPED = "divided, or double stops?", "double stops, or divided?"
_SLIDE_WORDS = {
    "portamento": "port. {first}-{last}",
    "glissando": "gliss. {first}-{last}",
    "scoop": "scoop up into {last}",
    "fall": "fall off {first}",
}


def divisi_marks(review: Review, part: PlayedPart, bars: PartBars) -> Iterator[Mark]:
    """How chords are shared out: where one player cannot play them, and where they sound so."""
    if part.players < 2 or part.instrument.is_ensemble:
        return
    shared: set[int] = set()
    for passage in divide_chords(review, part):
        notes = sorted(passage.line)
        if shared.isdisjoint(notes):
            shared |= set(notes)
            words = f"{_shares(part, passage)}, then unis."
            yield mark_of(part, notes, "divisi", (words, words), 1.0)
    if part.lines is None:
        return
    for kinds, question in ((("divisi",), _DIVIDED), (("double stops", "open"), _STOPPED)):
        rows = [n for n in np.flatnonzero(part.lines.is_any(*kinds)).tolist() if n not in shared]
        for own in in_turns(rows, bars):
            sure = float(part.lines.confidence[own].mean())
            word = "non div."
            if kinds == ("divisi",):
                word = f"{_lines_word(part, own)}, then unis."
            yield mark_of(part, own, "divisi", (word, question), sure)


def _shares(part: PlayedPart, passage: DividedPassage) -> str:
    """Who takes what of the fullest chord, and of the others by the line."""
    fullest = max(passage.chords, key=len)
    pitches = [int(part.notes.pitch[note]) for note in fullest]
    division = divide(
        part.instrument, pitches, part.players, middle_c_octave=part.session.middle_c_octave
    )
    assert division is not None, "a chord that is divided can be"
    return f"div. a {len(division.lines)}, {_players(part, division, len(passage.chords))}"


def _players(part: PlayedPart, division: Division, chords: int) -> str:
    counts = Counter(line.players for line in division.lines)
    if chords > 1:
        if len(counts) == 1:
            return f"{division.lines[0].players} players to a line"
        return f"{' and '.join(str(line.players) for line in division.lines)} players, from the top"
    names = [
        " with ".join(part.pitch_name(pitch) for pitch in line.pitches) for line in division.lines
    ]
    if len(counts) == 1:
        return f"{division.lines[0].players} players each: {', '.join(names)}"
    return ", ".join(
        f"{name} {line.players} players" for name, line in zip(names, division.lines, strict=True)
    )


def _lines_word(part: PlayedPart, rows: list[int]) -> str:
    assert part.lines is not None, "its lines are known"
    numbers = part.lines.line[rows]
    players = [
        int(part.lines.players[np.array(rows)[numbers == number]].min())
        for number in np.unique(numbers).tolist()
    ]
    shares = (
        f"{players[0]} players to a line"
        if len(set(players)) == 1
        else f"{' and '.join(map(str, players))} players, from the top"
    )
    return f"div. a {len(players)}, {shares}"


def slide_marks(review: Review, part: PlayedPart) -> Iterator[Mark]:
    """Slides worth writing: all where they are few, else those that a player would choose."""
    dropped = [slide for choice in choose_slides(review, part) for slide in choice.dropped]
    for slide in part.slides:
        if slide in dropped:
            continue
        notes = [note for note in (slide.from_note, slide.to_note) if note >= 0]
        ends = {
            "first": part.pitch_name(slide.from_pitch),
            "last": part.pitch_name(slide.to_pitch),
        }
        words = _SLIDE_WORDS[slide.kind].format(**ends)
        mark = mark_of(part, notes, "slide", (words, _slide_question(ends)), slide.confidence)
        yield Mark(
            "slide",
            _begin(part, slide),
            slide.release_ticks,
            mark.words,
            mark.confidence,
            mark.is_sure,
        )


def _begin(part: PlayedPart, slide: Slide) -> int:
    """A slide is marked from the note that it leaves."""
    if slide.from_note < 0:
        return slide.onset_ticks
    return int(part.notes.onset_ticks[slide.from_note])


def _slide_question(ends: dict[str, str]) -> str:
    return f"a slide from {ends['first']} to {ends['last']}, or none?"


def harmonic_marks(part: PlayedPart, bars: PartBars) -> Iterator[Mark]:
    """Each harmonic with its simplest notation."""
    rows = np.flatnonzero(part.articulation.is_any("harmonic")).tolist()
    for run in in_turns(rows, bars):
        for key in np.unique(part.notes.pitch[run]).tolist():
            own = [note for note in run if part.notes.pitch[note] == key]
            name = part.pitch_name(key)
            ways = harmonics(part.instrument, key, middle_c_octave=part.session.middle_c_octave)
            sure = float(part.articulation.confidence[own].mean())
            question = f"{name} as a harmonic, or an ordinary note?"
            if not ways:
                question = f"no harmonic sounds {name}: an ordinary note, or another pitch?"
                sure = 0.0
            words = f"harmonic {name}: {ways[0].notations[0]}" if ways else question
            yield mark_of(part, own, "harmonic", (words, question), sure)
