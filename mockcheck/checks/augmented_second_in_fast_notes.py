"""Fast notes spelled with augmented or diminished steps where plain ones would sound the same."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._registry import check
from mockcheck.checks._spelled import names, signature_name
from mockcheck.infer.easy_spelling import awkward_steps
from mockcheck.infer.quick_lines import bars_of, quick_lines
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.spelled import SpellingColumns, interval_name, spelled_name
from mockcheck.params import Params, quantity


class AugmentedSecondInFastNotes(Params):
    """Limits of the check."""

    fast_from: float = quantity(
        6,
        unit="notes/s",
        low=2,
        high=20,
        meaning="slower notes are worked out one by one",
    )
    steps_in_figure: float = quantity(
        3,
        unit="steps",
        low=1,
        high=16,
        meaning="so many in one bar make a section stumble; fewer are a remark",
        source="tried on half of the composers of open string quartets",
    )
    apart_s: float = quantity(
        12,
        unit="s",
        low=0,
        high=600,
        meaning="bars of this kind nearer than this are one passage and one finding",
    )
    confidence: float = quantity(
        0.8,
        unit="confidence",
        low=0,
        high=1,
        meaning="the page may be spelled by hand before it is printed",
    )


@dataclass(frozen=True)
class _Figure:
    """The fast notes of a bar, and the steps that read awkwardly as imported and need not."""

    rows: NDArray[np.int64]
    steps: NDArray[np.int64]
    left: int
    rate: float


@check(
    id="augmented-second-in-fast-notes",
    family="reading",
    severity=Severity.AWKWARD,
    title="A fast figure is spelled in augmented or diminished steps where plain ones would do.",
    params=AugmentedSecondInFastNotes,
)
def find(part: PlayedPart, p: AugmentedSecondInFastNotes) -> Iterator[Observation]:
    """Find fast figures that an import would print in augmented or diminished steps.

    Why a player minds: at speed the hand follows the picture on the staff. A step that looks like a
    second and sounds like a third has to be worked out, and somebody will play what it looks like.
    Measured: neighbouring fast notes of a bar, up to a fourth apart, spelled as a notation program
    does that knows only the file's key signature; steps written augmented or diminished which the
    offered spelling avoids. Awkward when there are several in a bar, once for each passage; a part
    that has only single ones gets one remark.
    Fine when: the notes are slow, no other spelling has fewer such steps, or whoever writes out the
    parts spells them by hand.
    Source: two composers' weblogs on spelling (2004, 2009); E. Gould, Behind Bars (2011), from
    memory.
    """
    if part.spelling is None:
        return
    figures = list(_figures(part, part.spelling, p))
    several = [figure for figure in figures if len(figure.steps) >= p.steps_in_figure]
    for passage in _passages(part, several, p.apart_s):
        yield _observe(part, part.spelling, passage, p)
    few = [figure for figure in figures if len(figure.steps) < p.steps_in_figure]
    if few and not several:
        yield _remark(part, part.spelling, few, p)


def _figures(
    part: PlayedPart, spelling: SpellingColumns, p: AugmentedSecondInFastNotes
) -> Iterator[_Figure]:
    pitch = part.notes.pitch.astype(np.int64)
    for line in quick_lines(part, p.fast_from, 4):
        for rows in bars_of(part, line):
            printed, offered = (
                awkward_steps(pitch[rows], column[rows].astype(np.int64))
                for column in (spelling.as_imported, spelling.fifths)
            )
            steps = np.flatnonzero(printed & ~offered)
            if int(offered.sum()) < int(printed.sum()):
                yield _Figure(rows, steps, int(offered.sum()), line.rate)


def _passages(
    part: PlayedPart, figures: list[_Figure], apart_s: float
) -> list[tuple[_Figure, ...]]:
    """Figures in order of time, those near each other together."""
    passages: list[tuple[_Figure, ...]] = []
    onset_s = part.notes.onset_s
    for figure in sorted(figures, key=lambda one: int(one.rows[0])):
        is_near = bool(passages) and (
            onset_s[figure.rows[0]] - onset_s[passages[-1][-1].rows[-1]] <= apart_s
        )
        if is_near:
            passages[-1] = (*passages[-1], figure)
        else:
            passages.append((figure,))
    return passages


def _observe(
    part: PlayedPart,
    spelling: SpellingColumns,
    passage: tuple[_Figure, ...],
    p: AugmentedSecondInFastNotes,
) -> Observation:
    worst = max(passage, key=lambda figure: len(figure.steps))
    rows = np.concatenate(
        [figure.rows[int(figure.steps[0]) : int(figure.steps[-1]) + 2] for figure in passage]
    )
    count = len(worst.steps)
    bars = f"; {len(passage)} bars of the passage are like it" if len(passage) > 1 else ""
    return Observation(
        note_indices=tuple(np.unique(rows).tolist()),
        message=(
            f"{_as_printed(part, spelling, worst)}, and {count} such steps stand in one bar at"
            f" {worst.rate:.1f} notes a second{bars}; at sight they are taken for what they look"
            " like."
        ),
        suggestion=_suggestion(part, spelling, worst),
        evidence=(
            Evidence("awkward steps in the bar", count, p.steps_in_figure, "steps"),
            Evidence("of them left as offered", worst.left, p.steps_in_figure, "steps"),
            Evidence("rate", round(worst.rate, 1), p.fast_from, "notes/s"),
        ),
        confidence=p.confidence,
    )


def _remark(
    part: PlayedPart, spelling: SpellingColumns, few: list[_Figure], p: AugmentedSecondInFastNotes
) -> Observation:
    # Equal rates differ in the last digits; of equals the first is named.
    worst = max(few, key=lambda figure: (len(figure.steps), round(figure.rate, 3)))
    total = sum(len(figure.steps) for figure in few)
    rows = worst.rows[int(worst.steps[0]) : int(worst.steps[-1]) + 2]
    others = f"; fast notes of the part have {total} such steps" if total > 1 else ""
    return Observation(
        note_indices=tuple(rows.tolist()),
        message=f"{_as_printed(part, spelling, worst)}{others}.",
        suggestion=_suggestion(part, spelling, worst),
        evidence=(
            Evidence("awkward steps in the bar", len(worst.steps), p.steps_in_figure, "steps"),
            Evidence("awkward steps in fast notes", total, p.steps_in_figure, "steps"),
            Evidence("rate", round(worst.rate, 1), p.fast_from, "notes/s"),
        ),
        confidence=p.confidence,
        severity=Severity.REMARK,
    )


def _as_printed(part: PlayedPart, spelling: SpellingColumns, figure: _Figure) -> str:
    pair = figure.rows[int(figure.steps[0]) : int(figure.steps[0]) + 2]
    notes = _spelled(part, pair, spelling.as_imported)
    called = [spelled_name(*note, part.session.middle_c_octave) for note in notes]
    signature = signature_name(int(spelling.signature_fifths[pair[0]]))
    interval = interval_name(*notes)
    article = "an" if interval.startswith("a") else "a"
    return (
        f"An import that knows only the signature ({signature}) prints {called[0]} to {called[1]},"
        f" {article} {interval}"
    )


def _suggestion(part: PlayedPart, spelling: SpellingColumns, figure: _Figure) -> str:
    first = int(figure.steps[0])
    pair = figure.rows[first : first + 2]
    steps = figure.rows[np.unique(np.concatenate([figure.steps, figure.steps + 1]))]
    changed = steps[spelling.fifths[steps] != spelling.as_imported[steps]]
    old, new = (names(part, changed, c[changed]) for c in (spelling.as_imported, spelling.fifths))
    to_read = interval_name(*_spelled(part, pair, spelling.fifths))
    return (
        f"Write {new} instead of {old}, so that the step reads as a {to_read}, or have whoever"
        " copies the part look at this bar."
    )


def _spelled(
    part: PlayedPart, pair: NDArray[np.int64], fifths: NDArray[np.int8]
) -> tuple[tuple[int, int], tuple[int, int]]:
    first, second = ((int(part.notes.pitch[row]), int(fifths[row])) for row in pair)
    return first, second
