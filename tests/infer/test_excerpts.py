import numpy as np

from mockcheck.infer.excerpts import excerpt, onset_of_notes
from mockcheck.infer.headroom import with_headroom
from mockcheck.model.session import Session, TrackChoice
from tests.phrases import phrase, played

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
    assert part.lines is not None
    assert few.lines is not None
    assert few.lines.line.tolist() == part.lines.line[rows].tolist()
    assert few.locate_onset(int(few.notes.onset_ticks[0])).bar == 2
    assert (few.players, few.instrument, few.session) == (8, part.instrument, part.session)
    assert few.fingering is None
    assert few.passages == ()


def test_what_sounds_together_is_found_anew() -> None:
    part = phrase(fast_run())
    chord = excerpt(part, np.array([len(part.notes) - 2, len(part.notes) - 1]))
    assert chord.sonorities.notes_at(0).tolist() == [0, 1]


def test_a_slur_is_not_taken_for_a_chord_when_the_next_note_is_gone() -> None:
    part = phrase("violin 4/4 q=60 players=8 | (A4:1 B4:1 C5:1 D5:1) |")
    few = excerpt(part, np.array([0, 2, 3]))
    assert [len(few.sonorities.notes_at(row)) for row in range(len(few.sonorities))] == [1, 1, 1]
    assert few.sonorities.struck.tolist() == [1, 1, 1]


def test_a_held_note_still_sounds_under_the_notes_that_are_kept() -> None:
    one_part = Session(tracks=(TrackChoice("*", instrument="violin", part="Violin"),))
    part = played("violin 4/4 | G3:4 |", "violin 4/4 | D4:1 E4:1 F4:1 G4:1 |", session=one_part)
    few = excerpt(part.parts[0], np.array([0, 1, 3]))
    sounding = [few.notes.pitch[few.sonorities.notes_at(row)].tolist() for row in range(2)]
    assert sounding == [[55, 62], [55, 65]]
    assert few.sonorities.struck.tolist() == [2, 1]


def test_notes_of_a_chord_begin_together() -> None:
    part = phrase("violin 4/4 q=60 players=8 | A4:1 G3+D4+B4:1 C5:2 |")
    assert onset_of_notes(part).tolist() == [0, 1, 1, 1, 2]
