import csv
import gzip
import os
from collections import defaultdict
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.errors import BadBrief
from mockcheck.instruments import instrument
from mockcheck.playing.chords import VERDICTS, chord
from mockcheck.playing.hand import VIOLIN_HAND
from tests.playing.agreement import TABLES, agreement, agreement_rows, disagreements

QUARTETS = Path(__file__).parent.parent.parent / "fixtures" / "quartets"
PARTS = {"Violin 1": "violin", "Violin 2": "violin", "Viola": "viola", "Violoncello": "cello"}
FOUR = ("violin", "viola", "cello", "double bass")


@st.composite
def notes_for(draw: st.DrawFn) -> tuple[str, list[int]]:
    name = draw(st.sampled_from(FOUR))
    low = instrument(name).lowest
    return name, draw(st.lists(st.integers(low - 2, low + 36), min_size=1, max_size=5))


@pytest.mark.parametrize("table", TABLES)
def test_no_chord_that_a_table_calls_impossible_is_playable(table: str) -> None:
    # fixtures/reference/SOURCES.md: tuning and span arithmetic, and rows in conflict with it.
    rows = [row for row in agreement_rows(table) if row.table_verdict == "impossible"]
    assert len(rows) > 20
    assert [row.pitches for row in rows if row.answer.is_playable] == []


@pytest.mark.parametrize("table", TABLES)
def test_no_chord_that_a_table_calls_easy_or_possible_is_impossible(table: str) -> None:
    rows = [row for row in agreement_rows(table) if row.table_verdict in ("easy", "possible")]
    assert len(rows) > 150
    assert [row.pitches for row in rows if not row.answer.is_playable] == []


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("half", [0, 1])
def test_grades_agree_with_the_tables(table: str, half: int) -> None:
    measured = agreement([row for row in agreement_rows(table) if row.half == half])
    assert measured.exact >= 0.9
    assert measured.within_one_step >= 0.98


def test_grades_that_a_source_gives_itself_agree_best() -> None:
    rows = [row for table in TABLES for row in agreement_rows(table) if row.is_evidence]
    measured = agreement(rows)
    assert measured.rows > 100
    assert measured.exact >= 0.97
    assert measured.within_one_step == 1.0


def test_every_disagreement_has_a_reason_to_print() -> None:
    listed = list(disagreements())
    assert listed
    assert all(row.answer.reason.endswith(".") for row in listed)


def printed_chords(table: Path) -> set[tuple[str, tuple[int, ...], str]]:
    """Chords struck together in one part; doubled pitches once, touched fourths left out."""
    struck: dict[tuple[str, str], set[int]] = defaultdict(set)
    bars: dict[tuple[str, str], str] = {}
    with gzip.open(table, "rt", encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            key = (row["part"], row["onset_tick"])
            struck[key].add(int(row["pitch"]))
            bars[key] = row["bar"]
    chords = set()
    for key, pitches in struck.items():
        ordered = tuple(sorted(pitches))
        # An artificial harmonic is printed as stopped note, touched fourth and sounding note.
        is_harmonic = len(ordered) == 3 and ordered[1:] == (ordered[0] + 5, ordered[0] + 24)
        if len(ordered) > 1 and not is_harmonic:
            chords.add((PARTS[key[0]], ordered, f"{table.stem} {key[0]} bar {bars[key]}"))
    return chords


def test_chords_printed_in_quartets_are_playable() -> None:
    # OpenScore String Quartets, CC0: published, and long performed by one player a part.
    folder = Path(os.environ.get("MOCKCHECK_QUARTETS", QUARTETS))
    printed = set().union(*(printed_chords(table) for table in folder.glob("*.csv.gz")))
    refused = [
        (answer.failure, name, pitches, where)
        for name, pitches, where in sorted(printed)
        if not (answer := chord(name, pitches)).is_playable
    ]
    out_of_reach = [row for row in refused if row[0] == "out of reach"]
    assert len(printed) > 500
    # Some are printed that tuning rules out; hardly one may be refused for the hand's sake.
    assert len(out_of_reach) <= len(printed) / 1000, out_of_reach
    assert len(refused) <= len(printed) / 200, refused


@pytest.mark.parametrize(
    ("name", "pitches", "failure", "cause", "words"),
    [
        ("violin", (55, 59), "one string", "double-stop-on-one-string",
         "G3 and B3 both lie below the open D, so they need the G string at once."),
        ("viola", (48, 52, 55), "one string", "chord-needs-divisi", "C3 and E3 both lie below"),
        ("violin", (60, 64, 67), "one string", "chord-needs-divisi",
         "three notes share the G and D strings"),
        ("violin", (55, 62, 66, 69), "one string", "chord-needs-divisi",
         "G3, D4 and F#4 all lie below the open A"),
        ("violin", (54, 62), "below open strings", "note-below-open-string",
         "F#3 lies below the open G, the lowest string."),
        ("cello", (34, 35), "below open strings", "note-below-open-string", "Bb1 and B1 lie below"),
        ("violin", (55, 62, 69, 76, 81), "more notes than strings", "chord-needs-divisi",
         "five notes, and a violin has four strings"),
        ("violin", (55, 95), "strings not neighbours", "chord-needs-divisi", "not neighbours"),
        ("violin", (57, 78), "out of reach", "chord-out-of-reach", "span"),
        ("double bass", (29, 41), "out of reach", "chord-out-of-reach", "333 mm apart"),
        ("violin", (57, 64, 71, 78), "out of reach", "chord-out-of-reach", "four strings at once"),
        ("violin", (102, 103), "one string", "double-stop-on-one-string", "above the end"),
        ("violin", (110,), "out of reach", "note-above-range", "beyond the end"),
    ],
)  # fmt: skip
def test_the_reason_names_what_is_in_the_way(
    name: str, pitches: tuple[int, ...], failure: str, cause: str, words: str
) -> None:
    answer = chord(name, pitches)
    assert (answer.verdict, answer.failure, answer.cause) == ("impossible", failure, cause)
    assert words in answer.reason
    assert (answer.strings, answer.fingers, answer.stops_semitones) == ((), (), ())
    assert answer.sustained is None
    if answer.evidence is not None:
        assert answer.evidence.measured != answer.evidence.limit


def test_a_chord_that_needs_too_many_fingers_says_so() -> None:
    answer = chord("double bass 5-string", (24, 30, 33, 39, 45))
    assert answer.cause == "chord-out-of-reach"
    assert answer.reason == "The chord needs four fingers, and only three are free to stop notes."


def test_a_playable_chord_says_how() -> None:
    answer = chord("violin", (57, 66))
    assert answer.verdict == "easy"
    assert (answer.strings, answer.fingers, answer.stops_semitones) == ((3, 2), (1, 2), (2, 4))
    # 2 and 4 semitones up 328 mm: 35.8 and 67.7 mm from the nut.
    assert answer.stretch_mm == pytest.approx(31.9, abs=0.05)
    assert "A3 under the first finger on the G string" in answer.reason
    assert (answer.failure, answer.cause, answer.evidence) == (None, None, None)


@pytest.mark.parametrize(
    ("pitches", "sustained"),
    [
        ((69,), "together"),
        ((62, 71), "together"),
        ((55, 62, 71), "together only loud and short"),
        ((55, 62, 71, 79), "broken"),
    ],
)
def test_a_bow_holds_two_strings_three_briefly_and_breaks_four(
    pitches: tuple[int, ...], sustained: str
) -> None:
    assert chord("violin", pitches).sustained == sustained


def test_nobody_stops_two_notes_wider_than_a_tenth() -> None:
    # Common practice, no source: about a tenth is the widest one violinist can stop.
    widest = 0
    for low in range(55, 95):
        for high in range(low, 104):
            answer = chord("violin", (low, high))
            if answer.is_playable and 0 not in answer.fingers:
                widest = max(widest, high - low)
    assert widest == 16


def test_a_stopped_tenth_is_hard_and_a_ninth_and_an_octave_are_stretches() -> None:
    # Common practice, no source; the tenths are those of a fingering chart for composers.
    for low, high in ((57, 72), (58, 74), (64, 79), (65, 81), (71, 86)):
        assert chord("violin", (low, high)).verdict == "hard"
    for low in (57, 58, 59, 60):
        assert VERDICTS.index(chord("violin", (low, low + 12)).verdict) >= 1
        assert VERDICTS.index(chord("violin", (low, low + 14)).verdict) >= 2


def test_cello_fifths_and_sixths_lie_well() -> None:
    # Common practice, no source; stopped fifths still have to be tuned, so not all are easy.
    for low in range(36, 60):
        assert chord("cello", (low, low + 7)).verdict in ("easy", "possible")
        assert chord("cello", (low, low + 9)).verdict in ("easy", "possible")


@pytest.mark.parametrize("third", [3, 4])
def test_close_triads_of_stopped_notes_are_for_a_divided_section(third: int) -> None:
    # Two of the three share a string, or the little finger reaches back over the low strings.
    for name, low in (("violin", 55), ("viola", 48)):
        for root in range(low, low + 33):
            answer = chord(name, (root, root + third, root + 7))
            if 0 not in answer.fingers:
                assert answer.verdict in ("hard", "impossible")


@given(notes_for(), st.randoms(use_true_random=False))
def test_the_order_of_the_pitches_does_not_matter(
    case: tuple[str, list[int]], random: Random
) -> None:
    name, pitches = case
    shuffled = list(pitches)
    random.shuffle(shuffled)
    assert chord(name, shuffled) == chord(name, pitches)


@given(st.lists(st.integers(53, 100), min_size=1, max_size=4))
def test_a_lower_tuned_instrument_of_the_same_size_gives_the_same_answer(
    pitches: list[int],
) -> None:
    violin = instrument("violin")
    lower = tuple(pitch - 7 for pitch in violin.open_strings)
    retuned = replace(violin, id="small viola", open_strings=lower)
    high, low = chord(violin, pitches), chord(retuned, [pitch - 7 for pitch in pitches])
    assert (low.verdict, low.strings, low.fingers) == (high.verdict, high.strings, high.fingers)
    assert (low.stops_semitones, low.stretch_mm) == (high.stops_semitones, high.stretch_mm)
    assert (low.failure, low.sustained, low.cause) == (high.failure, high.sustained, high.cause)


@given(notes_for())
def test_an_answer_is_whole(case: tuple[str, list[int]]) -> None:
    name, pitches = case
    answer = chord(name, pitches)
    assert answer.pitches == tuple(sorted(pitches))
    assert answer.reason.endswith(".")
    assert answer.is_playable == (answer.verdict != "impossible")
    assert (answer.cause is None) == answer.is_playable
    assert len(answer.strings) == len(answer.fingers) == len(answer.stops_semitones)
    assert len(answer.strings) == (len(pitches) if answer.is_playable else 0)


def test_a_retuned_violin_changes_the_answer() -> None:
    # Lowest string tuned up to A, as in cross tunings: A3 and E4 become open strings.
    violin = instrument("violin")
    retuned = replace(violin, open_strings=(76, 69, 64, 57))
    assert chord(violin, (57, 64)).verdict == "possible"
    answer = chord(retuned, (57, 64))
    assert (answer.verdict, answer.fingers) == ("easy", (0, 0))


def test_a_larger_hand_can_be_asked_for() -> None:
    wide = replace(VIOLIN_HAND, comfortable_mm=(60.0, 100.0, 120.0))
    assert chord("violin", (57, 72)).verdict == "hard"
    assert chord("violin", (57, 72), hand=wide).verdict == "possible"


def test_note_names_follow_the_house_that_counts_octaves_otherwise() -> None:
    assert "G2 and B2" in chord("violin", (55, 59), middle_c_octave=3).reason


@pytest.mark.parametrize(
    ("name", "pitches", "words"),
    [
        ("kazoo", (60,), "Choose one of: violin"),
        ("violin", (), "one or more MIDI pitches"),
        ("violin", (60, 128), "from 0 to 127"),
        ("strings", (60,), "no strings to try"),
    ],
)
def test_a_question_without_sense_is_refused_in_words(
    name: str, pitches: tuple[int, ...], words: str
) -> None:
    with pytest.raises(BadBrief, match=words):
        chord(name, pitches)
