import numpy as np

from tests.phrases import phrase


def test_a_bend_that_moves_while_a_note_sounds_travels() -> None:
    part = phrase("violin 4/4 q=60 | A4:1 bend@2.2=50 bend@2.4=-50 bend@2.6=0 B4:1 C5:2 |")
    assert np.allclose(part.bend_travel_cents, [0, 200, 0], atol=0.5)


def test_a_value_sent_at_key_down_or_between_notes_is_no_travel() -> None:
    part = phrase("violin 4/4 q=60 | A4:1 bend@1.95=50 B4:1 bend@3=0 C5:2 |")
    assert part.bend_travel_cents.tolist() == [0, 0, 0]
    assert np.allclose(part.bend_at_onset_cents, [0, 50, 0], atol=0.5)


def test_without_bends_nothing_travels() -> None:
    assert phrase("violin 4/4 q=60 | A4:4 |").bend_travel_cents.tolist() == [0]
