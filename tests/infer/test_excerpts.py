import numpy as np

from mockcheck.infer.excerpts import excerpt
from mockcheck.infer.headroom import with_headroom
from tests.phrases import phrase

RUN = "D4 E4 F#4 G4 A4 B4 C#5 D5 E5 F#5 G5 A5".split()


def fast_run() -> str:
    fast = " ".join(f"{name}:1/12" for name in RUN)
    return f"violin 4/4 q=120 players=8 | A4:2 B4:2 | ({fast} B5:3) | A5:2 G5+B4:2 |"


def test_the_whole_part_as_an_excerpt_is_as_fast_as_the_part() -> None:
    part = phrase(fast_run())
    whole = with_headroom(excerpt(part, np.arange(len(part.notes))))
    assert whole.passages == part.passages
    assert whole.headroom == part.headroom


def test_an_excerpt_keeps_its_notes_their_places_and_its_players() -> None:
    part = phrase(fast_run())
    rows = np.arange(2, 15)
    few = excerpt(part, rows)
    assert few.notes.pitch.tolist() == part.notes.pitch[rows].tolist()
    assert few.notes.onset_ticks.tolist() == part.notes.onset_ticks[rows].tolist()
    assert few.articulation.code.tolist() == part.articulation.code[rows].tolist()
    assert few.locate_onset(int(few.notes.onset_ticks[0])).bar == 2
    assert (few.players, few.instrument, few.session) == (8, part.instrument, part.session)
    assert few.fingering is None
    assert few.passages == ()


def test_what_sounds_together_is_found_anew() -> None:
    part = phrase(fast_run())
    chord = excerpt(part, np.array([len(part.notes) - 2, len(part.notes) - 1]))
    assert chord.sonorities.notes_at(0).tolist() == [0, 1]
