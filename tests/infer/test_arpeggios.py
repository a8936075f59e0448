import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.infer.arpeggios import arpeggios, stray_notes
from tests.phrases import phrase

CHORDS = st.sampled_from([(0, 4, 7), (0, 3, 7), (0, 4, 7, 10), (0, 3, 6, 9), (0, 4, 8)])


def broken(root: int, chord: tuple[int, ...], notes: int) -> list[int]:
    return [root + 12 * (k // len(chord)) + chord[k % len(chord)] for k in range(notes)]


@given(CHORDS, st.integers(48, 60), st.integers(4, 12))
def test_broken_chords_have_no_stray_notes(chord: tuple[int, ...], root: int, notes: int) -> None:
    assert stray_notes(np.array(broken(root, chord, notes))) == ()


@given(CHORDS, CHORDS, st.integers(48, 60), st.integers(48, 60))
def test_nor_has_one_chord_after_another(
    chord: tuple[int, ...], other: tuple[int, ...], root: int, second: int
) -> None:
    assert stray_notes(np.array(broken(root, chord, 4) + broken(second, other, 4))) == ()


def test_a_note_that_fits_no_chord_beside_it_is_stray() -> None:
    assert stray_notes(np.array([60, 64, 67, 72, 61, 60, 64, 67, 72])) == (4,)


@given(st.lists(st.integers(40, 90), max_size=14))
def test_strays_are_the_fewest_of_all_divisions(pitch: list[int]) -> None:
    notes = np.array(pitch, np.int64)

    def fewest(first: int) -> int:
        if first == len(notes):
            return 0
        best = 1 + fewest(first + 1)
        for after in range(first + 4, len(notes) + 1):
            if stray_notes(notes[first:after]) == () and after - first < 6:
                best = min(best, fewest(after))
        return best

    assert len(stray_notes(notes)) <= fewest(0)


def test_leaps_are_cut_out_of_the_line_they_stand_in() -> None:
    notes = (
        "C4:1/4 E4:1/4 G4:1/4 C5:1/4 E5:1/4 G5:1/4 C6:1/4 G5:1/4 F5:1/4 E5:1/4 D5:1/4 C5:1/4 r:1"
    )
    (figure,) = arpeggios(phrase(f"violin 4/4 q=120 | {notes} |"), 6, 8)
    assert figure.note_indices.tolist() == list(range(8))
    assert figure.stray == ()
