"""Which rows are the same players, and what their part is called."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.instruments import vocabulary
from mockcheck.model.notes import Notes
from mockcheck.read.track_names import TrackName

_MOST_OVERLAP_OF_ONE_LINE = 0.2
"""Share of the shorter row's sounding time; release tails stay below (our choice)."""
_DOUBLED_SHARE = 0.8
_DOUBLED_WITHIN_S = 0.06
_KEY_SPACING_S = 1e6
_LETTERS = "abcdefghijklmnopqrstuvwxyz"


@dataclass(frozen=True)
class Seat:
    """One row that is played, before its part has a name.

    Parameters
    ----------
    timeline
        Rows of different time lines (format 2) are never one part.
    fixed_part
        The part's name where the brief gives it.
    """

    instrument: str
    name: TrackName
    is_solo: bool
    notes: Notes
    timeline: int = 0
    fixed_part: str | None = None

    @property
    def part(self) -> str:
        """The name if no other row competes for it: 'Solo Violin', 'Violin 1 a'."""
        if self.fixed_part is not None:
            return self.fixed_part
        words = [
            "Solo" if self.is_solo else "",
            vocabulary().namings[self.instrument].part,
            str(self.name.section or ""),
            self.name.desk,
        ]
        return " ".join(word for word in words if word)


def name_parts(seats: Mapping[int, Seat]) -> dict[int, str]:
    """Rows of one name are one part, unless two lines go on at once.

    Tracks that differ in stroke only ('Vln 1 leg', 'Vln 1 spicc') are the same players. Tracks
    of one name and one stroke that sound together are two lines, unless one doubles the other:
    they are numbered from the highest down, or lettered where the section already has a number.

    Parameters
    ----------
    seats
        Rows that are played, by row number.

    Returns
    -------
    The part of each row. Source: common practice, no source.
    """
    parts = {row: seat.part for row, seat in seats.items()}
    taken = set(parts.values())
    groups: dict[str, list[int]] = defaultdict(list)
    for row, seat in seats.items():
        if seat.fixed_part is None:
            groups[seat.part].append(row)
    for part, rows in groups.items():
        line_of_row = _lines([seats[row] for row in rows])
        count = max(line_of_row) + 1
        if count > 1:
            first = seats[rows[0]]
            names = _line_names(part, count, bool(first.name.section), taken)
            taken |= set(names)
            parts |= {row: names[line] for row, line in zip(rows, line_of_row, strict=True)}
    return parts


def _line_names(part: str, count: int, is_numbered: bool, taken: set[str]) -> list[str]:
    marks = _LETTERS if is_numbered else [str(number) for number in range(1, count + 100)]
    free = [name for mark in marks if (name := f"{part} {mark}") not in taken]
    return free[:count] if len(free) >= count else [f"{part} {n + 1}" for n in range(count)]


def _lines(seats: Sequence[Seat]) -> list[int]:
    """The line, from 0, of each row: highest first, in each way of playing by itself."""
    if len({seat.timeline for seat in seats}) > 1:
        return list(range(len(seats)))
    line_of_seat = [0] * len(seats)
    ways: dict[str, list[int]] = defaultdict(list)
    for place, seat in enumerate(seats):
        # 'Pizz' alone does not say that it is the same players as on the next track.
        ways[seat.name.manner if seat.name.instrument else ""].append(place)
    for places in ways.values():
        if len(places) > 1:
            for line, members in enumerate(_lines_of_one_way(seats, places)):
                for place in members:
                    line_of_seat[place] = line
    return line_of_seat


def _lines_of_one_way(seats: Sequence[Seat], places: list[int]) -> list[list[int]]:
    if all(len(np.unique(seats[place].notes.pitch)) == 1 for place in places):
        # A transcription with a track for each pitch is one player's.
        return [places]
    lines: list[list[int]] = []
    for place in sorted(places, key=lambda p: (-float(np.median(seats[p].notes.pitch)), p)):
        for line in lines:
            if all(_is_one_line(seats[place].notes, seats[other].notes) for other in line):
                line.append(place)
                break
        else:
            lines.append([place])
    return lines


def _is_one_line(one: Notes, other: Notes) -> bool:
    return _overlap(one, other) <= _MOST_OVERLAP_OF_ONE_LINE or _is_doubling(one, other)


def _overlap(one: Notes, other: Notes) -> float:
    """Time in which both sound, as a share of the sounding time of the shorter, 0-1."""
    spans = [(notes.onset_s, notes.release_s) for notes in (one, other)]
    lengths = [_covered_s(onset_s, release_s) for onset_s, release_s in spans]
    both = _covered_s(
        np.concatenate([onset_s for onset_s, _ in spans]),
        np.concatenate([release_s for _, release_s in spans]),
    )
    return (sum(lengths) - both) / min(lengths) if min(lengths) > 0 else 0.0


def _covered_s(onset_s: NDArray[np.float64], release_s: NDArray[np.float64]) -> float:
    """Time in which any of the notes sounds, s."""
    order = np.argsort(onset_s, kind="stable")
    onset_s, release_s = onset_s[order], release_s[order]
    covered_until = np.concatenate([onset_s[:1], np.maximum.accumulate(release_s)[:-1]])
    return float(np.maximum(release_s - np.maximum(onset_s, covered_until), 0.0).sum())


def _is_doubling(one: Notes, other: Notes) -> bool:
    """True when nearly every note of the shorter row is in the other too, at the same moment."""
    few, many = sorted((one, other), key=len)
    # One key per note: pitches stand so far apart that only notes of one pitch come near.
    keys = np.sort(many.pitch * _KEY_SPACING_S + many.onset_s)
    wanted = few.pitch * _KEY_SPACING_S + few.onset_s
    after = np.searchsorted(keys, wanted)
    near = np.minimum(
        np.abs(keys[np.minimum(after, len(keys) - 1)] - wanted),
        np.abs(keys[np.maximum(after - 1, 0)] - wanted),
    )
    return float(np.mean(near <= _DOUBLED_WITHIN_S)) >= _DOUBLED_SHARE
