"""What one player of a part reads: its onsets as events for one hand and one bow."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby, pairwise

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.search import Line
from mockcheck.infer.stroke_certainty import HEARD_AT_MOST
from mockcheck.model.played import ARTICULATIONS, PlayedPart
from mockcheck.playing.chords import chord
from mockcheck.playing.fingerboard import Fingerboard, fingerboard
from mockcheck.playing.hand import Hand, hand_for
from mockcheck.playing.harmonics import harmonics
from mockcheck.playing.placements import placements
from mockcheck.playing.transitions import Pitches

_TREMOLO_NOTES = 5
"""So many equal notes in a row are a tremolo, whose rate is judged by itself."""
_JOINED_S = 0.03
"""Where one slur follows the other so closely the bow changes without a stroke of its own."""
_SURE = 0.7
"""Of a stroke less sure than this players would choose the easier one, and of detache that is only
heard; short notes that are heard so surely are meant short."""


@dataclass(frozen=True)
class PlayerLine:
    """A line for the search, and where its events are in the part.

    Parameters
    ----------
    loose_strokes
        The strokes of the line, slurred where the bowing is only a guess.
    row
        Row in the part's sonorities of each event, shape (n,).
    notes
        Note indices of each event, same order as its pitches.
    """

    board: Fingerboard
    hand: Hand
    line: Line
    loose_strokes: list[str]
    row: NDArray[np.int64]
    notes: list[tuple[int, ...]]


def player_line(part: PlayedPart) -> PlayerLine | None:
    """The line one player has to manage; None where the part has no strings or no notes.

    A harmonic is where the hand stops or touches it. A chord that no hand holds is divided anyway:
    the line goes on with its top note. Notes out of range are left out. Of a trill only its first
    note counts: the fingers do the rest.
    """
    if part.instrument.is_ensemble or not len(part.notes):
        return None
    board = fingerboard(part.instrument)
    hand = hand_for(board.string_length_mm)
    rows, members, events = [], [], []
    in_trill = part.articulation.is_any("trill")
    is_harmonic = part.articulation.word == ARTICULATIONS.index("harmonic")
    was_trill = False
    for row in np.flatnonzero(part.sonorities.struck > 0).tolist():
        notes = part.sonorities.notes_at(row)
        is_trill = bool(in_trill[notes].any())
        if is_trill and was_trill:
            continue
        was_trill = is_trill
        is_touched = bool(is_harmonic[notes[0]])
        chosen = _playable(part, board, hand, notes, is_harmonic=is_touched)
        if chosen is not None:
            rows.append(row)
            members.append(chosen[0])
            events.append(chosen[1])
    if not events:
        return None
    strokes = _strokes(part, members, events)
    line = Line(events, _onsets(part, members), strokes)
    loose = _loosened(part, members, strokes)
    return PlayerLine(board, hand, line, loose, np.array(rows, np.int64), members)


def _playable(
    part: PlayedPart,
    board: Fingerboard,
    hand: Hand,
    notes: NDArray[np.int64],
    *,
    is_harmonic: bool,
) -> tuple[tuple[int, ...], Pitches] | None:
    by_pitch = {int(part.notes.pitch[note]): int(note) for note in notes}
    pitches = tuple(sorted(by_pitch))
    if len(pitches) == 1 and is_harmonic:
        # The hand goes where the harmonic is stopped, or touched, not where it sounds.
        ways = harmonics(part.instrument, pitches[0])
        places = [way.stopped_pitch or way.touched_pitch for way in ways[:1]]
        return ((by_pitch[pitches[0]],), tuple(places)) if places else None
    is_held = len(pitches) == 1 or (
        len(pitches) <= len(board.open_strings) and chord(part.instrument, pitches).is_playable
    )
    if is_held and len(placements(board, hand, pitches)):
        return tuple(by_pitch[pitch] for pitch in pitches), pitches
    newest = part.notes.onset_s[notes].max()
    struck = {int(part.notes.pitch[n]) for n in notes if newest - part.notes.onset_s[n] < 0.036}
    for pitch in sorted(struck, reverse=True):
        if len(placements(board, hand, (pitch,))):
            return (by_pitch[pitch],), (pitch,)
    return None


def _onsets(part: PlayedPart, members: list[tuple[int, ...]]) -> NDArray[np.float64]:
    """When each event begins: its last note, since held notes began before."""
    last = np.array([max(notes, key=lambda n: part.notes.onset_s[n]) for notes in members])
    return np.maximum.accumulate(part.notes.onset_s[last])


def _strokes(part: PlayedPart, members: list[tuple[int, ...]], events: list[Pitches]) -> list[str]:
    """The bow into each event: under the same slur, or a new stroke."""
    notes = part.notes
    newest = [max(own, key=lambda note: notes.onset_s[note]) for own in members]
    slur = np.full(len(notes), -1) if part.slur is None else part.slur
    plucked = part.articulation.is_any("pizzicato")
    strokes = ["separate"]
    for before, after in pairwise(newest):
        gap_s = notes.onset_s[after] - notes.release_s[before]
        is_next_bow = slur[after] >= 0 and slur[before] >= 0 and gap_s <= _JOINED_S
        is_slurred = (slur[after] >= 0 and slur[after] == slur[before]) or (
            is_next_bow and part.track[after] == part.track[before]
        )
        is_free = plucked[after] and plucked[before]
        strokes.append("free" if is_free else "slurred" if is_slurred else "separate")
    turns = _times_played(events)
    for place in range(1, len(events)):
        # Repeated notes ask nothing of the hand, and long repetitions have a check of their own;
        # beside a short one the arm goes on at the rate of a tremolo.
        beside = max(turns[place - 1], turns[place])
        if events[place] == events[place - 1] or beside >= _TREMOLO_NOTES:
            strokes[place] = "free"
        elif strokes[place] == "separate" and beside > 1:
            strokes[place] = "repeated"
    return strokes


def _times_played(events: list[Pitches]) -> list[int]:
    """How often each event is played in a row, for each of those onsets."""
    times: list[int] = []
    for _, same in groupby(events):
        count = len(list(same))
        times += [count] * count
    return times


def _loosened(part: PlayedPart, members: list[tuple[int, ...]], strokes: list[str]) -> list[str]:
    """The strokes as players would ease them where the file leaves them open: under a slur."""
    confidence = part.articulation.confidence
    is_sure = (confidence >= _SURE) & ~part.articulation.is_any("detache")
    is_sure |= confidence > HEARD_AT_MOST
    loose = ["separate"]
    for (before, after), stroke in zip(pairwise(members), strokes[1:], strict=True):
        sure = is_sure[before[0]] and is_sure[after[0]]
        loose.append(stroke if sure or stroke == "free" else "slurred")
    return loose
