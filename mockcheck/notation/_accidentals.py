"""What stands in front of the heads of a part: an accidental holds for its bar, line and octave.

A head that returns to the key in the bar after, or in another octave of the same bar, gets its sign
as a reminder (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from mockcheck.model.notated import NotatedEvent, NotatedHead
from mockcheck.model.spelled import accidentals_of, signature_alterations, staff_steps

Voices = list[list[NotatedEvent]]
_STEPS = 7


@lru_cache(maxsize=1024)
def staff_step(pitch: int, fifths: int) -> int:
    """Staff step of one note; middle C stands on 35."""
    return int(staff_steps(np.array([pitch]), np.array([fifths]))[0])


@lru_cache(maxsize=64)
def alteration(fifths: int) -> int:
    """Sharps, or flats below 0, of one place on the line of fifths."""
    return int(accidentals_of(np.array([fifths]))[0])


@lru_cache(maxsize=1024)
def key_alteration(step: int, key_fifths: int) -> int:
    """What a signature puts in front of a staff step."""
    return int(signature_alterations(np.array([key_fifths]), np.array([step]))[0])


def with_accidentals(bars: Sequence[Voices], keys: Sequence[int]) -> list[Voices]:
    """Events of each bar and voice with the accidentals that are printed; one key for each bar."""
    before: dict[int, int] = {}
    found: list[Voices] = []
    for voices, key in zip(bars, keys, strict=True):
        bar = _Bar(key, before)
        order = sorted(
            (event.start, not event.is_grace, row, place)
            for row, events in enumerate(voices)
            for place, event in enumerate(events)
            if event.heads
        )
        changed = [list(events) for events in voices]
        for _, _, row, place in order:
            event = changed[row][place]
            changed[row][place] = replace(event, heads=tuple(bar.sign(h) for h in event.heads))
        found.append(changed)
        before = bar.left_altered()
    return found


class _Bar:
    """Accidentals in force in one bar, by staff step."""

    def __init__(self, key: int, before: dict[int, int]) -> None:
        self.key = key
        self.before = before
        self.in_force: dict[int, int] = {}
        self.letters: dict[int, set[int]] = {}

    def sign(self, head: NotatedHead) -> NotatedHead:
        """A head with what is printed in front of it."""
        if head.is_tied_from:
            return head
        step, wanted = staff_step(head.pitch, head.fifths), alteration(head.fifths)
        usual = key_alteration(step, self.key)
        in_force = self.in_force.get(step, usual)
        others = self.letters.setdefault(step % _STEPS, set())
        is_new = step not in self.in_force
        self.in_force[step] = wanted
        others.add(wanted)
        if wanted != in_force:
            return replace(head, accidental=wanted)
        reminds = is_new and (self.before.get(step, wanted) != wanted or len(others) > 1)
        return replace(head, accidental=wanted, is_cautionary=True) if reminds else head

    def left_altered(self) -> dict[int, int]:
        """Steps that end the bar otherwise than its key says."""
        return {
            step: value
            for step, value in self.in_force.items()
            if value != key_alteration(step, self.key)
        }
