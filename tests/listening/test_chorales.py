from tests.listening.chorales import ChoraleNote, chorales, measure_chorales


def test_chorales_are_four_voices_on_one_track() -> None:
    name, notes = next(chorales(every=48))
    assert name.startswith("bwv")
    assert {line for note in notes for line in note.lines} == {0, 1, 2, 3}
    assert all(isinstance(note, ChoraleNote) and note.release > note.onset for note in notes)
    keys = [(note.onset, note.pitch) for note in notes]
    assert keys == sorted(set(keys))


def test_lines_of_chorales_are_told_apart() -> None:
    # J. S. Bach's chorales of the music21 corpus; the contig method of Chew and Wu (2004) as
    # partitura has it is the published yardstick, and nothing of ours was tuned on chorales.
    count, (ours, by_height, contigs) = measure_chorales(every=48)
    assert count > 1000
    assert ours >= 0.97
    assert ours > by_height
    assert ours >= contigs - 0.005
