"""What stands in front of the heads of a part: an accidental holds for its bar, line and octave.

A player carries a sign on in the ear beyond the bar line and into other octaves, so a head gets its
sign as a reminder where its letter was altered in the bar before, or last stood otherwise in the
same bar in another octave; once for each line or space in a bar (common practice of engravers).
Not modelled: another sign in another part at the same moment; accidentals two bars or more back.
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
    before = _Bar(0, None)
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
        before = bar
    return found


class _Bar:
    """Accidentals in force in one bar, and what a reader of the bar before still has in the ear."""

    def __init__(self, key: int, before: _Bar | None) -> None:
        self.key = key
        self.in_force: dict[int, int] = {}
        self.on_letter: dict[int, int] = {}
        self._reminded: set[int] = set()
        self._in_ear = before.left_altered(before.in_force) if before else {}
        self._letter_in_ear = before.left_altered(before.on_letter) if before else {}

    def sign(self, head: NotatedHead) -> NotatedHead:
        """A head with what is printed in front of it."""
        if head.is_tied_from:
            return head
        step, wanted = staff_step(head.pitch, head.fifths), alteration(head.fifths)
        in_force = self.in_force.get(step, key_alteration(step, self.key))
        reminds = step not in self._reminded and self._is_doubtful(step, wanted)
        self.in_force[step] = self.on_letter[step % _STEPS] = wanted
        if wanted != in_force:
            return replace(head, accidental=wanted)
        if reminds:
            self._reminded.add(step)
            return replace(head, accidental=wanted, is_cautionary=True)
        return head

    def left_altered(self, stood: dict[int, int]) -> dict[int, int | None]:
        """How each step or letter ends the bar; None where it ends it as the key says."""
        return {
            place: None if value == key_alteration(place, self.key) else value
            for place, value in stood.items()
        }

    def _is_doubtful(self, step: int, wanted: int) -> bool:
        """Something else on this letter is still in the ear."""
        letter = step % _STEPS
        if self.on_letter.get(letter, wanted) != wanted:
            return True
        if step in self.in_force:
            return False
        if step in self._in_ear:
            return self._in_ear[step] not in (None, wanted)
        return letter not in self.on_letter and self._letter_in_ear.get(letter) not in (
            None,
            wanted,
        )
