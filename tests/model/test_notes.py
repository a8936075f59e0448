import numpy as np

from mockcheck.model.notes import Notes, concatenate_notes
from mockcheck.read import read_bytes
from tests.phrases import midi_bytes


def notes_of(*parts: str) -> list[Notes]:
    score = read_bytes(midi_bytes(*parts), "test.mid")
    return [track.notes for track in score.tracks[1:]]


def test_one_row_as_a_record_of_plain_numbers() -> None:
    note = notes_of("violin 4/4 q=120 | r:1 A4:1 |")[0].note(0)
    assert (note.pitch, note.onset_ticks, note.release_ticks) == (69, 480, 912)
    assert type(note.onset_s) is float


def test_selected_rows_keep_all_columns() -> None:
    notes = notes_of("violin 4/4 q=120 | A4:1 B4:1 C5:2 |")[0]
    chosen = notes.select(np.array([True, False, True]))
    assert chosen.pitch.tolist() == [69, 72]
    assert chosen.duration_s.tolist() == notes.duration_s[[0, 2]].tolist()


def test_joined_tables_are_sorted_and_know_where_each_row_is_from() -> None:
    tables = notes_of("violin 4/4 q=120 | A4:1 r:1 C5:1 |", "violin 4/4 | E4:1 B4:1 C4:1 |")
    joined, origin = concatenate_notes(tables)
    assert joined.pitch.tolist() == [64, 69, 71, 60, 72]
    assert origin.tolist() == [1, 0, 1, 1, 0]
