"""Long lines that never say where a phrase ends."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._bows import long_bows
from mockcheck.checks._registry import check
from mockcheck.infer.overlaps import find_note_ends
from mockcheck.model.columns import stretches
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity
from mockcheck.playing.bow import longest_bow_s

_LOUDEST = 127
_CLOCK_S = 1e-6
_OWN_BOWS = ("pizzicato", "col legno", "staccato", "spiccato", "marcato", "tremolo", "trill")
"""Every note is a stroke, or nobody hears where the bow changes."""


class NoPlaceToBreathe(Params):
    """Limits of the check."""

    breath_s: float = quantity(
        0.08,
        unit="s",
        low=0.01,
        high=2,
        meaning="a longer silence lifts the bow: a place to breathe",
    )
    held_s: float = quantity(
        1,
        unit="s",
        low=0.2,
        high=10,
        meaning="separate notes at least this long belong to a sustained line; shorter ones have a"
        " bow each, and every one is a place to change",
    )
    longest_s: float = quantity(
        30,
        unit="s",
        low=5,
        high=600,
        meaning="a line may go on so long without a place to breathe",
        source="chosen on the even rows of 26 published quartets, with every note at its full"
        " length: longer lines come 4 times in 4.5 hours of music; in the odd rows 14 times in 5.2",
    )


@check(
    id="no-place-to-breathe",
    family="realism",
    severity=Severity.REMARK,
    title="A sustained line goes on without a phrase end.",
    params=NoPlaceToBreathe,
)
def find(part: PlayedPart, p: NoPlaceToBreathe) -> Iterator[Observation]:
    """Find sustained lines without a rest, a gap, an end of a slur or a note struck again.

    Why a player minds: players breathe and change bow together where a phrase ends, and turn the
    page in a rest. A line that never ends is bowed by chance, each desk in its own way, and sounds
    like a pad.
    Measured: seconds from the first onset to the last release of slurred or long notes that follow
    each other without a silence, over all tracks of the part. A remark, since a section can always
    change bow one after another.
    Fine when: the notes are short or separate, so that each is a bow of its own; or an endless
    line is meant. A note or slur that is longer than one bow is reported by bow-runs-out and
    counts here as an end.
    Source: common practice, no source; the length is named with the limit.
    """
    notes = part.notes
    if not len(notes):
        return
    ends = find_note_ends(notes)
    until_s = np.maximum.accumulate(np.maximum.reduceat(ends.heard_release_s, ends.first_note))
    after = np.append(ends.first_note[1:], len(notes))
    goes_on = _is_sustained(part, ends.first_note, p.held_s)
    joins = goes_on[1:] & goes_on[:-1] & ~_phrase_ends(part, ends.first_note)
    joins &= ends.onset_s[1:] - until_s[:-1] <= p.breath_s + _CLOCK_S
    for first, last in stretches(joins):
        lasts_s = float(until_s[last] - ends.onset_s[first])
        if lasts_s <= p.longest_s + _CLOCK_S:
            continue
        rows = np.arange(ends.first_note[first], after[last])
        yield Observation(
            note_indices=tuple(rows.tolist()),
            message=(
                f"The line sounds for {lasts_s:.0f} s without a rest, a gap, an end of a slur or a"
                " note struck again; nothing says where its phrases end."
            ),
            suggestion=(
                "Shorten the last note of each phrase, draw slurs, or write breath marks; or keep"
                " it and ask for staggered bowing. A rest of a bar now and then lets players turn"
                " the page."
            ),
            evidence=(Evidence("without a place to breathe", round(lasts_s, 1), p.longest_s, "s"),),
            confidence=float(part.articulation.confidence[rows].mean()),
        )


def _is_sustained(
    part: PlayedPart, first_note: NDArray[np.int64], held_s: float
) -> NDArray[np.bool_]:
    """Onsets all of whose notes are slurred or long, and which one bow is enough for."""
    slurred = part.articulation.is_any("legato", "portato")
    sustained = (slurred | (part.notes.duration_s >= held_s)) & ~part.articulation.is_any(
        *_OWN_BOWS
    )
    for bow in long_bows(part, longest_bow_s(part.instrument, _LOUDEST)):
        if bow.duration_s > longest_bow_s(part.instrument, bow.loudness) + _CLOCK_S:
            sustained[list(bow.note_indices)] = False
    goes_on: NDArray[np.bool_] = np.logical_and.reduceat(sustained, first_note)
    return goes_on


def _phrase_ends(part: PlayedPart, first_note: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Joins at which the same notes are struck again, or a drawn slur ends, shape (m - 1,).

    Where a track overlaps the notes of a slur, notes beside it that only touch have a new bow.
    """
    notes = part.notes
    after = np.append(first_note[1:], len(notes))
    chords = [notes.pitch[first:end].tolist() for first, end in zip(first_note, after, strict=True)]
    again = np.array([one == two for one, two in pairwise(chords)], np.bool_)
    last_s = np.maximum.reduceat(notes.release_s, first_note)[:-1]
    overlaps = np.concatenate([[False], last_s > notes.onset_s[first_note[1:]] + _CLOCK_S, [False]])
    ends: NDArray[np.bool_] = again | (~overlaps[1:-1] & (overlaps[:-2] | overlaps[2:]))
    return ends
