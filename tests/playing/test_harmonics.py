"""Tables: fixtures/reference/harmonics.csv, with the source of each row beside it."""

import csv
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.errors import BadBrief
from mockcheck.instruments import instrument
from mockcheck.playing.chords import VERDICTS
from mockcheck.playing.fingerboard import stop_distance_mm
from mockcheck.playing.hand import VIOLIN_HAND
from mockcheck.playing.harmonics import (
    TOLERANCE_CENTS,
    HarmonicWay,
    explain_no_harmonic,
    harmonics,
)
from mockcheck.units import pitch_from_name

TABLE = Path(__file__).parent.parent.parent / "fixtures" / "reference" / "harmonics.csv"
Row = dict[str, str]
PLAYERS = ("violin", "viola", "cello", "double bass")


def rows(kind: str, *, is_from_memory: bool) -> list[Row]:
    with TABLE.open(encoding="utf-8", newline="") as file:
        return [
            row
            for row in csv.DictReader(file)
            if row["kind"] == kind and (row["source_kind"] == "from memory") == is_from_memory
        ]


def ways(name: str, note: str) -> tuple[HarmonicWay, ...]:
    return harmonics(name, pitch_from_name(note))


def artificial_ways(name: str, partial: int) -> list[HarmonicWay]:
    found = (way for pitch in range(128) for way in harmonics(name, pitch))
    return [way for way in found if way.kind == "artificial" and way.partial == partial]


def natural_way(row: Row) -> HarmonicWay:
    found = [
        way
        for way in harmonics(row["instrument"], int(row["sounding_midi"]))
        if way.kind == "natural"
        and way.string == row["string"]
        and way.partial == int(row["partial"])
        and way.touched_semitones == pytest.approx(float(row["exact_semitones_above"]), abs=0.005)
    ]
    assert len(found) == 1
    return found[0]


def easiest(row: Row) -> str:
    found = artificial_ways(row["instrument"], int(row["partial"]))
    return min((way.verdict for way in found), key=VERDICTS.index, default="impossible")


def test_every_natural_node_of_the_table_is_found_where_the_table_has_it() -> None:
    table = rows("natural", is_from_memory=False)
    assert len(table) == 176
    for row in table:
        way = natural_way(row)
        assert way.touched_pitch == int(row["open_or_stopped_midi"]) + int(
            row["touched_semitones_above"]
        )
        assert way.stopped_pitch is None


def test_no_node_up_to_the_fifth_partial_is_missing_from_the_table_or_invented() -> None:
    listed = Counter(
        (row["instrument"], row["string"], int(row["sounding_midi"]))
        for row in rows("natural", is_from_memory=False)
        if int(row["partial"]) <= 5
    )
    found = Counter(
        (name, way.string, pitch)
        for name in PLAYERS
        for pitch in range(128)
        for way in harmonics(name, pitch)
        if way.kind == "natural" and way.partial <= 5
    )
    assert found == listed


def test_every_artificial_form_of_the_table_sounds_what_the_table_says() -> None:
    table = rows("artificial", is_from_memory=False)
    assert {int(row["touched_semitones_above"]) for row in table} == {4, 5, 7, 12}
    for row in table:
        found = artificial_ways(row["instrument"], int(row["partial"]))
        assert found
        for way in found:
            assert way.stopped_pitch is not None
            assert way.touched_pitch - way.stopped_pitch == int(row["touched_semitones_above"])
            assert way.sounding_pitch - way.stopped_pitch == int(row["sounds_semitones_above"])


def test_every_verdict_of_the_table_is_met() -> None:
    natural = rows("natural", is_from_memory=False)
    assert [natural_way(row).verdict for row in natural] == [row["verdict"] for row in natural]
    artificial = rows("artificial", is_from_memory=False)
    assert [easiest(row) for row in artificial] == [row["verdict"] for row in artificial]


def test_the_remembered_verdicts_differ_only_where_the_bass_would_have_none() -> None:
    # From memory: fifth and octave are "avoid" on the bass, which is shown as hard here.
    table = rows("artificial", is_from_memory=True)
    differing = {
        (row["instrument"], row["touched_interval"], row["verdict"], easiest(row))
        for row in table
        if easiest(row) != row["verdict"]
    }
    assert differing == {
        ("double bass", "perfect fifth", "impossible", "hard"),
        ("double bass", "octave", "impossible", "hard"),
    }


def test_the_stopped_note_sounds_best_up_to_a_sixth_above_the_open_string() -> None:
    # A violin fingering chart for composers; the top, D8 from a stopped D6, from chart and memory.
    (limit,) = rows("limit", is_from_memory=False)
    top = int(limit["sounding_midi"])
    on_e = {way.stopped_pitch: way for way in artificial_ways("violin", 4) if way.string == "E"}
    assert on_e[int(limit["open_or_stopped_midi"])].sounding_pitch == top
    assert on_e[pitch_from_name("B5")].verdict == "easy"
    assert on_e[pitch_from_name("D6")].verdict == "possible"
    assert "speaks badly" in on_e[pitch_from_name("D6")].reason
    assert "speaks badly" not in on_e[pitch_from_name("C#6")].reason
    assert on_e[pitch_from_name("Eb6")].verdict == "hard"


def test_g5_is_touched_as_c4_on_the_open_g_string_of_a_violin() -> None:
    # Common practice, no source: or written as the sounding note with a circle.
    first = ways("violin", "G5")[0]
    assert (first.kind, first.string, first.string_index) == ("natural", "G", 3)
    assert first.touched_pitch == pitch_from_name("C4")
    assert first.verdict == "easy"
    assert first.notations == ("G5 with a small circle above, sul G", "a diamond at C4, sul G")


@pytest.mark.parametrize(("partial", "cents"), [(2, 0), (3, 2), (5, -14), (7, -31), (9, 4)])
def test_partials_lie_beside_the_tempered_notes(partial: int, cents: int) -> None:
    # The harmonic series against equal temperament, as in any table of acoustics.
    found = (way for pitch in range(128) for way in harmonics("double bass", pitch))
    offs = {round(way.cents_off) for way in found if way.partial == partial}
    assert offs == {cents}


def frequency_hz(pitch: float) -> float:
    """ISO 16: A4 is 440 Hz."""
    return float(440.0 * 2.0 ** ((pitch - 69.0) / 12.0))


@given(st.sampled_from(PLAYERS), st.integers(0, 127))
def test_the_string_sounds_what_is_asked_and_is_touched_at_a_node(name: str, pitch: int) -> None:
    player = instrument(name)
    for way in harmonics(player, pitch):
        stop = way.stopped_semitones or 0
        base = player.open_strings[way.string_index] + stop
        cents = 1200.0 * np.log2(way.partial * frequency_hz(base) / frequency_hz(pitch))
        assert cents == pytest.approx(way.cents_off)
        assert abs(cents) <= TOLERANCE_CENTS
        # The touched place divides what is left of the string in whole parts of the partial.
        length_mm = player.string_length_mm
        stopped_mm = stop_distance_mm(length_mm, np.array([float(stop)]))[0]
        part = way.partial * (way.touched_mm - stopped_mm) / (length_mm - stopped_mm)
        assert part == pytest.approx(round(part))
        assert 1 <= round(part) < way.partial
        is_artificial = way.kind == "artificial"
        assert way.reach_mm == pytest.approx(is_artificial * (way.touched_mm - stopped_mm))


@given(st.sampled_from(PLAYERS), st.integers(0, 127))
def test_the_easiest_comes_first_and_natural_before_artificial(name: str, pitch: int) -> None:
    found = harmonics(name, pitch)
    order = [(VERDICTS.index(way.verdict), way.kind == "artificial") for way in found]
    assert order == sorted(order)
    assert all(way.verdict != "impossible" for way in found)
    assert bool(found) == (explain_no_harmonic(name, pitch) is None)


@given(st.integers(60, 112))
def test_the_viola_has_the_natural_harmonics_of_the_violin_a_fifth_lower(pitch: int) -> None:
    def places(name: str, sounding: int) -> list[tuple[int, float, str]]:
        found = harmonics(name, sounding)
        return [
            (way.string_index, way.touched_semitones, way.verdict)
            for way in found
            if way.kind == "natural"
        ]

    assert places("viola", pitch - 7) == places("violin", pitch)


def test_a_stretch_shrinks_up_the_string() -> None:
    fifths = sorted(artificial_ways("violin", 3), key=lambda way: way.stopped_semitones or 0)
    on_g = [way for way in fifths if way.string == "G"]
    reaches = [way.reach_mm for way in on_g]
    assert reaches == sorted(reaches, reverse=True)
    # A third of what is left: 328 mm shortened by four and by six semitones.
    by_stop = {way.stopped_semitones: way for way in on_g}
    assert by_stop[4].reach_mm == pytest.approx(86.8, abs=0.05)
    assert by_stop[4].verdict == "hard"
    assert by_stop[4].is_wide_stretch
    assert by_stop[6].reach_mm == pytest.approx(77.3, abs=0.05)
    assert by_stop[6].verdict == "possible"


def test_a_hand_that_opens_less_finds_fewer_and_harder_ways() -> None:
    narrow = replace(
        VIOLIN_HAND, comfortable_mm=(30.0, 50.0, 60.0), widest_mm=(33.0, 57.0, 70.0), tenth_mm=88.0
    )
    pitch = pitch_from_name("E5")
    assert harmonics("violin", pitch)
    assert not harmonics("violin", pitch, hand=narrow)
    flat_a5 = pitch_from_name("Ab5")
    assert harmonics("violin", flat_a5)[0].verdict == "easy"
    assert harmonics("violin", flat_a5, hand=narrow)[0].verdict == "possible"


def test_the_thumb_stops_under_a_harmonic_on_the_cello_and_never_on_the_violin() -> None:
    thumbed = [way for way in artificial_ways("cello", 4) if way.fingers == (-1, 3)]
    assert {way.stopped_semitones for way in thumbed} >= {7, 9, 12}
    assert all(way.fingers == (1, 4) for way in artificial_ways("violin", 4))


def test_the_seventh_partial_is_flat_and_left_out_when_flat_notes_are_not_wanted() -> None:
    pitch = pitch_from_name("F6")  # the seventh partial of the open G
    flat = [way for way in harmonics("violin", pitch) if way.partial == 7]
    assert {way.verdict for way in flat} == {"hard"}
    assert all("31 cents flat" in way.reason for way in flat)
    assert all(way.partial != 7 for way in harmonics("violin", pitch, tolerance_cents=20.0))


def test_a_diamond_is_only_written_where_a_note_says_where_to_touch() -> None:
    # Nodes 1/8 and 3/8: 2.31 and 8.14 semitones up.
    on_c = [way for way in ways("viola", "C6") if way.partial == 8]
    diamonds = {round(way.touched_semitones, 2): len(way.notations) > 1 for way in on_c}
    assert diamonds == {2.31: False, 8.14: True, 16.98: True, 36.0: False}


def test_an_artificial_harmonic_is_written_as_stopped_note_and_diamond() -> None:
    way = next(way for way in ways("violin", "E6") if way.kind == "artificial")
    assert way.notations[0] == "E4 as an ordinary note and a diamond at A4 above it"


def test_notes_are_named_as_the_user_does() -> None:
    first = harmonics("violin", pitch_from_name("G5"), middle_c_octave=3)[0]
    assert first.notations[1] == "a diamond at C3, sul G"


def test_a_retuned_string_takes_its_harmonics_along() -> None:
    tuned = replace(instrument("violin"), open_strings=(76, 69, 62, 54))
    first = harmonics(tuned, pitch_from_name("F#5"))[0]
    assert (first.kind, first.string, first.verdict) == ("natural", "F#", "easy")
    assert all(way.kind == "artificial" for way in ways("violin", "F#5"))


@pytest.mark.parametrize(
    ("name", "note", "words"),
    [
        ("violin", "F#4", "too low: no harmonic sounds below G4, the octave of the open G string"),
        ("double bass", "Eb2", "below E2, the octave of the open E"),
        ("violin", "F8", "too high"),
        ("violin", "A4", "The nearest harmonics are G4 below and D5 above"),
        ("violin", "Eb5", "just beyond an opened hand"),
    ],
)
def test_a_sound_without_harmonic_says_why(name: str, note: str, words: str) -> None:
    assert ways(name, note) == ()
    assert words in (explain_no_harmonic(name, pitch_from_name(note)) or "")


def test_a_sound_far_between_two_strings_is_reached_by_no_form() -> None:
    tuned = replace(instrument("violin"), open_strings=(76, 30))
    assert "no artificial form sounds it" in (explain_no_harmonic(tuned, 75) or "")


@pytest.mark.parametrize(
    ("name", "pitch", "words"),
    [
        ("strings", 79, "several instruments"),
        ("kazoo", 79, "no instrument 'kazoo'"),
        ("violin", 128, "from 0 to 127"),
        ("violin", -1, "from 0 to 127"),
    ],
)
def test_what_cannot_be_answered_is_refused_in_words(name: str, pitch: int, words: str) -> None:
    with pytest.raises(BadBrief, match=words):
        harmonics(name, pitch)
    with pytest.raises(BadBrief, match=words):
        explain_no_harmonic(name, pitch)
