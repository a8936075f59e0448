"""Notes that want an accidental as a reminder, where the rule of the bar line asks for none."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.printed_signs import PrintedSigns, printed_signs
from mockcheck.model.played import PlayedPart

_LETTERS = 7


def cautionary(part: PlayedPart) -> NDArray[np.bool_]:
    """A player carries an accidental on in the ear beyond the bar line, and into other octaves.

    Parameters
    ----------
    part
        A part with its spelling.

    Returns
    -------
    Shape (n,). True for a note that needs no accidental by rule but wants one as a reminder: the
    same letter was altered in the bar before, or last stood otherwise in the same bar in another
    octave. Once for each line or space in a bar. All False where there are no bars or no spelling.

    Source: common practice of engravers and readers, no one source.
    Not modelled: a wrong sign in another part at the same moment, accidentals two bars or more
    back, and ties that carry an accidental over the bar line, whose end is no new note here.
    """
    signs = printed_signs(part)
    reminded = np.zeros(len(part.notes), np.bool_)
    if signs is None:
        return reminded
    order = np.lexsort((np.arange(len(reminded)), signs.bar_index))
    bars = signs.bar_index[order]
    before = _Bar()
    for rows in np.split(order, np.flatnonzero(np.diff(bars)) + 1) if len(order) else []:
        bar = _Bar(int(signs.bar_index[rows[0]]))
        for row in rows.tolist():
            reminded[row] = bar.take(signs, row, before if bar.follows(before) else _Bar())
        before = bar
    return reminded


class _Bar:
    """What stood in a bar so far: the last alteration on each letter, and what was foreign."""

    def __init__(self, index: int = -2) -> None:
        self._index = index
        self._on_letter: dict[int, int] = {}
        self._steps: set[int] = set()
        self._reminded: set[int] = set()
        self._foreign: dict[int, bool] = {}
        self._foreign_letter: dict[int, bool] = {}

    def follows(self, other: _Bar) -> bool:
        """Whether this is the bar after the other."""
        return self._index == other._index + 1

    def take(self, signs: PrintedSigns, row: int, before: _Bar) -> bool:
        """Read one more note, and say whether it wants a reminder."""
        step, alteration = int(signs.step[row]), int(signs.alteration[row])
        letter = step % _LETTERS
        is_wanted = not signs.is_printed[row] and (
            self._on_letter.get(letter, alteration) != alteration
            or (step not in self._steps and self._is_altered(before, step))
        )
        is_wanted &= step not in self._reminded
        if is_wanted:
            self._reminded.add(step)
        self._steps.add(step)
        self._on_letter[letter] = alteration
        self._foreign[step] = self._foreign_letter[letter] = bool(signs.is_foreign[row])
        return bool(is_wanted)

    def _is_altered(self, before: _Bar, step: int) -> bool:
        """The same line or space last was altered in the bar before, or only its letter was."""
        letter = step % _LETTERS
        if step in before._foreign:
            return before._foreign[step]
        return letter not in self._on_letter and before._foreign_letter.get(letter, False)
