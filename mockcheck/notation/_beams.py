"""Beams: one for each beat, broken by rests (common practice, no source)."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from mockcheck.model.notated import NotatedEvent
from mockcheck.notation.values import VALUE_NAMES, BarShape

_FLAGS = {
    name: (Fraction(1) / value).numerator.bit_length() - 1
    for value, name in VALUE_NAMES.items()
    if value < 1
}
"""Flags of each note value, one for an eighth."""


def with_beams(events: list[NotatedEvent], shape: BarShape) -> list[NotatedEvent]:
    """The events of one voice of a bar with their beams; grace notes end a beam."""
    found: list[NotatedEvent] = []
    group: list[NotatedEvent] = []
    for event in events:
        is_flagged = not event.is_rest and event.value in _FLAGS
        same_beat = bool(group) and event.start // shape.beat == group[0].start // shape.beat
        if not (is_flagged and same_beat):
            found += _beam(group)
            group = []
        if event.is_grace or not is_flagged:
            found.append(event)
        else:
            group.append(event)
    return found + _beam(group)


def _beam(group: list[NotatedEvent]) -> list[NotatedEvent]:
    if len(group) < 2:
        return group
    flags = [0, *(_FLAGS[event.value] for event in group), 0]
    return [
        replace(
            event,
            beams=tuple(
                _word(level, flags[row - 1], flags[row + 1], is_first=row == 1)
                for level in range(1, flags[row] + 1)
            ),
        )
        for row, event in enumerate(group, start=1)
    ]


def _word(level: int, before: int, after: int, *, is_first: bool) -> str:
    if before >= level:
        return "continue" if after >= level else "end"
    if after >= level:
        return "begin"
    return "forward hook" if is_first else "backward hook"
