import numpy as np
import pytest

from mockcheck.grade.music import PieceMusic
from tests.grade.works import even_music, phrase_music

FOUR = "Violin 4/4 q=120 | G4:1 A4:1 B4:1 C5:1 | G4:1 A4:1 B4:1 C5:1 |"


def test_length_counts_the_beats_in_which_a_part_plays() -> None:
    assert phrase_music(FOUR).played_bars == 2
    assert even_music(bars=25).played_bars == 100


def test_rests_empty_bars_and_tempo_make_nothing_longer() -> None:
    resting = FOUR.replace("| G4:1 A4:1 B4:1 C5:1 | ", "| G4:1 A4:1 B4:1 C5:1 | r:4 | ")
    for other in (resting, FOUR.replace("q=120 |", "q=40 | r:4 | r:4 |")):
        assert phrase_music(other).played_bars == 2


def test_many_quick_notes_are_no_more_bars_than_one_long_one() -> None:
    quick = "Violin 4/4 q=60 | " + "G4:1/4 " * 16 + "|"
    assert phrase_music(quick).played_bars == phrase_music("Violin 4/4 q=60 | G4:4 |").played_bars


def test_short_strokes_fill_their_beats() -> None:
    assert phrase_music("Violin 4/4 q=60 | G4:1. A4:1. B4:1. C5:1. |").played_bars == 1


def test_bars_and_seconds_begin_with_the_first_note() -> None:
    late = phrase_music(FOUR.replace("q=120 |", "q=120 | r:4 | r:4 |"))
    assert late.bars == phrase_music(FOUR).bars == 2
    assert late.seconds == pytest.approx(phrase_music(FOUR).seconds)
    assert late.parts[0].bar.tolist() == [3, 3, 3, 3, 4, 4, 4, 4]


def test_columns_are_read_only_and_equally_long() -> None:
    part = phrase_music(FOUR).parts[0]
    assert not part.pitch.flags.writeable
    assert len(part.pitch) == len(part.onset_s) == 8
    assert np.all(np.diff(part.onset_quarters) > 0)


def test_music_written_and_read_is_the_same() -> None:
    music = phrase_music(FOUR)
    again = PieceMusic.from_json(music.to_json())
    assert again.to_json() == music.to_json()
    assert again.played_bars == music.played_bars
    for own, other in zip(music.parts, again.parts, strict=True):
        assert np.array_equal(own.onset_s, other.onset_s)
        assert other.pitch.dtype == own.pitch.dtype
