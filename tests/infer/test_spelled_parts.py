from dataclasses import replace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.infer.spelled_parts import as_imported, spell_parts
from mockcheck.model.played import LINE_KINDS, PartLines
from mockcheck.model.spelled import is_in_key, letter_name
from tests.phrases import phrase, played

E_MAJOR = "E4:1 F#4:1 G#4:1 A4:1 | B4:1 C#5:1 D#5:1 E5:1 | " * 4


def spelled(text: str) -> list[str]:
    spelling = phrase(text).spelling
    assert spelling is not None
    return [letter_name(place) for place in spelling.fifths.tolist()]


def test_every_part_is_spelled_note_by_note() -> None:
    for part in played(f"violin 4/4 q=100 | {E_MAJOR}", "cello 4/4 q=100 | E2:4 | B2:4 |").parts:
        assert part.spelling is not None
        assert len(part.spelling.fifths) == len(part.notes)
        sounding = 7 * part.spelling.fifths.astype(np.int64) % 12
        assert (sounding == part.notes.pitch % 12).all()


def test_a_scale_is_spelled_in_its_key_with_and_without_a_signature() -> None:
    for key in ("", " key=4", " key=0"):
        assert spelled(f"violin 4/4 q=100{key} | {E_MAJOR}")[:8] == "E F# G# A B C# D# E".split()


def test_a_signature_that_fights_the_notes_is_written_down_but_not_believed() -> None:
    spelling = phrase(f"violin 4/4 q=100 key=0 | {E_MAJOR}").spelling
    assert spelling is not None
    assert spelling.has_signature.all()
    assert set(spelling.signature_fifths.tolist()) == {0}
    assert set(spelling.key_fifths.tolist()) == {4}


def test_without_a_signature_an_import_takes_none() -> None:
    spelling = phrase(f"violin 4/4 q=100 | {E_MAJOR}").spelling
    assert spelling is not None
    assert not spelling.has_signature.any()
    assert [letter_name(place) for place in spelling.as_imported[:8].tolist()] == (
        "E F# G# A B C# Eb E".split()
    )


@given(st.integers(-7, 7), st.lists(st.integers(0, 127), min_size=1, max_size=20))
def test_an_import_spells_each_pitch_class_one_way_and_the_key_without_accidentals(
    key: int, pitch: list[int]
) -> None:
    notes, keys = np.array(pitch, np.int64), np.full(len(pitch), key)
    places = as_imported(notes, keys)
    assert (7 * places % 12 == notes % 12).all()
    assert (abs(places - key - 2.5) <= 5.5).all()
    assert (is_in_key(places, keys) == ((7 * notes - key + 1) % 12 <= 6)).all()


def test_slow_notes_keep_their_augmented_second_and_fast_ones_do_not() -> None:
    figure = "B4:{0} C5:{0} D#5:{0} E5:{0} F#5:{0} E5:{0} D#5:{0} C5:{0} "
    tail = "B4:{0} C5:{0} D#5:{0} F#5:{0} "
    before = "E4:1 F#4:1 G4:1 | B4:1 D#4:1 E4:1 | "
    slow = spelled(f"violin 3/4 q=60 key=1 | {before}{(figure + tail).format(1)} |")
    fast = spelled(f"violin 3/4 q=120 key=1 | {before}{(figure + tail).format('1/4')} |")
    assert "D#" in slow
    assert "Eb" not in slow
    assert "Eb" in fast[6:]


def test_a_part_without_notes_has_an_empty_spelling() -> None:
    score = played("violin 4/4 q=100 | C5:1 r:3 |", "viola 4/4 q=100 | C4:4 |")
    assert all(part.spelling is not None for part in score.parts)


def bars_of_quarters(notes: list[str]) -> str:
    return " | ".join(" ".join(f"{note}:1" for note in notes[at : at + 4]) for at in (0, 4))


def test_a_divided_part_is_spelled_as_its_lines_would_be_as_parts() -> None:
    upper = "C5 C#5 D5 C#5 B4 B4 C#5 Eb5".split()
    lower = "C4 Bb3 A3 B3 Bb3 A3 B3 C#4".split()
    music = "violin players=12 4/4 q=100 key=0 |"
    alone = played(
        f"Violin 1 {music[6:]} {bars_of_quarters(upper)} |",
        f"Violin 2 {music[6:]} {bars_of_quarters(lower)} |",
    )
    both = [f"{high}+{low}" for high, low in zip(upper, lower, strict=True)]
    score = played(f"{music} {bars_of_quarters(both)} |")
    (together,) = score.parts
    lines = PartLines(
        (np.arange(16) % 2 == 0).astype(np.int64),
        np.full(16, 6),
        np.full(16, LINE_KINDS.index("divisi"), np.int8),
        np.ones(16),
    )
    (divided,) = spell_parts(score.score, [replace(together, lines=lines)])
    (one_reader,) = spell_parts(score.score, [replace(together, lines=None)])
    assert divided.spelling is not None
    assert one_reader.spelling is not None
    for line, part in enumerate(alone.parts):
        assert part.spelling is not None
        own = divided.spelling.fifths[lines.line == line]
        assert own.tolist() == part.spelling.fifths.tolist()
    # Read zigzag by one player the neighbour below the B is an A sharp.
    lower_names = [letter_name(place) for place in divided.spelling.fifths[::2].tolist()]
    assert lower_names[:3] == ["C", "Bb", "A"]
    assert divided.spelling.fifths.tolist() != one_reader.spelling.fifths.tolist()
