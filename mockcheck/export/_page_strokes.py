"""Strokes, slurs, plucking and colours as they would be marked in a part."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from mockcheck.export._marks import PAGE, Mark, PartBars, in_time, in_turns, mark_of
from mockcheck.model.played import ARTICULATIONS, COLOURS, PlayedPart

_PLUCKED = {
    "pizzicato": ("pizz.", "arco", "plucked, or bowed short?"),
    "col legno": ("col legno", "arco", "with the wood, or with the hair?"),
}
"""What is written, what takes it back, and what is asked. The words are common practice."""
_STROKES = {
    "portato": ("portato", "parted lightly under one bow, or a bow for each?"),
    "marcato": ("marcato", "accented, or plain?"),
    "staccato": ("staccato dots", "short on the string, or lightly bounced?"),
    "spiccato": ("spiccato", "lightly bounced, or short on the string?"),
    "tremolo": ("trem.", "an unmeasured tremolo, or repeated notes in time?"),
    "trill": ("tr", "a trill, or written notes?"),
}
_COLOURS = {
    "con sordino": ("con sord.", "senza sord.", "with mute, or without?"),
    "sul ponticello": ("sul pont.", "ord.", "near the bridge, or in the usual place?"),
    "sul tasto": ("sul tasto", "ord.", "over the fingerboard, or in the usual place?"),
}
_SLURRED, _SEPARATE = "slurred, or a bow for each?", "a bow for each, or slurred?"
_NUMBERS = ("twos", "threes", "fours", "fives", "sixes", "sevens", "eights")
_MOSTLY = 0.8
_SHORTEST_PATTERN = 2
"""Bars: slurs that come and go faster than this are told once for all of them."""


def stroke_marks(part: PlayedPart, bars: PartBars) -> Iterator[Mark]:
    """Every stroke that needs a word, and slurs against separate bows, by the bar."""
    articulation = part.articulation
    for name, (word, back, question) in _PLUCKED.items():
        rows = np.flatnonzero(articulation.is_any(name))
        yield from _switched(part, rows, articulation.confidence, "stroke", (word, back, question))
    for name, words in _STROKES.items():
        rows = np.flatnonzero(articulation.code == ARTICULATIONS.index(name))
        for own in _alike(rows, articulation.confidence, bars):
            yield mark_of(part, own, "stroke", words, _mean(articulation.confidence, own))
    yield from _bows(part, bars)


def colour_marks(part: PlayedPart) -> Iterator[Mark]:
    """Mute on and off, and where the bow goes."""
    articulation = part.articulation
    for name, words in _COLOURS.items():
        is_code = articulation.code == ARTICULATIONS.index(name)
        rows = np.flatnonzero(is_code | (articulation.colour == COLOURS.index(name)))
        sure = np.where(is_code, articulation.confidence, articulation.colour_confidence)
        yield from _switched(part, rows, sure, "colour", words)


def _switched(
    part: PlayedPart,
    rows: NDArray[np.int64],
    sure: NDArray[np.float64],
    kind: str,
    words: tuple[str, str, str],
) -> Iterator[Mark]:
    """What holds from a word to the one that takes it back."""
    word, back, question = words
    others = np.setdiff1d(np.arange(len(part.notes)), rows)
    for own in in_time(rows, others, part):
        mark = mark_of(part, own, kind, (word, question), _mean(sure, own))
        yield mark
        after = others[others > own[-1]]
        if mark.is_sure and len(after):
            begins = int(part.notes.onset_ticks[after[0]])
            release = int(part.notes.release_ticks[after[0]])
            yield Mark(kind, begins, release, back, mark.confidence)


def _alike(
    rows: NDArray[np.int64], sure: NDArray[np.float64], bars: PartBars
) -> Iterator[list[int]]:
    """Notes of one stroke, from bar to bar, sure bars apart from unsure ones."""
    for run in in_turns(rows.tolist(), bars):
        by_bar = [list(own) for _, own in groupby(run, key=lambda row: int(bars.turn[row]))]
        for _, alike in groupby(by_bar, key=lambda own: _mean(sure, own) >= PAGE.sure):
            yield [row for own in alike for row in own]


def _mean(sure: NDArray[np.float64], rows: list[int]) -> float:
    return float(np.mean(sure[rows]))


def _bows(part: PlayedPart, bars: PartBars) -> Iterator[Mark]:
    """Slurs and separate bows of plainly bowed notes.

    A bar that has both, and bars that take turns, are told together: the notes show which.
    """
    sure = part.articulation.confidence
    rows = np.flatnonzero(part.articulation.is_any("legato", "detache"))
    for run in _alike(rows, sure, bars):
        is_sure = _mean(sure, run) >= PAGE.sure
        for name, own in _patterns(part, run, bars):
            question = _SLURRED if _slurred(part, own).mean() >= 0.5 else _SEPARATE
            words = (_bow_words(part, own, is_mixed=name == "mixed"), question)
            yield mark_of(part, own, "bow", words, max(_mean(sure, own), PAGE.sure * is_sure))


def _slurred(part: PlayedPart, rows: list[int]) -> NDArray[np.bool_]:
    slur = np.full(len(part.notes), -1) if part.slur is None else part.slur
    is_slurred: NDArray[np.bool_] = slur[rows] >= 0
    return is_slurred


def _patterns(part: PlayedPart, run: list[int], bars: PartBars) -> Iterator[tuple[str, list[int]]]:
    """The notes of neighbouring bars that are bowed in the same way."""
    patterns: list[Pattern] = []
    for _, notes in groupby(run, key=lambda row: int(bars.turn[row])):
        own = list(notes)
        share = float(_slurred(part, own).mean())
        name = "slurs" if share >= _MOSTLY else "mixed" if share > 1 - _MOSTLY else "separate"
        if patterns and patterns[-1][0] == name:
            patterns[-1][1].append(own)
        else:
            patterns.append((name, [own]))
    for name, members in _settled(patterns):
        yield name, [row for own in members for row in own]


Pattern = tuple[str, list[list[int]]]
"""'slurs', 'separate' or 'mixed', and the notes of each bar."""


def _settled(patterns: list[Pattern]) -> list[Pattern]:
    """A bar that is bowed otherwise than its neighbours is told together with them."""
    settled: list[Pattern] = []
    for name, members in patterns:
        is_short = len(members) < _SHORTEST_PATTERN
        after_short = bool(settled) and len(settled[-1][1]) < _SHORTEST_PATTERN
        if after_short and len(settled) > 1 and name in (settled[-2][0], "mixed"):
            between = settled.pop()[1]
            settled[-1] = ("mixed", settled[-1][1] + between + members)
        elif settled and (
            (settled[-1][0] == "mixed" and (is_short or name == "mixed"))
            or (after_short and name == "mixed")
        ):
            settled[-1] = ("mixed", settled[-1][1] + members)
        else:
            settled.append((name, members))
    return settled


def _bow_words(part: PlayedPart, rows: list[int], *, is_mixed: bool) -> str:
    is_slurred = _slurred(part, rows)
    if part.slur is None or not is_slurred.any():
        return "separate bows"
    share = float(is_slurred.mean())
    if not is_mixed and share <= 1 - _MOSTLY:
        return "separate bows"
    over = _slur_words(part, part.slur, part.slur[np.array(rows)[is_slurred]])
    if not is_mixed and share >= _MOSTLY:
        return over
    return f"{over}, the other notes separate"


def _slur_words(part: PlayedPart, slur: NDArray[np.int64], numbers: NDArray[np.int64]) -> str:
    """How many notes the slurs with these numbers are over; a chord counts as one."""
    rows = np.flatnonzero(np.isin(slur, numbers))
    onsets = np.unique(np.stack([slur[rows], part.notes.onset_ticks[rows]]), axis=1)
    lengths = Counter(Counter(onsets[0].tolist()).values())
    usual, count = lengths.most_common(1)[0]
    if count < _MOSTLY * lengths.total():
        return f"slurs over {min(lengths)} to {max(lengths)} notes"
    return f"slurs in {_NUMBERS[usual - 2]}" if 2 <= usual <= 8 else f"slurs over {usual} notes"
