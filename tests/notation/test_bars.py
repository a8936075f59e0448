from collections import Counter
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import mockcheck
from mockcheck.errors import UnreadableInput
from mockcheck.model.notated import NotatedEvent, NotatedPart
from mockcheck.model.played import PlayedPart, Slide
from mockcheck.notation import notate
from mockcheck.units import pitch_name
from tests.notation.together import played_together
from tests.phrases import phrase, played

FIXTURES = Path(__file__).parent.parent.parent / "fixtures"
PICKUP = FIXTURES / "quirks" / "pickup_bar.mid"
FOR_VIOLINS = {"tracks": [{"match": "*", "instrument": "violin"}]}
FAR = FIXTURES / "quirks" / "huge_delta.mid"
QUIRKS = [path for path in sorted((FIXTURES / "quirks").glob("*.mid")) if path != FAR]


def shown(part: NotatedPart, bar: int = 1, voice: int = 1) -> list[str]:
    """The events of a voice as text: 'A4 quarter', 'rest half', 'A4+C5 16th ~' (tied on)."""
    (own,) = [v for v in part.bars[bar - 1].voices if v.number == voice]
    return [_text(event) for event in own.events]


def _text(event: NotatedEvent) -> str:
    heads = "+".join(pitch_name(head.pitch, 4) for head in event.heads) or "rest"
    tied = " ~" if any(head.is_tied_to for head in event.heads) else ""
    grace = "grace " if event.is_grace else ""
    return f"{grace}{heads} {event.value}{'.' * event.dots}{tied}"


def struck(part: NotatedPart) -> Counter[int]:
    """How often each note of the part begins on the page."""
    return Counter(
        note
        for _, _, event in part.events()
        for head in event.heads
        if not head.is_tied_from
        for note in head.note_indices
    )


def assert_nothing_lost(part: PlayedPart, notated: NotatedPart) -> None:
    assert struck(notated) == Counter(range(len(part.notes)))
    for bar, _, event in notated.events():
        assert 0 <= event.start <= event.start + event.length <= bar.length


def test_notes_fill_the_time_to_the_next_one() -> None:
    part = notate(phrase("violin 4/4 q=90 | A4:1 B4:1/2 C5:1/2 D5:2 | E5:4 |"))
    assert shown(part) == ["A4 quarter", "B4 eighth", "C5 eighth", "D5 half"]
    assert shown(part, 2) == ["E5 whole"]
    assert part.bars[0].voices[0].events[1].beams == ("begin",)


def test_short_strokes_have_dots_and_no_rests() -> None:
    part = notate(phrase("violin staccato 4/4 q=90 | A4:1. B4:1. C5:1. D5:1. | A4:4 |"))
    assert shown(part) == ["A4 quarter", "B4 quarter", "C5 quarter", "D5 quarter"]
    assert {event.marks for event in part.bars[0].voices[0].events} == {("staccato",)}


def test_rests_are_written_where_nothing_sounds() -> None:
    part = notate(phrase("violin 4/4 q=90 | A4:1 r:1 B4:2 | r:4 | C5:2 r:2 | A4:4 |"))
    assert shown(part) == ["A4 quarter", "rest quarter", "B4 half"]
    assert part.bars[1].voices[0].events[0].is_full_bar
    assert shown(part, 3) == ["C5 half", "rest half"]


def test_long_notes_are_tied_over_bar_lines_and_the_middle_of_the_bar() -> None:
    part = notate(phrase("violin 4/4 q=90 | A4:3/2 B4:1 C5:5/2 D5:3 |"))
    assert shown(part) == ["A4 quarter.", "B4 eighth ~", "B4 eighth", "C5 quarter. ~"]
    assert shown(part, 2) == ["C5 quarter", "D5 half."]
    assert part.bars[1].voices[0].events[0].heads[0].is_tied_from


def test_triplets_have_brackets() -> None:
    part = notate(phrase("violin 2/4 q=90 | A4:1/3 B4:1/3 C5:1/3 D5:1 | A4:2 |"))
    first, *_ = part.bars[0].voices[0].events
    assert first.tuplet is not None
    assert (first.tuplet.actual, first.tuplet.normal, first.tuplet.is_start) == (3, 2, True)


def test_a_double_stop_is_one_chord() -> None:
    part = notate(phrase("violin players=1 4/4 q=90 | G4+D5:2 A4:2 | A4:4 |"))
    assert shown(part) == ["G4+D5 half", "A4 half"]


def test_a_held_note_has_its_own_voice() -> None:
    part = played_together([(0, 4, 62), (0, 1, 69), (1, 1, 71), (2, 2, 72)])
    notated = notate(part)
    assert shown(notated) == ["A4 quarter", "B4 quarter", "C5 half"]
    assert shown(notated, voice=2) == ["D4 whole"]
    assert_nothing_lost(part, notated)


def test_divided_lines_have_a_voice_each() -> None:
    part = phrase("violins players=16 4/4 q=90 | C4+E4+G4+C5:2 D4+F4+A4+D5:2 | C4+E4+G4+C5:4 |")
    notated = notate(part)
    assert [voice.number for voice in notated.bars[0].voices] == [1, 2, 3, 4]
    assert shown(notated, voice=1) == ["C5 half", "D5 half"]
    assert shown(notated, voice=4) == ["C4 half", "D4 half"]
    assert_nothing_lost(part, notated)


def test_doubled_keys_share_a_head_and_are_named() -> None:
    part = played(
        "violin 1 legato 4/4 q=90 | A4:2 B4:2 |", "violin 1 spicc 4/4 | A4:2 B4:2 |"
    ).parts[0]
    assert len(part.notes) == 4
    notated = notate(part)
    assert shown(notated) == ["A4 half", "B4 half"]
    assert notated.doubled == (0, 1, 2, 3)
    assert struck(notated) == Counter(range(4))


def test_spelling_is_the_readers_or_the_imports() -> None:
    part = phrase("violin 4/4 q=120 key=-3 | Eb5:1 D5:1 C5:1 B4:1 | F#4:1 G4:3 |")
    well, imported = notate(part), notate(part, spelling="as imported")
    assert part.spelling is not None
    for notated, expected in ((well, part.spelling.fifths), (imported, part.spelling.as_imported)):
        heads = [head for _, _, event in notated.events() for head in event.heads]
        assert [head.fifths for head in heads] == expected.tolist()
    assert well.bars[0].key_fifths == -3
    assert well.bars[1].key_fifths is None


def test_an_accidental_holds_for_its_bar_and_is_reminded_of_after_it() -> None:
    part = phrase("violin 4/4 q=120 key=0 | G4:1 G#4:1 A4:1 G#4:1 | G4:1 A4:1 G4:2 | G4:4 |")
    heads = [head for _, _, event in notate(part).events() for head in event.heads]
    assert [head.accidental for head in heads] == [None, 1, None, None, 0, None, None, None]
    assert [head.is_cautionary for head in heads] == [False] * 4 + [True] + [False] * 3


def test_words_stand_where_the_way_of_playing_changes() -> None:
    score = played(
        "violin 1 pizz 4/4 q=90 | A4:1 B4:1 r:2 | r:4 | r:4 |",
        "violin 1 con sord 4/4 | r:4 | C5:2 D5:2 | r:4 |",
        "violin 1 legato 4/4 | r:4 | r:4 | E5:4 |",
    )
    notated = notate(score.parts[0])
    words = [event.words for _, _, event in notated.events() if event.words]
    assert words == [("pizz.",), ("arco", "con sord."), ("senza sord.",)]


def test_slurs_and_slides_go_from_note_to_note() -> None:
    part = phrase("violin 4/4 q=90 | (A4:1 B4:1 C5:1) D5:1 | A4:2> E5:2 |")
    events = [event for _, _, event in notate(part).events()]
    assert [event.slurs for event in events[:3]] == [(("start", 1),), (), (("stop", 1),)]
    assert len(part.slides) == 1
    ends = [(head.slides, event.start) for event in events for head in event.heads if head.slides]
    assert ends == [((("start", 1),), Fraction(0)), ((("stop", 1),), Fraction(2))]


def test_long_tremolo_and_trills_are_signs() -> None:
    tremolo = notate(phrase("violin tremolo 4/4 q=90 | A4:2 B4:2 |")).bars[0].voices[0].events
    assert {event.tremolo_strokes for event in tremolo} == {3}
    trill = notate(phrase("violin trill 4/4 q=90 | A4:2 B4:2 |")).bars[0].voices[0].events
    assert {event.marks for event in trill} == {("trill",)}


def test_harmonics_say_how_they_are_played() -> None:
    notated = notate(phrase("violin harmonics 4/4 q=60 | D6:2 Eb7:2 |"))
    natural, artificial = (e.heads[0].harmonic for e in notated.bars[0].voices[0].events)
    assert natural is not None
    assert natural.stopped is None
    assert artificial is not None
    assert artificial.stopped is not None
    stopped, touched = artificial.stopped[0], artificial.touched[0]
    # Touched a fourth above the stop sounds two octaves above it; a fifth, a twelfth.
    assert (touched - stopped, 99 - stopped) in {(5, 24), (7, 19)}


def test_a_bass_is_written_an_octave_higher() -> None:
    notated = notate(phrase("double bass 4/4 q=90 | E2:2 A2:2 |"))
    assert notated.written_octaves == 1
    assert [head.pitch for _, _, e in notated.events() for head in e.heads] == [40, 45]
    assert notate(phrase("cello 4/4 q=90 | E2:4 |")).written_octaves == 0


def test_a_pick_up_is_a_short_bar_in_the_metre_of_the_next() -> None:
    part = mockcheck.play(mockcheck.load(PICKUP), FOR_VIOLINS).parts[0]
    notated = notate(part)
    first, second = notated.bars[:2]
    assert first.is_implicit
    assert first.metre is not None
    assert first.length < Fraction(4 * first.metre[0], first.metre[1])
    assert second.metre is None
    assert not second.is_implicit
    assert_nothing_lost(part, notated)


def test_a_range_of_bars_takes_what_sounds_there() -> None:
    part = phrase("violin 4/4 q=90 | A4:4 | B4:6 | C5:2 D5:2 | E5:4 |")
    notated = notate(part, 3, 4)
    assert [bar.number for bar in notated.bars] == [3, 4]
    assert shown(notated) == ["B4 half", "C5 half"]
    assert notated.bars[0].voices[0].events[0].heads[0].is_tied_from
    assert notated.bars[0].metre == (4, 4)
    assert notated.bars[0].clef is not None
    assert notated.bars[0].tempo_bpm == pytest.approx(90)
    assert shown(notate(part, 5, 6), 2) == ["rest whole"]


def test_the_other_parts_say_where_the_score_ends() -> None:
    score = played("violin 4/4 q=90 key=2 | D5:4 | D5:4 | D5:4 |", "cello 4/4 | r:4 | D3:4 |")
    cello = next(part for part in score.parts if part.instrument.id == "cello")
    assert len(notate(cello).bars) == 2
    notated = notate(cello, beside=score.parts)
    assert len(notated.bars) == 3
    assert [bar.key_fifths for bar in notated.bars] == [2, None, None]


def test_grace_notes_lead_into_their_note() -> None:
    rng = np.random.default_rng(5)
    notes = []
    for beat in range(32):
        late = float(rng.normal(0, 0.012))
        notes.append((beat + 1 + late, 0.9, 67 + 2 * (beat % 3)))
        if beat % 8 == 4:
            notes.append((beat + 1 + late - 0.06, 0.055, 76))
    part = played_together(sorted(notes))
    notated = notate(part)
    graces = [event for _, _, event in notated.events() if event.is_grace]
    assert [event.heads[0].pitch for event in graces] == [76] * 4
    assert {event.start.denominator for event in graces} == {1}
    assert_nothing_lost(part, notated)


@pytest.mark.parametrize("path", QUIRKS, ids=lambda path: path.stem)
def test_nothing_of_an_odd_file_is_lost(path: Path) -> None:
    try:
        score = mockcheck.play(mockcheck.load(path), FOR_VIOLINS)
    except UnreadableInput:
        pytest.skip("no music in it")
    for part in score.parts:
        assert_nothing_lost(part, notate(part, beside=score.parts))


def test_a_note_a_hundred_thousand_bars_on_is_refused() -> None:
    part = mockcheck.play(mockcheck.load(FAR), FOR_VIOLINS).parts[0]
    with pytest.raises(UnreadableInput, match="no music has so many bars"):
        notate(part)


@settings(max_examples=40)
@given(
    st.lists(
        st.tuples(st.integers(0, 95), st.integers(1, 24), st.integers(55, 80)),
        min_size=1,
        max_size=40,
    )
)
def test_whatever_is_played_together_stands_on_the_page_once(
    notes: list[tuple[int, int, int]],
) -> None:
    part = played_together([(onset / 6, length / 6, pitch) for onset, length, pitch in notes])
    notated = notate(part)
    assert_nothing_lost(part, notated)
    for bar in notated.bars:
        for voice in bar.voices:
            here = Fraction(0)
            for event in voice.events:
                assert event.start == here
                here += event.length
            assert here == bar.length


@pytest.mark.parametrize("name", ["violin", "violins", "strings"])
def test_more_held_notes_than_voices_are_shortened_not_lost(name: str) -> None:
    held = [(float(k), 12.0 - k, pitch) for k, pitch in enumerate((55, 62, 65, 69, 72, 76, 79))]
    chords = [(4.0 + k, 8.0 - k, pitch) for k, pitch in enumerate((57, 60, 64, 67))]
    for notes in (held, sorted([*held, *chords])):
        part = played_together(notes, name)
        notated = notate(part)
        assert_nothing_lost(part, notated)
        assert max(voice.number for _, voice, _ in notated.events()) == 4


def test_colours_of_the_bow_are_words() -> None:
    score = played(
        "violin 1 sul pont 4/4 q=90 | A4:4 | r:4 | r:4 | r:4 |",
        "violin 1 sul tasto 4/4 | r:4 | C5:4 | r:4 | r:4 |",
        "violin 1 legato 4/4 | r:4 | r:4 | E5:4 | r:4 |",
        "violin 1 con sord 4/4 | r:4 | r:4 | r:4 | E5:4 |",
    )
    words = [event.words for _, _, event in notate(score.parts[0]).events() if event.words]
    assert words == [("sul pont.",), ("sul tasto",), ("ord.",), ("con sord.",)]


def test_beams_have_hooks_and_stop_at_the_beat() -> None:
    part = notate(phrase("violin 2/4 q=60 | A4:3/4 B4:1/4 C5:1/4 D5:1/2 E5:1/4 | A4:2 |"))
    assert [event.beams for event in part.bars[0].voices[0].events] == [
        ("begin",),
        ("end", "backward hook"),
        ("begin", "forward hook"),
        ("continue",),
        ("end", "backward hook"),
    ]


def test_a_file_that_counts_frames_is_put_in_fours_at_two_quarters_a_second() -> None:
    path = FIXTURES / "quirks" / "smpte_25fps_40.mid"
    part = mockcheck.play(mockcheck.load(path), FOR_VIOLINS).parts[0]
    notated = notate(part)
    assert notated.bars[0].metre == (4, 4)
    assert_nothing_lost(part, notated)


def test_a_part_that_follows_no_beat_stands_on_the_nearest_demisemiquavers() -> None:
    part = replace(phrase("violin 3/4 q=90 | A4:1 B4:2 | C5:3 |"), written=None)
    notated = notate(part)
    assert_nothing_lost(part, notated)
    assert shown(notated) == ["A4 quarter", "B4 half"]


def test_scoops_and_falls_are_signs() -> None:
    part = phrase("violin 4/4 q=60 | A4:4 | B4:2 r:2 |")
    slides = (
        Slide(0, -1, 0, 0, 100, 68.0, 69.0, 80.0, "scoop", "bend", 1.0),
        Slide(0, 1, -1, 2400, 2800, 71.0, 66.0, 200.0, "fall", "bend", 1.0),
    )
    events = [event for _, _, event in notate(replace(part, slides=slides)).events()]
    assert [event.marks for event in events[:2]] == [("scoop",), ("fall",)]


def test_a_beat_whose_halves_are_cut_differently_is_written_as_it_is() -> None:
    # Semiquavers, and once five in the time of four of them, begun on a half beat.
    fives = [Fraction(19, 2) + Fraction(k, 5) for k in range(5)]
    places = [Fraction(k, 4) for k in range(38)] + fives
    places += [Fraction(21, 2) + Fraction(k, 4) for k in range(38)]
    part = played_together([(float(at), 0.1, 69 + row % 2 * 2) for row, at in enumerate(places)])
    notated = notate(part)
    begun = [
        4 * (bar.number - 1) + event.start
        for bar, _, event in notated.events()
        if event.heads and not event.heads[0].is_tied_from
    ]
    assert begun == places


def test_slurs_of_an_excerpt_begin_and_stop_in_it() -> None:
    # Tied over both bar lines of the excerpt and slurred all the way.
    part = phrase("violin 4/4 q=90 players=1 | r:2 (C5:4 D5:2 E5:2 F5:4 G5:2) r:2 |")
    assert part.slur is not None
    for first, last in ((1, 2), (2, 2), (2, 3), (3, 4), (1, 4)):
        ends = [
            end
            for bar in notate(part, first, last).bars
            for voice in bar.voices
            for event in voice.events
            for end in event.slurs
        ]
        kinds = [kind for kind, _ in ends]
        assert kinds.count("start") == kinds.count("stop") > 0, (first, last)
