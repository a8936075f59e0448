"""Who owns the bend when: the stretches of time in which one note claims the wheel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.onsets import first_rows, group_onsets
from mockcheck.model.curves import Curve
from mockcheck.model.notes import Notes
from mockcheck.params import Params, quantity


class JoinParams(Params):
    """When one note leads on to the next."""

    join_s: float = quantity(
        0.12, unit="s", low=0.02, high=0.5, meaning="notes with a longer gap are not joined"
    )
    join_share: float = quantity(
        0.15,
        unit="share of the time from onset to onset",
        low=0,
        high=0.5,
        meaning="unless the gap is a smaller share than this: notes drawn a little short",
    )


JOIN = JoinParams()
_CLOCK_S = 1e-6


@dataclass(frozen=True)
class Spans:
    """Stretches of time in which one note owns the bend of its channel; arrays of shape (n,).

    In order of onset. `note` is a row of the notes, the top one of its onset and channel; `group`
    numbers the onsets of all channels. `until_s` is where the claim ends (the next note of the
    channel, or the release) and `release_s` where the sound ends.
    """

    note: NDArray[np.int64]
    channel: NDArray[np.int64]
    group: NDArray[np.int64]
    pitch: NDArray[np.float64]
    begin_s: NDArray[np.float64]
    until_s: NDArray[np.float64]
    release_s: NDArray[np.float64]

    def __len__(self) -> int:
        return len(self.note)


def is_joined(
    onset_s: NDArray[np.float64], release_s: NDArray[np.float64], next_s: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Whether a note leads on to the next onset without a rest."""
    with np.errstate(invalid="ignore"):
        allowed = np.maximum(JOIN.join_s, JOIN.join_share * (next_s - onset_s))
    return np.isfinite(next_s) & (next_s - release_s <= allowed)


def note_spans(notes: Notes, channels: Sequence[int]) -> Spans:
    """Who owns the bend of each channel when.

    Parameters
    ----------
    notes
        The music of one review row, in time order.
    channels
        The row's channels, 1-16.
    """
    group = group_onsets(notes.onset_s, notes.release_s)
    rows = [np.flatnonzero(notes.channel == channel) for channel in channels]
    parts = [_channel_spans(notes, own, group) for own in rows if len(own)]
    if not parts:
        none, never = np.zeros(0, np.int64), np.zeros(0)
        return Spans(none, none, none, never, never, never, never)
    columns = [np.concatenate(column) for column in zip(*parts, strict=True)]
    order = np.lexsort((columns[0], columns[4]))
    return Spans(*(column[order] for column in columns))


def _channel_spans(
    notes: Notes, rows: NDArray[np.int64], group: NDArray[np.int64]
) -> tuple[NDArray[np.generic], ...]:
    first = first_rows(group_onsets(notes.onset_s[rows], notes.release_s[rows]))
    tops = rows[np.append(first[1:], len(rows)) - 1]
    begin_s = notes.onset_s[rows[first]]
    release_s = np.maximum.reduceat(notes.release_s[rows], first)
    next_s = np.append(begin_s[1:], np.inf)
    # A bend that goes on through a small gap leads on to the next note.
    until_s = np.where(is_joined(begin_s, release_s, next_s), next_s, release_s)
    return (
        tops,
        notes.channel[tops].astype(np.int64),
        group[tops],
        notes.pitch[tops].astype(np.float64),
        begin_s,
        until_s,
        np.minimum(release_s, until_s),
    )


def next_spans(spans: Spans) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of spans of which the second begins with the onset after the first, without a rest."""
    by_group = np.argsort(spans.group, kind="stable")
    first = np.searchsorted(spans.group[by_group], spans.group + 1, side="left")
    after = np.searchsorted(spans.group[by_group], spans.group + 1, side="right")
    counts = after - first
    left = np.repeat(np.arange(len(spans)), counts)
    within = np.arange(int(counts.sum())) - np.repeat(np.cumsum(counts) - counts, counts)
    right = by_group[np.repeat(first, counts) + within]
    joined = is_joined(spans.begin_s[left], spans.release_s[left], spans.begin_s[right])
    return left[joined], right[joined]


def values_at(
    spans: Spans,
    bends: Mapping[int, Curve],
    rows: NDArray[np.int64],
    at_s: NDArray[np.float64],
    *,
    side: str,
) -> NDArray[np.float64]:
    """Bend of each span's channel at a second; a value sent then counts on the right side only."""
    found = np.zeros(len(rows))
    shift = -_CLOCK_S if side == "left" else _CLOCK_S
    for channel, bend in bends.items():
        own = spans.channel[rows] == channel
        found[own] = bend.value_at(at_s[own] + shift)
    return found
