"""Which key signature would suit the music, stretch by stretch, and whether the file's own does.

A sequencer often writes C major whatever is played, so a signature in the file is believed only as
long as some other one would not suit the notes under it much better. Where it is not believed, or
where there is none, the notes decide: a chain of keys in which a change must be worth its while.

Source: key profiles, C. Krumhansl (1990), here counted in published string quartets; changes of
key as a chain of probabilities, D. Temperley, The Cognition of Basic Musical Structures (2001).
Not modelled: major and minor of one signature are the same key here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.spelling import FARTHEST_FIFTHS, SAME_PLACE_QUARTERS, spelling_tables
from mockcheck.params import Params, quantity


class KeyParams(Params):
    """When a signature is believed, and how readily a key changes."""

    window_quarters: float = quantity(
        4, unit="quarter notes", low=1, high=32, meaning="the key is judged in pieces this long"
    )
    change_cost: float = quantity(
        16,
        unit="nats",
        low=0,
        high=100,
        meaning="how much better the notes of a new key must fit before it counts as a change",
        source="tried on half of the composers of open string quartets",
    )
    believed_within: float = quantity(
        0.1,
        unit="nats per note",
        low=0,
        high=2,
        meaning="a signature is not believed when another suits its notes this much better",
        source="in half of the composers of open string quartets 95 % of the printed signatures lie"
        " below 0.09",
    )
    least_notes: float = quantity(
        24,
        unit="notes",
        low=1,
        high=1000,
        meaning="fewer notes under a signature say nothing against it",
    )


KEYS = KeyParams()
_FARTHEST_KEY = 6


@dataclass(frozen=True)
class SignatureInForce:
    """One key signature of the file and what the notes under it say.

    Parameters
    ----------
    from_quarters
        Where it begins, quarter notes.
    fifths
        Its sharps, or flats below 0.
    better_fifths
        The signature that suits the notes best.
    gain
        How much better that one suits them, nats per note.
    notes
        Notes under it.
    """

    from_quarters: float
    fifths: int
    better_fifths: int
    gain: float
    notes: int

    @property
    def is_believed(self) -> bool:
        """Whether the notes allow it."""
        return self.gain < KEYS.believed_within or self.notes < KEYS.least_notes


@dataclass(frozen=True)
class KeyAreas:
    """The signature that suits each stretch of the music.

    Parameters
    ----------
    from_quarters
        Where each area begins, quarter notes, rising, shape (areas,).
    fifths
        Sharps, or flats below 0, shape (areas,).
    """

    from_quarters: NDArray[np.float64]
    fifths: NDArray[np.int64]

    def at(self, quarters: NDArray[np.float64]) -> NDArray[np.int64]:
        """The signature in force at some places, shape as `quarters`."""
        row = np.searchsorted(self.from_quarters, quarters + 1e-9, side="right") - 1
        return self.fifths[np.maximum(row, 0)]


def judge_signatures(
    quarters: NDArray[np.float64],
    pitch: NDArray[np.int64],
    signatures: Sequence[tuple[float, int]],
) -> list[SignatureInForce]:
    """What the notes say about each signature of the file.

    Parameters
    ----------
    quarters, pitch
        Onsets and MIDI pitches of all parts, rising in time, shape (n,).
    signatures
        Where each begins, quarter notes, and its sharps (flats below 0), rising.
    """
    judged = []
    ends = [begin for begin, _ in signatures[1:]] + [np.inf]
    for (begin, fifths), end in zip(signatures, ends, strict=True):
        rows = slice(*np.searchsorted(quarters, [begin - 1e-9, end - 1e-9]))
        counts = np.bincount(pitch[rows] % 12, minlength=12)
        notes = int(counts.sum())
        fit = counts @ _fit_of_keys()
        better = _nearest_signature(int(fit.argmax()), fifths)
        gain = float(fit.max() - fit[fifths % 12]) / max(notes, 1)
        judged.append(SignatureInForce(begin, fifths, better, gain, notes))
    return judged


def find_keys(
    quarters: NDArray[np.float64],
    pitch: NDArray[np.int64],
    signatures: Sequence[SignatureInForce] = (),
) -> KeyAreas:
    """Key areas: the file's signatures where they are believed, the notes elsewhere.

    Parameters are those of `judge_signatures`, and what it says.
    """
    heard = _heard_keys(quarters, pitch)
    if not signatures:
        return heard
    begins, fifths = [heard.from_quarters[:0]], [heard.fifths[:0]]
    first = signatures[0].from_quarters
    spans: list[tuple[float, float, int | None]] = [(0.0, first, None)] if first > 0 else []
    ends = [signature.from_quarters for signature in signatures[1:]] + [np.inf]
    spans += [
        (signature.from_quarters, end, signature.fifths if signature.is_believed else None)
        for signature, end in zip(signatures, ends, strict=True)
    ]
    for begin, end, believed in spans:
        if believed is not None:
            begins.append(np.array([begin]))
            fifths.append(np.array([believed]))
            continue
        inside = (heard.from_quarters > begin) & (heard.from_quarters < end)
        begins.append(np.concatenate([[begin], heard.from_quarters[inside]]))
        fifths.append(np.concatenate([heard.at(np.array([begin])), heard.fifths[inside]]))
    return KeyAreas(np.concatenate(begins), np.concatenate(fifths))


def _fit_of_keys() -> NDArray[np.float64]:
    """Log share of each pitch class (row) in each signature (column, fifths modulo 12)."""
    share = np.zeros(12)
    above = np.arange(-FARTHEST_FIFTHS, FARTHEST_FIFTHS + 1)
    np.add.at(share, above % 12, np.exp(-spelling_tables().key))
    # Places on the line of fifths modulo 12, then as pitch classes.
    pitch_class_fifths = 7 * np.arange(12) % 12
    above_key = (pitch_class_fifths[:, None] - np.arange(12)) % 12
    fit: NDArray[np.float64] = np.log(share / share.sum())[above_key]
    return fit


def _heard_keys(quarters: NDArray[np.float64], pitch: NDArray[np.int64]) -> KeyAreas:
    """Most likely chain of keys, window by window."""
    if not len(pitch):
        return KeyAreas(np.zeros(1), np.zeros(1, np.int64))
    since = quarters - quarters[0] + SAME_PLACE_QUARTERS
    window = (since // KEYS.window_quarters).astype(np.int64)
    used, row = np.unique(window, return_inverse=True)
    counts = np.zeros((len(used), 12))
    np.add.at(counts, (row, pitch % 12), 1)
    fit = counts @ _fit_of_keys()
    path = _best_chain(fit)
    changes = np.concatenate([[0], np.flatnonzero(np.diff(path)) + 1])
    fifths, near = [], 0
    for key in path[changes].tolist():
        near = _nearest_signature(key, near)
        fifths.append(near)
    begins: NDArray[np.float64] = quarters[0] + used[changes] * KEYS.window_quarters
    begins[0] = 0.0
    return KeyAreas(begins, np.array(fifths, np.int64))


def _best_chain(fit: NDArray[np.float64]) -> NDArray[np.int64]:
    best = fit[0]
    came_from = np.zeros(fit.shape, np.int64)
    for row in range(1, len(fit)):
        leader = int(best.argmax())
        changes = best[leader] - KEYS.change_cost > best
        came_from[row] = np.where(changes, leader, np.arange(12))
        best = np.where(changes, best[leader] - KEYS.change_cost, best) + fit[row]
    path = np.empty(len(fit), np.int64)
    path[-1] = int(best.argmax())
    for row in range(len(fit) - 1, 0, -1):
        path[row - 1] = came_from[row, path[row]]
    return path


def _nearest_signature(key: int, near: int) -> int:
    """The signature of a key (fifths modulo 12) nearest to one before; no more than six signs."""
    ways = [fifths for fifths in (key - 12, key) if abs(fifths) <= _FARTHEST_KEY]
    return min(ways, key=lambda fifths: (abs(fifths - near), abs(fifths)))
