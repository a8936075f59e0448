from mockcheck.infer.summary import summarise
from tests.phrases import played


def test_a_row_counts_notes_range_and_rate() -> None:
    row = summarise(played("violin 4/4 q=60 | A4:1 B4:1/2 C5:1/2 E5:2 |", "cello 4/4 | C3:4 |"))[1]
    assert (row.notes, row.lowest, row.highest) == (4, 69, 76)
    assert row.peak_notes_per_s == 2
    assert row.mean_notes_per_s is not None
    assert abs(row.mean_notes_per_s - 4 / 3.8) < 0.01
    assert row.headroom is not None
    assert row.headroom > 1
    assert row.headroom_at is not None
    assert row.headroom_at.bar == 1


def test_slides_are_set_against_joins_and_minutes() -> None:
    music = "violin 4/4 q=60 | A4:1> E5:1 C5:1> G4:1 | (A4:1 C5:1 A4:1 D5:1) |"
    row = summarise(played(music))[1]
    assert row.slides == 2
    # Three joins without a rest, all within the slur, and the two that slide.
    assert row.slides_per_100_transitions == 40
    assert row.slides_per_minute == round(60 * 2 / 7.9, 2)


def test_left_out_rows_keep_their_reason_and_count() -> None:
    rows = summarise(played("violin 4/4 q=60 | A4:4 |", "flute 4/4 | A5:2 B5:2 |"))
    assert (rows[2].left_out, rows[2].notes) == ("the name says flute", 2)
    assert rows[0].left_out == "no notes"
    assert rows[1].left_out is None


def test_articulations_are_given_in_seconds() -> None:
    row = summarise(played("violin 4/4 q=60 program=45 | A4:1 B4:1 C5:2 |"))[1]
    assert dict(row.articulations) == {"pizzicato": 3.6}
