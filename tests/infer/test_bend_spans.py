import numpy as np

from mockcheck.infer.bend_spans import is_joined, next_spans, note_spans, values_at
from mockcheck.model.notes import concatenate_notes
from tests.infer.tracks import curve, notes_of


def test_a_note_owns_the_bend_until_the_next_one_or_until_it_ends() -> None:
    spans = note_spans(notes_of((60, 1, 2.05), (64, 2, 2.95), (67, 3, 3.5), (65, 6, 7)), (1,))
    assert spans.begin_s.tolist() == [1, 2, 3, 6]
    assert spans.until_s.tolist() == [2, 3, 3.5, 7]
    # The sound of the second ends before its claim does.
    assert spans.release_s.tolist() == [2, 2.95, 3.5, 7]


def test_the_top_note_of_a_chord_owns_its_bend() -> None:
    spans = note_spans(notes_of((60, 1, 2), (67, 1, 2), (62, 2, 3), (69, 2, 3)), (1,))
    assert spans.note.tolist() == [1, 3]
    assert spans.group.tolist() == [0, 1]


def test_a_channel_without_notes_has_no_spans() -> None:
    assert len(note_spans(notes_of((60, 1, 2)), (5,))) == 0


def test_notes_are_joined_over_a_small_gap_only() -> None:
    at = np.array
    joined = is_joined(at([0.0, 0.0, 0.0]), at([0.95, 0.8, 0.5]), at([1.0, 1.0, np.inf]))
    assert joined.tolist() == [True, False, False]


def test_pairs_lead_from_each_onset_to_all_notes_of_the_next() -> None:
    rows = [(2, 60, 1, 2), (3, 64, 1, 2), (4, 62, 2, 3), (5, 65, 2, 3), (2, 67, 5, 6)]
    notes, _ = concatenate_notes([notes_of((p, a, b), channel=c) for c, p, a, b in rows])
    left, right = next_spans(note_spans(notes, (2, 3, 4, 5)))
    # After the rest nothing leads on.
    assert sorted(zip(left.tolist(), right.tolist(), strict=True)) == [
        (0, 2), (0, 3), (1, 2), (1, 3),
    ]  # fmt: skip


def test_the_bend_is_read_from_the_channel_of_each_span() -> None:
    notes, _ = concatenate_notes([notes_of((60, 1, 2), channel=2), notes_of((64, 2, 3), channel=3)])
    spans = note_spans(notes, (2, 3))
    bends = {2: curve([(1.5, 50)]), 3: curve([(2.0, -30)])}
    rows, at_s = np.array([0, 1]), np.array([2.0, 2.0])
    assert values_at(spans, bends, rows, at_s, side="left").tolist() == [50, 0]
    assert values_at(spans, bends, rows, at_s, side="right").tolist() == [50, -30]
