"""The sheet for the stand: one page of HTML that needs nothing from outside."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from math import ceil
from pathlib import PureWindowsPath

from mockcheck.model.words import count_of, shortened
from mockcheck.plan.minutes import Cue
from mockcheck.plan.rehearsal import Exercise
from mockcheck.report._rehearsal_words import (
    ANCHOR,
    HEADPHONES,
    TO_READ,
    estimate_words,
    grouped_changes,
    length_words,
    limits_words,
    name_words,
    names_words,
    reading_words,
    share_words,
    spot_bars,
    troubles,
    waiting_words,
)
from mockcheck.report._standalone import render_html

_PAGE_LINES = 60
"""Lines of small print between the heads and the foot of an A4 or letter page."""
_MOST_CHANGES = 7
_MOST_TO_READ = 5
_HEAD_LINES = 3
_MOST_TROUBLES = 3
_LINE_SIGNS, _WIDE_LINE_SIGNS, _NAMES_SIGNS = 62, 110, 20
_LONGEST_NAME, _LONGEST_NAMES = 30, 110
_LONGEST_TITLE, _LONGEST_TEXT = 60, 160


@dataclass(frozen=True)
class _Row:
    """One spot as it is printed."""

    number: int
    bars: str
    who: str
    waiting: str
    troubles: tuple[str, ...]
    limits: str
    passes: tuple[tuple[str, str, str], ...]
    beat: str

    @property
    def lines(self) -> int:
        """Lines it takes at most."""
        texts = (*self.troubles, self.limits)
        told = sum(_lines(text, _LINE_SIGNS) for text in texts if text)
        names = _lines(self.who, _NAMES_SIGNS) + _lines(self.waiting, _NAMES_SIGNS)
        return max(told, names, len(self.passes) + 1) + 1


def render_rehearsal_page(cue: Cue) -> str:
    """One cue on one page: bars, who, what goes wrong, clicks and seconds, to be ticked off.

    What finds no room is counted at the end; the text and the JSON have everything. Every text
    from the file is escaped; the page asks the network for nothing.
    """
    rehearsal = cue.rehearsal
    changes = grouped_changes(rehearsal.to_change, _LONGEST_NAME)
    told = [shortened(line, _LONGEST_TEXT) for line in changes[:_MOST_CHANGES]]
    to_read = [reading_words(row, _LONGEST_NAME) for row in rehearsal.to_read]
    looked = [shortened(line, _LONGEST_TEXT) for line in to_read[:_MOST_TO_READ]]
    room = _PAGE_LINES - sum(_lines(line, _WIDE_LINE_SIGNS) for line in told + looked)
    room -= len(looked) and _HEAD_LINES
    rows: list[_Row] = []
    for row in (_row(cue, exercise) for exercise in rehearsal.exercises):
        room -= row.lines
        if room < 0:
            break
        rows.append(row)
    return render_html(
        "rehearsal.html.j2",
        title=name_words(PureWindowsPath(cue.file).name, _LONGEST_TITLE),
        level=rehearsal.review.played.session.level_name,
        spots=count_of(len(rehearsal.exercises), "spot"),
        playing=length_words(rehearsal.seconds),
        changes=told,
        more_changes=len(changes) - len(told),
        rows=rows,
        to_read_head=TO_READ,
        to_read=looked,
        more_to_read=len(to_read) - len(looked),
        more_rows=len(rehearsal.exercises) - len(rows),
        estimate=estimate_words(cue),
        anchor=ANCHOR,
        headphones=HEADPHONES,
    )


def _row(cue: Cue, exercise: Exercise) -> _Row:
    spot, ladder = exercise.spot, exercise.ladder
    told = [(part.part, troubles(part, briefly=True)) for part in spot.parts]
    # The worst of each section before the second of any.
    lines = [
        f"{name_words(name, _LONGEST_NAME)}, {own[rank]}"
        for rank in range(max(len(own) for _, own in told))
        for name, own in told
        if rank < len(own)
    ]
    more = [f"and {len(lines) - _MOST_TROUBLES} more"] if len(lines) > _MOST_TROUBLES else []
    limits = limits_words(spot, cue.rehearsal.review.played.score.timeline)
    return _Row(
        number=exercise.number,
        bars=spot_bars(spot).partition(" ")[2],
        who=shortened(
            names_words([part.part for part in spot.parts], _LONGEST_NAME), _LONGEST_NAMES
        ),
        waiting=shortened(waiting_words(exercise, _LONGEST_NAME), _LONGEST_NAMES),
        troubles=tuple([shortened(line, _LONGEST_TEXT) for line in lines[:_MOST_TROUBLES]] + more),
        limits=limits or "",
        passes=tuple(
            (f"{rung.click_bpm:.0f}", share_words(rung.share), f"{rung.seconds:.0f} s")
            for rung in ladder.rungs
        ),
        beat=f"{ladder.beat}{', changing' if ladder.tempos_change else ''}",
    )


def _lines(text: str, signs: int) -> int:
    """Lines of a text: capitals are wider than small letters, East Asian signs twice as wide."""
    wide = sum(unicodedata.east_asian_width(sign) in "WF" for sign in text)
    capitals = sum(sign.isupper() for sign in text)
    return ceil((len(text) + wide + 0.6 * capitals) / signs)
