import pytest

from mockcheck.read.oddities import LONG_GAP_S
from tests.read.building import (
    bend,
    codes,
    control,
    meta,
    off,
    on,
    program,
    score_of,
    track,
)

# What counts as odd is our choice, no source, except channel 10 and the programs, which are
# General MIDI System Level 1.


def codes_of(*events: bytes) -> list[str]:
    return codes(score_of(track(*events)))


def test_plain_music_has_no_oddities() -> None:
    assert codes_of(on(0, 60), off(480, 60), on(0, 60), off(480, 60)) == []


def test_notes_of_no_length_are_counted_once_for_a_track() -> None:
    empty = on(10, 60) + off(0, 60)
    score = score_of(track(empty, empty, empty), track(empty))
    assert codes(score) == ["zero-length-notes"] * 2
    assert "Kept 3 notes" in score.warnings[0].message
    assert "Kept 1 note of" in score.warnings[1].message


@pytest.mark.parametrize(("overlap", "expected"), [(0, []), (1, ["same-key-overlap"])])
def test_a_key_struck_while_it_is_down_is_flagged(overlap: int, expected: list[str]) -> None:
    turn = [on(480, 60), off(overlap, 60)]
    assert codes_of(on(0, 60), *turn, off(480, 60)) == expected


def test_legato_on_two_keys_is_no_overlap_of_one_key() -> None:
    assert codes_of(on(0, 60), on(480, 62), off(10, 60), off(480, 62)) == []


def test_notes_without_an_end_are_flagged() -> None:
    assert codes_of(on(0, 60), meta(1, b"end", 480)) == ["hanging-notes"]


def test_key_ups_without_a_note_are_flagged() -> None:
    score = score_of(track(off(0, 61), on(0, 60), off(480, 60)))
    assert codes(score) == ["note-off-without-note"]
    assert "1 key up" in score.warnings[0].message


@pytest.mark.parametrize(
    ("events", "is_flagged"),
    [
        ([on(0, 60), bend(240, 2048), off(240, 60), on(0, 62), off(480, 62)], True),
        ([on(0, 60), bend(240, 2048), off(240, 60), bend(0, 0), on(0, 62), off(9, 62)], False),
        ([on(0, 60), bend(240, 2048), off(240, 60), on(0, 62), bend(0, 0), off(9, 62)], False),
        ([on(0, 60), off(480, 60), bend(10, 2048), on(10, 62), off(9, 62)], False),
        ([bend(0, 2048), on(10, 60), off(480, 60)], False),
        ([on(0, 60), bend(240, 2048, 2), off(240, 60), on(0, 62), off(480, 62)], False),
    ],
)
def test_only_a_bend_from_an_earlier_note_is_left_over(
    events: list[bytes], is_flagged: bool
) -> None:
    assert ("bend-left-over" in codes_of(*events)) is is_flagged


def test_in_an_mpe_zone_no_bend_is_left_over() -> None:
    setup = control(0, 101, 0) + control(0, 100, 6) + control(0, 6, 3)
    line = [on(0, 60, 2), bend(240, 2048, 2), off(240, 60, 2), on(0, 62, 2), off(480, 62, 2)]
    assert codes_of(setup, *line) == []


@pytest.mark.parametrize(
    ("extra", "is_flagged"),
    [
        (meta(3, b"Violas"), True),
        (meta(4, b"1. Geige"), True),
        (meta(3, b"Vln 1"), True),
        (program(0, 41, 10), True),
        (program(0, 48, 10), True),
        (meta(3, b"Drums"), False),
        (program(0, 47, 10), False),
        (b"", False),
    ],
)
def test_strings_on_channel_10_are_pointed_out(extra: bytes, is_flagged: bool) -> None:
    found = codes_of(extra, on(0, 60, 10), off(480, 60, 10))
    assert found == (["channel-10"] if is_flagged else [])


def test_violas_on_another_channel_are_nothing_odd() -> None:
    assert codes_of(meta(3, b"Violas"), on(0, 60, 9), off(480, 60, 9)) == []


@pytest.mark.parametrize("is_long", [False, True])
def test_an_hour_without_an_event_is_hard_to_believe(is_long: bool) -> None:
    # 120 a minute and 480 ticks in a quarter: 960 ticks a second.
    ticks = round(LONG_GAP_S * 960) + is_long
    score = score_of(track(on(0, 60), off(480, 60), on(ticks, 60), off(480, 60)))
    assert codes(score) == (["long-gap"] if is_long else [])
