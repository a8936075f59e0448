import numpy as np
import pytest

from mockcheck.infer.quick_lines import bars_of, quick_lines
from tests.phrases import phrase

SEMIQUAVERS = "violin 4/4 q=120 | G4:1/4 A4:1/4 B4:1/4 C5:1/4 D5:1/4 E5:1/4 F#5:1/4 G5:1/4 A5:2 |"


def test_fast_notes_are_one_line_with_their_rate() -> None:
    (line,) = quick_lines(phrase(SEMIQUAVERS), 6, 4)
    assert line.note_indices.tolist() == list(range(9))
    assert line.rate == pytest.approx(8)


def test_exactly_the_limit_is_fast_and_just_below_is_not() -> None:
    part = phrase(SEMIQUAVERS)
    assert len(list(quick_lines(part, 8, 4))) == 1
    assert list(quick_lines(part, 8.1, 4)) == []
    assert len(list(quick_lines(part, 6, 9))) == 1
    assert list(quick_lines(part, 6, 10)) == []


def test_a_rest_or_a_long_note_ends_a_line() -> None:
    part = phrase(SEMIQUAVERS.replace("D5:1/4 E5:1/4", "D5:1/4 r:1 E5:1/4"))
    assert [len(line.note_indices) for line in quick_lines(part, 6, 2)] == [5, 4]


def test_chords_and_trills_are_no_lines() -> None:
    chords = "violin players=1 4/4 q=120 | G3+D4:1/4 G3+D4:1/4 A3+E4:1/4 G3+D4:1/4 r:3 |"
    for line in quick_lines(phrase(chords), 6, 2):
        onset_s = phrase(chords).notes.onset_s[line.note_indices]
        assert (np.diff(onset_s) > 0.1).all()
    trill = f"violin 4/4 q=120 | {'G4:1/8 A4:1/8 ' * 16} |"
    assert list(quick_lines(phrase(trill), 6, 4)) == []


def test_a_line_is_cut_at_its_bar_lines() -> None:
    long = f"violin 2/4 q=120 | {'G4:1/4 A4:1/4 B4:1/4 C5:1/4 ' * 6} |"
    part = phrase(long)
    (line,) = quick_lines(part, 6, 4)
    bars = bars_of(part, line)
    assert [len(rows) for rows in bars] == [8, 8, 8]
    assert np.concatenate(bars).tolist() == line.note_indices.tolist()
