"""The movement that decides how fast a passage goes, in words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.bottleneck import returns_along
from mockcheck.infer.search import Search
from mockcheck.model.played import PlayedPart
from mockcheck.playing.motion import bow_seconds, left_hand_seconds

_BOW_WORDS = {"slurred": "the slur", "separate": "the bow change", "repeated": "the bow change"}


@dataclass(frozen=True)
class Binding:
    """What decides, in words, and the time of a soloist that it needs and has, s."""

    words: str
    needed_s: float
    available_s: float


def binding_movement(
    part: PlayedPart,
    search: Search,
    gap_s: NDArray[np.float64],
    path: NDArray[np.int64],
    move: int,
) -> Binding:
    """What a movement is, how far it goes and from where to where.

    Parameters
    ----------
    part
        Names the pitches.
    search, gap_s, path
        A short line, the time each of its movements has (s), and its fingering.
    move
        The movement in question, from 0; where it only binds together with the one before, both
        are told.
    """
    before, after = search.placements_of(move), search.placements_of(move + 1)
    rows = int(path[move]), int(path[move + 1])
    hand_s = float(left_hand_seconds(before, after, search.times, search.effort)[rows])
    stroke = search.line.strokes[move + 1]
    bow_s = float(bow_seconds(before, after, search.times, search.effort, stroke)[rows])
    if move > 0:
        finger_s, both_s = returns_along(search, path[move - 1 : move + 2], move - 1)
        together_s = float(gap_s[move - 1] + gap_s[move])
        if both_s / together_s > max(hand_s, bow_s) / gap_s[move] * (1 + 1e-9):
            what = "the bow" if both_s > finger_s else "the finger"
            way = _names(part, search, (move - 1, move, move + 1))
            words = f"{what} that has to come back, from {way[0]} over {way[1]} to {way[2]}"
            return Binding(words, both_s, together_s)
    names = _names(part, search, (move, move + 1))
    between = f"from {names[0]} to {names[1]}"
    distance_mm = abs(float(after.hand_mm[rows[1]] - before.hand_mm[rows[0]]))
    if bow_s > hand_s:
        words = f"{_BOW_WORDS[stroke]} {between}"
    elif distance_mm > 0.5:
        words = f"a shift of {distance_mm:.0f} mm {between}"
    else:
        words = f"the fingers {between}"
    return Binding(words, max(hand_s, bow_s), float(gap_s[move]))


def _names(part: PlayedPart, search: Search, events: tuple[int, ...]) -> list[str]:
    return [
        "+".join(part.pitch_name(pitch) for pitch in search.line.events[event]) for event in events
    ]
