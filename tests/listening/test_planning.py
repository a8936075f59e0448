from __future__ import annotations

from random import Random

import pytest

from tests.listening.clock import Clock
from tests.listening.planning import as_printed, phrases, plan
from tests.listening.printed import PrintedNote, PrintedPart, half_of
from tests.listening.truth import TrueNote

CLOCK = Clock(480, ((0, 500_000),), ((0, 4, 4),))
"""A quarter is half a second, 480 ticks."""


def part_of(*notes: PrintedNote) -> PrintedPart:
    return PrintedPart("Violin 1", "violin", notes)


def row(
    count: int, length: int, pitches: tuple[int, ...] = (72, 74, 76), **marks: bool
) -> PrintedPart:
    return part_of(
        *(PrintedNote(n * length, length, pitches[n % len(pitches)], **marks) for n in range(count))
    )


def marked(mark: str) -> PrintedPart:
    return part_of(PrintedNote(0, 960, 72, tremolo=mark == "tremolo", trill=mark == "trill"))


def strokes(part: PrintedPart) -> list[str]:
    return [strike.stroke for strike in as_printed(part, CLOCK)]


def test_what_carries_no_mark_is_detache() -> None:
    assert strokes(row(5, 480)) == ["detache"] * 5


def test_a_slur_takes_in_the_note_it_ends_on_and_stops_at_a_rest() -> None:
    slurred = part_of(
        PrintedNote(0, 240, 72, slurred=True),
        PrintedNote(240, 240, 74, slurred=True),
        PrintedNote(480, 240, 76),
        PrintedNote(720, 240, 77),
        PrintedNote(960, 240, 79, slurred=True),
        PrintedNote(1440, 240, 81),
    )
    assert strokes(slurred) == ["legato"] * 3 + ["detache"] * 3
    assert [s.slur >= 0 for s in as_printed(slurred, CLOCK)] == [True] * 3 + [False] * 3


def test_dots_in_a_row_under_a_slur_or_a_slur_over_one_pitch_is_portato() -> None:
    dotted = part_of(
        PrintedNote(0, 480, 72, dotted=True, slurred=True), PrintedNote(480, 480, 74, dotted=True)
    )
    repeated = part_of(PrintedNote(0, 480, 72, slurred=True), PrintedNote(480, 480, 72))
    assert strokes(dotted) == strokes(repeated) == ["portato"] * 2


def test_one_dot_alone_leaves_a_slur_legato() -> None:
    ended = part_of(PrintedNote(0, 480, 72, slurred=True), PrintedNote(480, 480, 74, dotted=True))
    heard = as_printed(ended, CLOCK)
    assert [(s.stroke, s.also) for s in heard] == [("legato", ()), ("legato", ("staccato",))]


@pytest.mark.parametrize(
    ("length", "stroke", "also"),
    [(480, "staccato", ()), (240, "staccato", ()), (200, "staccato", ("spiccato",)),
     (184, "spiccato", ("staccato",)), (120, "spiccato", ())],
)  # fmt: skip
def test_dots_bounce_from_about_five_a_second(
    length: int, stroke: str, also: tuple[str, ...]
) -> None:
    heard = as_printed(row(3, length, dotted=True), CLOCK)
    assert {(strike.stroke, strike.also) for strike in heard} == {(stroke, also)}


@pytest.mark.parametrize("mark", ["tremolo", "trill"])
def test_tremolo_and_trills_are_what_is_printed(mark: str) -> None:
    assert strokes(marked(mark)) == [mark]


def test_plucked_notes_are_bowed_only_where_plucking_cannot_be_shown() -> None:
    plucked = row(3, 480, pizzicato=True)
    assert strokes(plucked) == ["pizzicato"] * 3
    bowed = as_printed(plucked, CLOCK, is_plucked_bowed=True)
    assert [strike.stroke for strike in bowed] == ["detache"] * 3


@pytest.mark.parametrize(("count", "length", "stroke"), [(4, 60, "tremolo"), (3, 60, "detache"),
                                                         (8, 160, "detache")])  # fmt: skip
def test_four_fast_repetitions_are_a_tremolo_and_fewer_or_slower_are_not(
    count: int, length: int, stroke: str
) -> None:
    repeated = row(count, length, pitches=(72,))
    assert strokes(repeated) == [stroke] * count


def test_on_the_border_of_a_tremolo_either_name_is_right() -> None:
    just_slower = as_printed(row(6, 124, pitches=(72,)), CLOCK)
    just_faster = as_printed(row(6, 114, pitches=(72,)), CLOCK)
    assert {(s.stroke, s.also) for s in just_slower} == {("detache", ("tremolo",))}
    assert {(s.stroke, s.also) for s in just_faster} == {("tremolo", ("detache",))}


def test_neighbours_in_fast_turn_may_be_called_a_trill() -> None:
    turning = as_printed(row(8, 60, pitches=(72, 74), slurred=True), CLOCK)
    assert {(s.stroke, s.also) for s in turning} == {("legato", ("trill",))}
    assert not any(s.also for s in as_printed(row(8, 60, pitches=(72, 77), slurred=True), CLOCK))


def test_phrases_end_at_rests() -> None:
    rested = part_of(PrintedNote(0, 480, 72), PrintedNote(480, 480, 74), PrintedNote(1920, 480, 76))
    assert phrases(as_printed(rested, CLOCK), CLOCK) == [0, 0, 1]


def planned(part: PrintedPart, seed: int, has_colours: bool) -> list[TrueNote]:
    return plan(as_printed(part, CLOCK), CLOCK, Random(seed), has_colours)


def test_the_plan_gives_one_articulation_to_a_whole_phrase() -> None:
    phrase = row(12, 240)
    given = {tuple({n.articulation for n in planned(phrase, seed, True)}) for seed in range(60)}
    assert all(len(names) == 1 for names in given)
    assert {"detache", "con sordino", "spiccato", "col legno"} <= {names[0] for names in given}


def test_a_colour_keeps_the_manner_of_the_print() -> None:
    slurred = row(12, 240, slurred=True)
    for seed in range(60):
        for note in planned(slurred, seed, True):
            if note.articulation in ("con sordino", "sul tasto", "sul ponticello"):
                assert note.manner == "legato"
                assert not note.timing_tells


def test_for_timing_alone_tremolo_and_trills_are_drawn_out_where_they_fit() -> None:
    (long,) = planned(row(1, 960, trill=True), 0, False)
    assert (long.articulation, long.strokes_per_s > 0) == ("trill", True)
    (short,) = planned(row(1, 240, trill=True), 0, False)
    assert (short.articulation, short.strokes_per_s) == ("detache", 0.0)
    chord = part_of(PrintedNote(0, 960, 67, trill=True), PrintedNote(0, 960, 72))
    assert {note.articulation for note in planned(chord, 0, False)} == {"detache"}


@pytest.mark.parametrize("mark", ["tremolo", "trill"])
def test_timing_tells_a_tremolo_or_trill_only_where_it_is_drawn_out(mark: str) -> None:
    notes = [planned(marked(mark), seed, True)[0] for seed in range(40)]
    assert {note.strokes_per_s > 0 for note in notes} == {True, False}
    assert all(note.timing_tells == (note.strokes_per_s > 0) for note in notes)
    printed_out = planned(row(8, 60, pitches=(72,)), 0, False)
    assert all(note.timing_tells and not note.strokes_per_s for note in printed_out)


def test_composers_are_never_split_between_the_halves() -> None:
    assert half_of("Brahms, String Quartet No.1") == half_of("Brahms, String Quartet No.2")
    assert {half_of(f"{name}, Quartet") for name in ("Gounod", "Schulhoff")} == {"learn", "report"}
