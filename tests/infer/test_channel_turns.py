import numpy as np
import pytest

from mockcheck.infer.channel_turns import channels_take_turns
from mockcheck.infer.onsets import first_rows, group_onsets
from mockcheck.model.notes import Notes, concatenate_notes
from tests.infer.tracks import Row, line, notes_of

SCALE = [69, 71, 72, 74, 76, 74, 72, 71]
MUSIC = line(SCALE * 6, 0.4)


def on(*rows: tuple[int, list[Row]]) -> Notes:
    return concatenate_notes([notes_of(*own, channel=channel) for channel, own in rows])[0]


def take_turns(notes: Notes) -> bool:
    return channels_take_turns(notes, first_rows(group_onsets(notes.onset_s, notes.release_s)))


def stretches(length: int, channels: int) -> Notes:
    return on(
        *(
            (1 + begin // length % channels, MUSIC[begin : begin + length])
            for begin in range(0, len(MUSIC), length)
        )
    )


@pytest.mark.parametrize("channels", [2, 3, 6])
def test_stretches_of_one_line_take_turns(channels: int) -> None:
    assert take_turns(stretches(8, channels))


@pytest.mark.parametrize("channels", [2, 3, 6])
def test_notes_dealt_out_one_by_one_do_not(channels: int) -> None:
    assert not take_turns(stretches(1, channels))


def test_one_channel_has_no_turns_to_take() -> None:
    assert not take_turns(notes_of(*MUSIC))


def test_voices_that_begin_together_do_not() -> None:
    lower = [(pitch - 5, begin, end) for pitch, begin, end in MUSIC]
    assert not take_turns(on((1, MUSIC), (2, lower)))


def test_voices_that_answer_each_other_from_ranges_of_their_own_do_not() -> None:
    low = [(pitch - 12, begin, end) for pitch, begin, end in MUSIC[16:32]]
    assert not take_turns(on((1, MUSIC[:16] + MUSIC[32:]), (2, low)))


def test_voices_that_always_answer_from_one_height_do_not() -> None:
    chance = np.random.default_rng(0)
    answers = [
        (1 + place % 2, [(pitch - 12 * (place % 2), begin, end) for pitch, begin, end in own])
        for place in range(12)
        for own in [line(chance.integers(66, 79, 4).tolist(), 0.4, begin_s=1 + 1.6 * place)]
    ]
    assert not take_turns(on(*answers))
