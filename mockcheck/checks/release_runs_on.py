"""Keys of a single line that stay down for seconds into the next notes."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._registry import check
from mockcheck.infer.overlaps import NoteEnds, find_note_ends
from mockcheck.model.columns import stretches
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.notes import Notes
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity
from mockcheck.playing.chords import chord

_CLOCK_S = 1e-6
_RINGING = ("pizzicato", "col legno", "tremolo", "trill")
"""A plucked string rings as it likes, and fast repeated keys say nothing about their ends."""


class ReleaseRunsOn(Params):
    """Limits of the check."""

    longest_overlap_s: float = quantity(
        1,
        unit="s",
        low=0.4,
        high=20,
        meaning="a key of a line that stays down no longer into the next note is legato",
        source="above any overlap that triggers a legato transition, some tenths of a second by"
        " custom; from memory",
    )
    written_end_s: float = quantity(
        0.15,
        unit="s",
        low=0.01,
        high=2,
        meaning="a release so close before or at another onset or release ends where something"
        " happens: somebody wrote it so",
        source="three times the spread of onsets in ensembles, 49 ms: Rasch (1979)",
    )
    written_end_share: float = quantity(
        0.12,
        unit="share of the note",
        low=0,
        high=0.5,
        meaning="or so close, as a share of the note's length: notation exports cut notes short",
        source="a tenth is usual (common practice, no source)",
    )
    clash_semitones: float = quantity(
        2,
        unit="semitones",
        low=0,
        high=12,
        meaning="notes no further apart rub; held for seconds they are seldom a double stop",
    )
    in_a_row: float = quantity(
        3,
        unit="joins",
        low=2,
        high=16,
        meaning="so many joins in a row that overlap are a habit of the mock-up, not voices, if",
    )
    doubtful_share: float = quantity(
        0.5,
        unit="share of the joins in a row",
        low=0.1,
        high=1,
        meaning="this much of them is doubtful",
    )
    same_passage_s: float = quantity(
        4, unit="s", low=0, high=60, meaning="joins closer together are reported together"
    )


@check(
    id="release-runs-on",
    family="realism",
    severity=Severity.REMARK,
    title="Notes of a single line are held for seconds into the next ones.",
    params=ReleaseRunsOn,
)
def find(part: PlayedPart, p: ReleaseRunsOn) -> Iterator[Observation]:
    """Find notes of a line whose release lies seconds behind the next onset.

    Why a player minds: on the page a held note under a moving one is a double stop or a divided
    section. Where only the key or a long release was meant, players divide for nothing, and what
    is recorded is thinner than the mock-up.
    Measured: seconds a note sounds into the next one of its track, where one note begins at a
    time. Two things make it doubtful: the release comes where nothing else begins or ends, and the
    two notes rub (a second) or no hand holds them. A remark where both hold, or one of them at
    join after join.
    Fine when: the overlap is short, the held note ends with the other voice, or notes are plucked.
    Source: common practice, no source; a judgement, which is why it is a remark.
    """
    for role in part.roles:
        rows = np.flatnonzero((part.track == role.index) & ~part.articulation.is_any(*_RINGING))
        if len(rows) < 2:
            continue
        found, overlap_s = _of_track(part, rows, p)
        gap_s = np.diff(part.notes.onset_s[found]) - overlap_s[:-1]
        for passage in np.split(
            np.arange(len(found)), np.flatnonzero(gap_s > p.same_passage_s) + 1
        ):
            if len(passage):
                yield _observe(found[passage], overlap_s[passage], p)


def _observe(
    rows: NDArray[np.intp], overlap_s: NDArray[np.float64], p: ReleaseRunsOn
) -> Observation:
    longest_s = float(overlap_s.max())
    count = "A note of a single line is" if len(rows) == 1 else f"{len(rows)} notes of a line are"
    return Observation(
        note_indices=tuple(rows.tolist()),
        message=(
            f"{count} held up to {longest_s:.1f} s into the next, more than a legato needs and no"
            " double stop that anyone would play."
        ),
        suggestion=(
            "Shorten them to where the next note begins, or, if the sound is meant, write it as"
            " two voices and divide the players."
        ),
        evidence=(
            Evidence("held into the next note", round(longest_s, 2), p.longest_overlap_s, "s"),
        ),
        confidence=0.6,
    )


def _of_track(
    part: PlayedPart, rows: NDArray[np.intp], p: ReleaseRunsOn
) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Notes of one track that run on, and for how long each sounds into the next, s."""
    notes = part.notes.select(rows)
    ends = find_note_ends(notes)
    held = ends.first_note[:-1]
    is_single = np.diff(np.append(ends.first_note, len(notes))) == 1
    until_s = _until_struck_again(notes)
    release_s = until_s[held]
    overlap_s = release_s - ends.onset_s[1:]
    overlaps = is_single[:-1] & is_single[1:] & (overlap_s > p.longest_overlap_s + _CLOCK_S)
    is_legato = ends.heard_release_s[held] <= ends.onset_s[1:] + _CLOCK_S
    overlaps &= ~notes.hanging[held] & ~is_legato
    share_s = p.written_end_share * notes.duration_s[held]
    near_s = np.maximum(p.written_end_s, share_s)
    others_s = _to_next_release_s(until_s, held)
    is_ragged = (others_s > near_s) & ~_is_near(ends.onset_s, release_s, near_s)
    # Three keys down where one note began at a time: no two voices, unless they end together.
    next_s = np.append(ends.onset_s[2:], np.inf)
    crowds = overlaps & np.append(overlaps[1:], False) & (release_s > next_s + p.written_end_s)
    crowds &= others_s > p.written_end_s
    is_unlikely = _rubs(part, notes, ends, overlaps, p) | crowds
    doubtful = overlaps & (is_ragged | is_unlikely)
    found = doubtful & is_ragged & is_unlikely
    for begin, after in stretches(overlaps):
        share = float(doubtful[begin:after].mean())
        found[begin:after] |= after - begin >= p.in_a_row and share >= p.doubtful_share
    return rows[held[found]], overlap_s[found]


def _rubs(
    part: PlayedPart, notes: Notes, ends: NoteEnds, overlaps: NDArray[np.bool_], p: ReleaseRunsOn
) -> NDArray[np.bool_]:
    """Overlapping joins whose two notes lie a second apart or that no hand holds together."""
    held, later = notes.pitch[ends.first_note[:-1]], notes.pitch[ends.first_note[1:]]
    rubs = overlaps & (np.abs(held - later) <= p.clash_semitones)
    for row in np.flatnonzero(overlaps & ~rubs).tolist():
        pair = tuple(sorted((int(held[row]), int(later[row]))))
        rubs[row] = not chord(part.instrument, pair).is_playable
    return np.asarray(rubs, np.bool_)


def _until_struck_again(notes: Notes) -> NDArray[np.float64]:
    """Release of each note, or the onset of its own pitch before that, s."""
    until_s = notes.release_s.copy()
    order = np.lexsort((notes.onset_s, notes.pitch))
    now, later = order[:-1], order[1:]
    again = notes.pitch[now] == notes.pitch[later]
    until_s[now[again]] = np.minimum(until_s[now[again]], notes.onset_s[later[again]])
    return until_s


def _to_next_release_s(
    release_s: NDArray[np.float64], held: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Seconds from the release of each of these notes to the nearest other release."""
    order = np.argsort(release_s, kind="stable")
    place = np.empty(len(order), np.int64)
    place[order] = np.arange(len(order))
    apart_s = np.diff(release_s[order], prepend=-np.inf, append=np.inf)
    return np.minimum(apart_s[place[held]], apart_s[place[held] + 1])


def _is_near(
    onset_s: NDArray[np.float64], release_s: NDArray[np.float64], near_s: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Whether a note begins so near each release."""
    low = np.searchsorted(onset_s, release_s - near_s - _CLOCK_S, side="left")
    high = np.searchsorted(onset_s, release_s + near_s + _CLOCK_S, side="right")
    within: NDArray[np.bool_] = high > low
    return within
