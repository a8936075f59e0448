"""Clefs by phrase: the usual one, and another where the line would stand on ledger lines.

Source: viola alto and treble, cello and double bass bass, tenor and treble clef; no frequent
changes: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

from mockcheck.model.notated import Clef
from mockcheck.params import Params, quantity

TREBLE = Clef("treble", "G", 2, 37)
ALTO = Clef("alto", "C", 3, 31)
TENOR = Clef("tenor", "C", 4, 29)
BASS = Clef("bass", "F", 4, 25)
_CLEFS = {
    "violin": (TREBLE,),
    "viola": (ALTO, TREBLE),
    "cello": (BASS, TENOR, TREBLE),
    "double bass": (BASS, TENOR, TREBLE),
    "strings": (TREBLE, BASS),
}
"""The usual clef first."""


class ClefParams(Params):
    """What a change of clef has to save. Costs are ledger lines."""

    free_lines: float = quantity(
        2, unit="ledger lines", low=0, high=5, meaning="so many are read without counting"
    )
    change: float = quantity(
        12, unit="ledger lines", low=0, high=200, meaning="what a change of clef costs the eye"
    )
    change_after_rest: float = quantity(
        6, unit="ledger lines", low=0, high=200, meaning="the same where the line rests before"
    )
    unusual: float = quantity(
        0.3,
        unit="ledger lines a note",
        low=0,
        high=5,
        meaning="a note that both clefs hold stands in the usual one",
    )


CLEFS = ClefParams()


def clefs_for(instrument_id: str) -> tuple[Clef, ...]:
    """Clefs that an instrument reads, the usual one first; every double bass is a double bass."""
    family = "double bass" if instrument_id.startswith("double bass") else instrument_id
    return _CLEFS.get(family, (TREBLE, BASS))


def choose_clefs(
    instrument_id: str, steps: Sequence[Sequence[int]], is_after_rest: Sequence[bool]
) -> list[Clef]:
    """A clef for each bar: the fewest ledger lines with the fewest changes.

    Parameters
    ----------
    instrument_id
        Who reads.
    steps
        Written staff steps of the notes of each bar; middle C stands on 35.
    is_after_rest
        Whether the line rests just before each bar.

    Returns
    -------
    One clef for each bar; the shortest path over all of them.

    Not modelled: changes inside a bar, and octave signs.
    """
    clefs = clefs_for(instrument_id)
    cost = [0.0] + [CLEFS.change_after_rest] * (len(clefs) - 1)
    came_from: list[list[int]] = []
    for bar, (bar_steps, rested) in enumerate(zip(steps, is_after_rest, strict=True)):
        change = 0.0 if bar == 0 else CLEFS.change_after_rest if rested else CLEFS.change
        cheapest = min(range(len(clefs)), key=cost.__getitem__)
        best = [
            new if cost[new] <= cost[cheapest] + change else cheapest for new in range(len(clefs))
        ]
        if bar == 0:
            best = list(range(len(clefs)))
        came_from.append(best)
        cost = [
            cost[old]
            + change * (old != new)
            + sum(_reading_cost(step, clefs[new], new > 0) for step in bar_steps)
            for new, old in enumerate(best)
        ]
    here = min(range(len(clefs)), key=cost.__getitem__)
    chosen = []
    for best in reversed(came_from):
        chosen.append(clefs[here])
        here = best[here]
    return chosen[::-1]


def ledger_lines(step: int, clef: Clef) -> int:
    """Ledger lines that a note needs, above or below."""
    return max(step - clef.top, clef.bottom - step, 0) // 2


def _reading_cost(step: int, clef: Clef, is_unusual: bool) -> float:
    hard = max(ledger_lines(step, clef) - CLEFS.free_lines, 0.0)
    return hard + CLEFS.unusual * is_unusual
