"""Strokes come in passages: the chance of each stroke at each onset, given all others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Table = NDArray[np.float64]


@dataclass(frozen=True)
class Changes:
    """How strokes follow each other.

    Parameters
    ----------
    first
        Chance of each of K strokes at the first onset, shape (K,).
    running, after_rest
        Chance of going from one stroke (row) to another (column), within a phrase and where the
        bow was lifted before, shape (K, K).
    """

    first: Table
    running: Table
    after_rest: Table


def chances_in_passages(signs: Table, changes: Changes, is_after_rest: NDArray[np.bool_]) -> Table:
    """A single odd note does not change the stroke; a passage of odd notes does.

    Parameters
    ----------
    signs
        Log-likelihood of each stroke at each onset, nats, shape (m, K).
    changes
        What a change of stroke costs.
    is_after_rest
        Where it costs what it does after a rest, shape (m,).

    Returns
    -------
    Chance of each stroke at each onset, every row adding up to 1, shape (m, K): the posterior of a
    hidden Markov chain by the forward-backward recursion (Rabiner, A tutorial on hidden Markov
    models, 1989).

    Not modelled: how long a passage in one stroke usually lasts, beyond the chance of a change.
    """
    if not len(signs):
        return np.empty(signs.shape)
    weight = np.exp(signs - signs.max(axis=1, keepdims=True))
    is_rest = is_after_rest[1:]
    ahead = _run(changes.first * weight[0], weight[1:], is_rest, changes, is_backward=False)
    last = np.ones(signs.shape[1])
    behind = _run(last, weight[:0:-1], is_rest[::-1], changes, is_backward=True)[::-1]
    chances: Table = ahead * behind
    chances /= chances.sum(axis=1, keepdims=True)
    return chances


def _run(
    start: Table, weight: Table, is_rest: NDArray[np.bool_], changes: Changes, *, is_backward: bool
) -> Table:
    """The recursion from its start, each vector scaled to add up to 1, shape (m, K).

    Long lines are cut into blocks that advance side by side: first as matrices, which carry any
    start through a block, then as vectors from the starts so found. The cost stays linear and the
    loops short.
    """
    count, strokes = weight.shape
    length = max(int(np.ceil(np.sqrt(count))), 1)
    blocks = -(-count // length)
    # Behind the end nothing is weighed; what comes out there is cut off again.
    weights = np.ones((blocks * length, strokes))
    weights[:count] = weight
    weights = weights.reshape(blocks, length, strokes)
    rests = np.zeros(blocks * length)
    rests[:count] = is_rest
    rests = rests.reshape(blocks, length)
    running, after_rest = changes.running, changes.after_rest
    if is_backward:
        running, after_rest = running.T, after_rest.T

    def step(vectors: Table, place: int) -> Table:
        own = weights[:, place, None, :]
        if is_backward:
            vectors = vectors * own
        moved = vectors @ running
        if rests[:, place].any():
            moved += rests[:, place, None, None] * (vectors @ (after_rest - running))
        return moved if is_backward else moved * own

    through = np.tile(np.eye(strokes), (blocks, 1, 1))
    for place in range(length):
        through = step(through, place)
        through /= through.sum(axis=(1, 2), keepdims=True)
    starts = np.empty((blocks + 1, 1, strokes))
    starts[0] = start / start.sum()
    for block in range(blocks):
        after = starts[block] @ through[block]
        starts[block + 1] = after / after.sum()
    inside = np.empty((blocks, length, strokes))
    vectors = starts[:-1]
    for place in range(length):
        vectors = step(vectors, place)
        vectors /= vectors.sum(axis=2, keepdims=True)
        inside[:, place] = vectors[:, 0]
    return np.concatenate([starts[0], inside.reshape(-1, strokes)[:count]])
