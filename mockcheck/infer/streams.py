"""Which tracks of a part take turns: together they are one line, apart they are several."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.notes import Notes
from mockcheck.params import Params, quantity


class StreamParams(Params):
    """When two tracks of a part are one line spread over both."""

    longest_join_s: float = quantity(
        0.4,
        unit="s",
        low=0,
        high=1,
        meaning="an overlap up to this long only connects two notes of a line",
        source="the longest overlap that triggers a legato transition; common practice, no source",
    )
    join_share: float = quantity(
        0.25,
        unit="share of a stretch of sound",
        low=0,
        high=0.5,
        meaning="and up to this share of it",
    )
    most_together: float = quantity(
        0.15,
        unit="share of the sounding time",
        low=0,
        high=0.5,
        meaning="tracks that sound together for more are lines of their own: divided players, or"
        " layers of one sound",
    )


STREAMS = StreamParams()
Spans = NDArray[np.float64]
"""Begin and end of stretches of sound, s, in order of time, none overlapping, shape (k, 2)."""


def find_streams(notes: Notes, track: NDArray[np.int64]) -> NDArray[np.int64]:
    """A line spread over tracks, by stroke or by pitch, is still one line for its player.

    Parameters
    ----------
    notes
        Notes of one part, in time order, shape (n,).
    track
        The track each is from, shape (n,).

    Returns
    -------
    Number of the line each note belongs to, from 0, shape (n,). A track joins the first line it
    takes turns with; tracks that sound together stay apart.

    Source: one track for each articulation is common practice, no source.
    Not modelled: two lines that change tracks with each other.
    """
    stream = np.zeros(len(notes), np.int64)
    lines: list[Spans] = []
    rows, first = np.unique(track, return_index=True)
    # By their first notes, so that the order of the tracks in the file does not matter.
    for row in rows[np.argsort(first, kind="stable")]:
        own = track == row
        spans = _sounding(notes.onset_s[own], notes.release_s[own])
        number = next((k for k, line in enumerate(lines) if _take_turns(spans, line)), len(lines))
        if number == len(lines):
            lines.append(spans)
        else:
            both = np.concatenate([lines[number], spans])
            lines[number] = _sounding(both[:, 0], both[:, 1], 0.0)
        stream[own] = number
    return stream


def _sounding(
    begin_s: NDArray[np.float64],
    end_s: NDArray[np.float64],
    join_s: float = STREAMS.longest_join_s,
) -> Spans:
    """When a track sounds; the end of a stretch that may be a join is left out."""
    order = np.argsort(begin_s, kind="stable")
    begin_s, end_s = begin_s[order], np.maximum.accumulate(end_s[order])
    is_first = np.append(True, begin_s[1:] > end_s[:-1])
    first = np.flatnonzero(is_first)
    last = np.append(first[1:], len(begin_s)) - 1
    lengths_s = end_s[last] - begin_s[first]
    ends = end_s[last] - np.minimum(join_s, STREAMS.join_share * lengths_s)
    return np.stack([begin_s[first], ends if join_s else end_s[last]], axis=1)


def _take_turns(one: Spans, two: Spans) -> bool:
    together_s = _covered(two, one[:, 1]) - _covered(two, one[:, 0])
    shorter_s = min(float((spans[:, 1] - spans[:, 0]).sum()) for spans in (one, two))
    return float(together_s.sum()) <= STREAMS.most_together * shorter_s


def _covered(spans: Spans, until_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """How much of the time up to each second the stretches cover."""
    lengths_s = spans[:, 1] - spans[:, 0]
    before_s = np.append(0.0, np.cumsum(lengths_s))
    place = np.searchsorted(spans[:, 0], until_s, side="right")
    inside_s = until_s - np.append(spans[:, 0], 0.0)[place - 1]
    latest_s = np.minimum(np.append(lengths_s, 0.0)[place - 1], inside_s)
    covered: NDArray[np.float64] = np.where(place > 0, before_s[place - 1] + latest_s, 0.0)
    return covered
