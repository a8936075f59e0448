import xml.etree.ElementTree as ET
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import mockcheck
from mockcheck.model.played import PlayedScore
from mockcheck.notation import musicxml, notate
from tests.accuracy.corpus import music21_folder, music21_works
from tests.notation.reading_back import (
    as_in_the_file,
    by_music21,
    by_partitura,
    faults,
    on_the_page,
)
from tests.notation.together import played_together
from tests.phrases import phrase, played

FIXTURES = Path(__file__).parent.parent.parent / "fixtures"
DEMO = FIXTURES / "demo" / "harbour_at_dawn.mid"
QUARTETS = sorted((FIXTURES / "quartets").glob("*.mid"))
MOVEMENTS = (
    "beethoven/opus18no1/movement1.mxl",
    "beethoven/opus59no1/movement1.mxl",
    "beethoven/opus59no3/movement4.mxl",
    "haydn/opus1no1/movement1.mxl",
    "haydn/opus74no1/movement2.mxl",
    "haydn/opus74no1/movement4.mxl",
    "mozart/k155/movement1.mxl",
    "mozart/k156/movement2.mxl",
    "mozart/k458/movement3.mxl",
    "mozart/k80/movement1.mxl",
)
VERSIONS = ("3.1", "4.0")
"""MusicXML 4.0 added elements to 3.1 and took none away that are written here."""


def document(*phrases: str, with_fingering: bool = False) -> ET.Element:
    """The MusicXML of phrases, validated."""
    text = musicxml(played(*phrases).parts, "Study", with_fingering=with_fingering)
    assert_valid(text)
    return ET.fromstring(text)


def assert_valid(text: str) -> None:
    assert VERSIONS
    for version in VERSIONS:
        assert faults(text, version) == []


def assert_reads_back(score: PlayedScore, *, is_quantised: bool) -> None:
    """Valid, and the same notes at the same places for two readers and, if quantised, the file."""
    text = musicxml(score.parts, "Read back")
    assert_valid(text)
    notated = [notate(part, beside=score.parts) for part in score.parts]
    expected = on_the_page(notated)
    assert sum(expected.values()) > 0
    assert by_music21(text) == expected
    assert by_partitura(text, [part.written_octaves for part in notated]) == expected
    if is_quantised:
        assert expected == as_in_the_file(score)


def test_a_score_says_title_parts_and_version() -> None:
    root = document("violin 4/4 q=90 | A4:4 |", "cello 4/4 | A2:4 |")
    assert (root.tag, root.get("version")) == ("score-partwise", "4.0")
    assert root.findtext("work/work-title") == "Study"
    assert [row.text for row in root.iter("part-name")] == ["Violin", "Cello"]
    assert [row.text for row in root.iter("instrument-sound")] == [
        "strings.violin",
        "strings.cello",
    ]


def test_metre_key_clef_and_tempo_stand_in_the_first_bar() -> None:
    root = document("viola 6/8 q=90 key=-2 | G4:3 | A4:3 |")
    first, second = root.findall("part/measure")
    assert first.findtext("attributes/key/fifths") == "-2"
    assert first.findtext("attributes/time/beats") == "6"
    assert first.findtext("attributes/clef/sign") == "C"
    assert first.find("direction/direction-type/metronome/beat-unit-dot") is not None
    assert first.findtext("direction/direction-type/metronome/per-minute") == "60"
    assert second.find("attributes") is None


def test_all_parts_have_the_same_measures() -> None:
    root = document("violin 4/4 q=90 | A4:4 | B4:4 | C5:4 |", "cello 4/4 | A2:4 |")
    numbers = [[bar.get("number") for bar in part] for part in root.findall("part")]
    assert numbers == [["1", "2", "3"]] * 2
    assert root.findall("part")[1].find("measure[3]/note/rest") is not None


def test_a_bass_is_transposed_by_an_octave() -> None:
    root = document("double bass 4/4 q=90 | E2:4 |")
    assert root.findtext(".//transpose/octave-change") == "-1"
    # E2 sounds at 40 in the phrase; players of the bass read E3.
    assert root.findtext(".//pitch/octave") == "3"


def test_slurs_dots_words_and_slides_have_their_elements() -> None:
    root = document(
        "violin 1 4/4 q=90 | (A4:1 B4:1) C5:2> | E5:2 r:2 | r:4 |",
        "violin 1 pizz 4/4 | r:4 | r:4 | C5:1 D5:1 r:2 |",
        "viola staccato 4/4 | A4:1. B4:1. A4:1. B4:1. | A4:4 | A4:4 |",
    )
    assert [slur.get("type") for slur in root.iter("slur")] == ["start", "stop"]
    assert [slide.get("type") for slide in root.iter("slide")] == ["start", "stop"]
    assert [words.text for words in root.iter("words")] == ["pizz."]
    assert [sound.get("pizzicato") for sound in root.iter("sound") if sound.get("pizzicato")] == [
        "yes"
    ]
    assert len(list(root.iter("staccato"))) >= 4


def test_tremolo_and_trills_are_ornaments() -> None:
    root = document("violin tremolo 4/4 q=90 | A4:2 B4:2 |", "viola trill 4/4 | A4:4 |")
    assert [strokes.text for strokes in root.iter("tremolo")] == ["3", "3"]
    assert len(list(root.iter("trill-mark"))) == 1


def test_an_artificial_harmonic_shows_stop_diamond_and_sound() -> None:
    root = document("violin harmonics 4/4 q=60 | D6:2 Eb7:2 |")
    natural, *artificial = root.findall(".//note")
    assert natural.find("notations/technical/harmonic/natural") is not None
    kinds = [next(iter(note.iter("artificial"))) for note in artificial[:3]]
    assert len(kinds) == 3
    assert [note.find("chord") is not None for note in artificial[:3]] == [False, True, True]
    assert artificial[1].findtext("notehead") == "diamond"
    sounding = artificial[2]
    assert sounding.find("notations/technical/harmonic/sounding-pitch") is not None
    assert (sounding.findtext("pitch/step"), sounding.findtext("pitch/octave")) == ("E", "7")


def test_fingering_is_printed_on_request() -> None:
    text = "violin 4/4 q=90 | G3:1 B4:1 C5:2 |"
    assert list(document(text).iter("string")) == []
    root = document(text, with_fingering=True)
    assert next(iter(root.iter("string"))).text == "4"
    assert root.find(".//open-string") is not None
    assert {finger.text for finger in root.iter("fingering")} <= set("1234T")


def test_short_bars_are_implicit() -> None:
    brief = {"tracks": [{"match": "*", "instrument": "violin"}]}
    score = mockcheck.play(mockcheck.load(FIXTURES / "quirks" / "pickup_bar.mid"), brief)
    text = musicxml(score.parts, "Pick-up")
    assert_valid(text)
    assert ET.fromstring(text).find("part/measure").get("implicit") == "yes"  # type: ignore[union-attr]  # one is there


def test_bars_of_a_range_are_written_as_they_are() -> None:
    part = phrase("violin 4/4 q=90 | A4:4 | B4:6 | C5:2 D5:2 | E5:4 |")
    for spelling in ("as it reads well", "as imported"):
        text = musicxml([notate(part, 3, 4, spelling)], "Bars 3 and 4")
        assert_valid(text)
        root = ET.fromstring(text)
        assert [bar.get("number") for bar in root.findall("part/measure")] == ["3", "4"]
        # The tie that comes from bar 2 has no beginning here.
        assert list(root.iter("tie")) == []


def test_titles_are_escaped_and_hold_no_control_characters() -> None:
    text = musicxml([phrase("violin 4/4 q=90 | A4:4 |")], 'Storm & "Calm" <1>\x07')
    assert_valid(text)
    assert ET.fromstring(text).findtext("work/work-title") == 'Storm & "Calm" <1>'


@settings(max_examples=25)
@given(
    st.lists(
        st.tuples(st.integers(0, 60), st.integers(1, 24), st.integers(55, 80)),
        min_size=1,
        max_size=30,
    )
)
def test_whatever_is_played_gives_a_valid_document(notes: list[tuple[int, int, int]]) -> None:
    part = played_together([(onset / 6, length / 6, pitch) for onset, length, pitch in notes])
    text = musicxml([part], "Anything", with_fingering=True)
    assert_valid(text)
    assert by_music21(text) == on_the_page([notate(part)])


def test_parts_with_different_bars_are_refused() -> None:
    part = phrase("violin 4/4 q=90 | A4:4 | B4:4 |")
    with pytest.raises(ValueError, match="same bars"):
        musicxml([notate(part, 1, 1), notate(part, 2, 2)], "Two bars")
    with pytest.raises(ValueError, match="needs parts"):
        musicxml([], "Nothing")


def test_accidentals_are_printed_where_they_are_needed() -> None:
    root = document("violin 4/4 q=120 key=0 | G4:1 G#4:1 A4:2 | G4:4 |")
    signs = [(sign.text, sign.get("cautionary")) for sign in root.iter("accidental")]
    assert signs == [("sharp", None), ("natural", "yes")]


def test_the_demo_reads_back() -> None:
    score = mockcheck.play(mockcheck.load(DEMO))
    assert_reads_back(score, is_quantised=False)
    # No note is lost on the way from the file either: grace notes are the rest.
    notated = [notate(part, beside=score.parts) for part in score.parts]
    begun = Counter(
        (number, note)
        for number, part in enumerate(notated)
        for _, _, event in part.events()
        for head in event.heads
        if not head.is_tied_from
        for note in head.note_indices
    )
    assert begun.total() == sum(len(part.notes) for part in score.parts)
    assert set(begun.values()) == {1}


@pytest.mark.slow
@pytest.mark.parametrize("path", QUARTETS, ids=lambda path: path.stem)
def test_published_quartets_read_back(path: Path) -> None:
    assert_reads_back(mockcheck.play(mockcheck.load(path)), is_quantised=True)


@pytest.mark.slow
@pytest.mark.parametrize("movement", MOVEMENTS)
def test_movements_of_the_corpus_read_back(movement: str, tmp_path: Path) -> None:
    if music21_folder() is None:
        pytest.skip("the corpus is not installed")
    (work,) = music21_works(tmp_path, (movement,))
    assert_reads_back(mockcheck.play(mockcheck.load(work.path)), is_quantised=True)
