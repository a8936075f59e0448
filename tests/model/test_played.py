import numpy as np

from mockcheck.model.played import LINE_KINDS, PartLines
from mockcheck.model.session import Session
from tests.phrases import phrase, played


def test_pitches_are_named_as_the_user_names_them() -> None:
    part = phrase("violin 4/4 q=100 | C4:4 |", Session(middle_c_octave=3))
    assert part.pitch_name(60) == "C3"


def test_the_notes_that_sound_together_are_listed_low_to_high() -> None:
    part = phrase("violin 4/4 q=100 | B4+G4:2 C5:2 |")
    rows = [part.notes.pitch[part.sonorities.notes_at(row)].tolist() for row in range(2)]
    assert rows == [[67, 71], [72]]
    assert len(part.sonorities) == 2


def test_articulations_are_read_by_name() -> None:
    part = phrase("violin 4/4 q=100 program=45 | C5:1 D5:1 E5:2 |")
    assert part.articulation.name(0) == "pizzicato"
    assert part.articulation.is_any("pizzicato", "tremolo").all()


def test_each_reviewed_row_knows_its_part() -> None:
    score = played("violin 4/4 q=100 | C5:4 |", "cello 4/4 | C3:4 |")
    part_of = score.part_of_role()
    assert [part_of[row].instrument.id for row in sorted(part_of)] == ["violin", "cello"]


def test_divided_players_read_their_line_and_one_player_reads_both() -> None:
    kinds = ["divisi", "divisi", "double stops", "double stops", "one line", "open"]
    lines = PartLines(
        np.array([0, 1, 0, 1, 0, 1]),
        np.full(6, 4),
        np.array([LINE_KINDS.index(kind) for kind in kinds], np.int8),
        np.ones(6),
    )
    assert lines.read_line.tolist() == [0, 1, 0, 0, 0, 0]
