"""A pedal that holds what no string holds."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._registry import check
from mockcheck.infer.choices import choice_for
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity

_SUSTAIN = 64
"""Controller. Source: MIDI 1.0 Detailed Specification 4.2, Control Change, Table III."""


class PedalOnStrings(Params):
    """Limits of the check."""

    ring_s: float = quantity(
        0.1,
        unit="s",
        low=0.01,
        high=5,
        meaning="a note that the pedal holds no longer than this is only a late release",
        source="from memory; releases of players at a keyboard lie some hundredths around the key",
    )
    smear_s: float = quantity(
        0.3,
        unit="s",
        low=0.05,
        high=5,
        meaning="held notes that sound into later ones for longer than this smear them",
        source="from memory: a pianist changes the pedal one to three tenths after the new chord",
    )
    same_passage_s: float = quantity(
        4, unit="s", low=0, high=60, meaning="held notes closer together are reported together"
    )


@check(
    id="pedal-on-strings",
    family="realism",
    severity=Severity.AWKWARD,
    title="A pedal holds notes that no bow or finger holds.",
    params=PedalOnStrings,
    needs_strings=False,
)
def find(part: PlayedPart, p: PedalOnStrings) -> Iterator[Observation]:
    """Find notes that sound on behind their key because a pedal holds them.

    Why a player minds: strings have no pedal. Chords that melt into each other in the mock-up will
    be clean, lines that ring will stop, and notes that look separate were meant to be held.
    Measured: seconds a note sounds under a sustain or sostenuto pedal after its key is up; notes
    that sound at once with the pedal and by the keys alone. Awkward where held notes run into
    later ones, a remark where the pedal only fills the gaps between them.
    Fine when: the sampler takes the pedal for something else, such as a legato switch, and the
    brief names it (a switch on controller 64).
    Source: MIDI 1.0 Detailed Specification 4.2, controllers 64 and 66; the rest is how strings are
    built.
    """
    notes = part.notes
    is_held = (notes.sound_end_s - notes.release_s > p.ring_s) & _obeys_pedal(part)
    rows = np.flatnonzero(is_held)
    if not len(rows):
        return
    until_s = np.maximum.accumulate(notes.sound_end_s[rows])
    cuts = np.flatnonzero(notes.onset_s[rows][1:] - until_s[:-1] > p.same_passage_s) + 1
    for passage in np.split(rows, cuts):
        yield _observe(part, passage, p)


def _obeys_pedal(part: PlayedPart) -> NDArray[np.bool_]:
    """Notes of tracks on which the brief gives the pedal no other meaning, shape (n,)."""
    other = [
        role.index
        for role in part.roles
        if any(
            switch.controller == _SUSTAIN
            for switch in choice_for(role, part.session.tracks).switches
        )
    ]
    return ~np.isin(part.track, other)


def _observe(part: PlayedPart, rows: NDArray[np.intp], p: PedalOnStrings) -> Observation:
    notes = part.notes
    beyond_s = notes.sound_end_s[rows] - notes.release_s[rows]
    longest_s = float(beyond_s.max())
    later = np.searchsorted(notes.onset_s, notes.sound_end_s[rows] - p.smear_s, side="left")
    released = np.searchsorted(notes.onset_s, notes.release_s[rows], side="left")
    is_smeared = bool(np.any(later > released))
    around = slice(rows[0], np.searchsorted(notes.onset_s, notes.sound_end_s[rows].max()))
    by_pedal, by_keys = (
        _most_at_once(notes.onset_s[around], end_s[around], p.smear_s)
        for end_s in (notes.sound_end_s, notes.release_s)
    )
    evidence = [Evidence("held by the pedal", round(longest_s, 2), p.ring_s, "s")]
    count = "A note sounds" if len(rows) == 1 else f"{len(rows)} notes sound"
    message = f"{count} up to {longest_s:.1f} s longer than the keys, held by a pedal"
    if is_smeared and by_pedal > by_keys:
        message += f": {by_pedal} at once where the keys hold {by_keys}"
        evidence.append(Evidence("notes at once", by_pedal, by_keys, "notes"))
    return Observation(
        note_indices=tuple(rows.tolist()),
        message=f"{message}; strings have no pedal.",
        suggestion=(
            "Take the pedal out and hold the keys as long as the players shall, or divide the"
            " chords so that somebody can go on holding them."
        ),
        evidence=tuple(evidence),
        severity=Severity.AWKWARD if is_smeared else Severity.REMARK,
        span_ticks=(int(notes.onset_ticks[rows[0]]), int(notes.release_ticks[rows].max())),
    )


def _most_at_once(onset_s: NDArray[np.float64], end_s: NDArray[np.float64], smear_s: float) -> int:
    """Most notes that sound together for longer than a change of pedal takes."""
    # No note is gone before its own onset, so that each counts at least itself.
    gone_s = np.sort(np.maximum(end_s - smear_s, onset_s))
    begun = np.searchsorted(onset_s, onset_s, side="right")
    gone = np.searchsorted(gone_s, onset_s, side="left")
    return int((begun - gone).max())
