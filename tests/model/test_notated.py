from fractions import Fraction

from mockcheck.model.notated import (
    Clef,
    NotatedBar,
    NotatedEvent,
    NotatedHead,
    NotatedPart,
    NotatedVoice,
)

QUARTER = Fraction(1)


def test_an_event_without_heads_is_a_rest() -> None:
    assert NotatedEvent(Fraction(0), QUARTER, "quarter").is_rest
    heads = (NotatedHead(60, 0, (3,)), NotatedHead(64, 4, (4, 7)))
    chord = NotatedEvent(Fraction(0), QUARTER, "quarter", heads=heads)
    assert not chord.is_rest
    assert chord.note_indices == (3, 4, 7)


def test_events_come_with_their_bar_and_voice() -> None:
    rest = NotatedEvent(Fraction(0), QUARTER, "quarter")
    voices = (NotatedVoice(1, (rest, rest)), NotatedVoice(2, (rest,)))
    bar = NotatedBar(1, QUARTER, False, (1, 4), 0, None, None, False, voices)
    part = NotatedPart("Violin", "violin", 0, (bar,))
    assert [(b.number, v.number) for b, v, _ in part.events()] == [(1, 1), (1, 1), (1, 2)]


def test_a_staff_has_five_lines() -> None:
    # E4 to F5 in the treble clef.
    assert Clef("treble", "G", 2, 37).top == 45
