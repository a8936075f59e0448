import numpy as np
import pytest

from mockcheck.infer.bowing import hear_bowing
from mockcheck.infer.slurs import number_slurs
from mockcheck.model.played import ARTICULATIONS
from tests.infer.tracks import Row, line, notes_of
from tests.phrases import phrase

SCALE = [60, 62, 64, 65]


def slurs(strokes: list[str], *rows: Row, said: bool = False) -> list[int]:
    code = np.array([ARTICULATIONS.index(name) for name in strokes], np.int8)
    bowing = hear_bowing(notes_of(*rows))
    return [int(number) for number in number_slurs(bowing, code, np.full(len(code), said))]


def test_silence_has_no_slurs() -> None:
    assert slurs([]) == []


def test_notes_that_run_into_each_other_share_a_bow() -> None:
    assert slurs(["legato"] * 4, *line(SCALE, 0.5, share=1.05)) == [0] * 4


def test_a_gap_ends_the_slur() -> None:
    rows = line(SCALE, 0.5, share=1.05)
    rows[1] = (62, 1.5, 1.9)
    assert slurs(["legato"] * 4, *rows) == [0, 0, 1, 1]


def test_a_repeated_pitch_ends_the_slur() -> None:
    rows = line([60, 62, 62, 64], 0.5, share=1.05)
    assert slurs(["legato"] * 4, *rows) == [0, 0, 1, 1]


def test_a_change_of_stroke_ends_the_slur_but_a_trill_is_none() -> None:
    rows = line(SCALE, 0.5, share=1.05)
    assert slurs(["legato", "legato", "detache", "detache"], *rows) == [0, 0, -1, -1]
    assert slurs(["legato", "trill", "legato", "legato"], *rows) == [0] * 4


def test_portato_goes_on_over_a_repeated_pitch() -> None:
    assert slurs(["portato"] * 4, *line([62] * 4, 0.5, share=1.0)) == [0] * 4


@pytest.mark.parametrize(("said", "slur"), [(True, 0), (False, -1)])
def test_a_small_gap_is_bridged_where_legato_is_said(said: bool, slur: int) -> None:
    assert slurs(["legato"] * 4, *line(SCALE, 0.2, share=0.9), said=said) == [slur] * 4


def test_separate_notes_have_bows_of_their_own() -> None:
    assert slurs(["detache"] * 4, *line(SCALE, 0.5)) == [-1] * 4


def test_notes_of_a_double_stop_share_the_slur() -> None:
    lower = line(SCALE, 0.5, share=1.05)
    upper = [(pitch + 9, on, off) for pitch, on, off in lower]
    assert slurs(["legato"] * 8, *lower, *upper) == [0] * 8


def test_slurs_of_a_phrase_are_those_written() -> None:
    part = phrase("violin 4/4 q=100 | (A4:1 B4:1 C5:1) D5:1 | (E5:1 F5:1) (E5:1 D5:1) | C5:4 |")
    assert part.slur is not None
    assert part.slur.tolist() == [0, 0, 0, -1, 1, 1, 2, 2, -1]
