import numpy as np
import pytest

from mockcheck.infer.heard_strokes import HeardStrokes, hear_strokes
from mockcheck.model.notes import concatenate_notes
from mockcheck.model.played import ARTICULATIONS
from tests.infer.tracks import Row, line, notes_of

SCALE = [60, 62, 64, 65, 67, 69, 71, 72]


def hear(*tracks: list[Row], unnamed: list[int] | None = None) -> HeardStrokes:
    notes, row = concatenate_notes([notes_of(*rows) for rows in tracks])
    switch = np.full(len(notes), -1) if unnamed is None else np.array(unnamed)
    return hear_strokes(notes, row, switch)


def names(heard: HeardStrokes) -> list[str]:
    return [ARTICULATIONS[code] for code in heard.code]


def test_silence_is_heard_as_nothing() -> None:
    heard = hear([])
    assert names(heard) == []
    assert len(heard.slurs(heard.code, np.zeros(0, bool))) == 0


def test_a_line_spread_over_a_track_for_each_pitch_is_heard_as_one_line() -> None:
    rows = line(SCALE * 3, 0.12, share=1.0)
    apart = hear(*([row for row in rows if row[0] == pitch] for pitch in SCALE))
    together = hear(rows)
    assert names(apart) == names(together) == ["detache"] * 24
    assert np.array_equal(apart.chances, together.chances)


def test_tracks_that_sound_together_are_heard_apart() -> None:
    long, short = line(SCALE, 1.0, share=0.85), line(SCALE * 4, 0.25, share=0.4)
    heard = hear(long, short)
    strokes = np.array(names(heard))
    is_long = np.isin(np.arange(len(strokes)), heard.lines[0][0])
    assert set(strokes[is_long]) == {"detache"}
    assert set(strokes[~is_long]) == {"staccato"}


def test_notes_under_one_unnamed_switch_are_heard_alike() -> None:
    # A few notes of a middling length among short ones, far apart so that no passage decides.
    rows = [row for k in range(8) for row in line([60, 62], 0.4, 0.45, begin_s=4.0 * k)]
    rows += line([64, 65], 0.4, 0.64, begin_s=40.0)
    free, under_one = hear(rows), hear(rows, unnamed=[0] * 18)
    assert names(under_one)[16:] == ["staccato"] * 2
    odds = [heard.chances[16, 4] / heard.chances[16, 1] for heard in (free, under_one)]
    assert odds[1] > odds[0]
    assert np.all(under_one.confidence < free.confidence)


@pytest.mark.parametrize(
    ("said", "agrees"),
    [("staccato", True), ("spiccato", True), ("legato", False), ("detache", False)],
)
def test_short_notes_support_short_strokes(said: str, agrees: bool) -> None:
    heard = hear(line(SCALE, 0.4, share=0.45))
    code = np.full(8, ARTICULATIONS.index(said), np.int8)
    support = heard.support(np.arange(8), code)
    assert np.all((support > 0) == agrees)


@pytest.mark.parametrize("said", ["pizzicato", "harmonic", "tremolo", "trill", "col legno"])
def test_notes_do_not_contradict_what_timing_does_not_show(said: str) -> None:
    heard = hear(line(SCALE, 0.4, share=1.1))
    code = np.full(8, ARTICULATIONS.index(said), np.int8)
    assert not heard.support(np.arange(8), code).any()


def test_slurs_of_several_lines_have_numbers_of_their_own() -> None:
    heard = hear(line(SCALE, 0.5, share=1.05), line(SCALE, 0.5, share=1.05, begin_s=1.2))
    slur = heard.slurs(heard.code, np.zeros(16, bool))
    numbers = [set(slur[rows].tolist()) for rows, _ in heard.lines]
    assert numbers == [{0}, {1}]
