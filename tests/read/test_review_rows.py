from dataclasses import replace

from mockcheck.model.score import MpeZone
from mockcheck.read.review_rows import review_rows
from tests.read.score_builder import notes, score, track

HIGH, LOW = "74 76 79 81 74 76", "48 50 53 45 43 48"
QUARTET = {1: HIGH, 2: "67 69 72 74 67 69", 3: "60 62 64 59 60 62", 4: LOW}


# Standard MIDI Files 1.0: format 0 holds all channels in one track.
def test_format_0_gives_each_channel_a_row() -> None:
    rows = review_rows(score(track("woo", QUARTET), smf_format=0))
    assert [row.channels for row in rows] == [(1,), (2,), (3,), (4,)]
    assert [row.name for row in rows] == [f"woo, channel {c}" for c in (1, 2, 3, 4)]
    assert [int(row.notes.pitch[0]) for row in rows] == [74, 67, 60, 48]


def test_a_title_over_several_channels_names_none_of_them() -> None:
    rows = review_rows(score(track("String Quartet in A", QUARTET), smf_format=0))
    assert all(row.texts == () for row in rows)
    rows = review_rows(score(track("Violin Sonata", {1: HIGH, 2: LOW}), smf_format=0))
    assert all(row.texts == () for row in rows)


def test_the_only_track_with_notes_is_shared_out_too() -> None:
    rows = review_rows(score(track("Title"), track("All of it", QUARTET)))
    assert [row.channels for row in rows] == [(), (1,), (2,), (3,), (4,)]
    assert [row.index for row in rows] == [0, 1, 2, 3, 4]


def test_channels_of_one_track_among_several_stay_together() -> None:
    rows = review_rows(score(track("Vln 1", {1: HIGH, 2: HIGH}), track("Cello", LOW)))
    assert [row.channels for row in rows] == [(1, 2), (1,)]


def test_channels_under_one_instruments_name_are_its_strokes() -> None:
    rows = review_rows(score(track("Violin 1", {1: HIGH, 2: HIGH}, program={1: 40, 2: 45})))
    assert [row.channels for row in rows] == [(1, 2)]


def test_programs_of_different_instruments_part_the_channels() -> None:
    both = track("Duo", {1: HIGH, 2: LOW}, program={1: 40, 2: 42})
    rows = review_rows(score(both, track("Flute", HIGH)))
    assert [row.channels for row in rows] == [(1,), (2,), (1,)]
    band = track("Violin", {1: HIGH, 2: LOW}, program={1: 40, 2: 33})
    assert len(review_rows(score(band, track("Flute", HIGH)))) == 3


def test_a_declared_mpe_part_is_one_player() -> None:
    part = replace(track(None, {2: HIGH, 3: HIGH}), mpe=MpeZone("lower", 1, (2, 3, 4)))
    assert [row.channels for row in review_rows(score(part, smf_format=0))] == [(2, 3)]


# MIDI Polyphonic Expression 1.0, 2.2: each sounding note has a member channel of its own.
def test_notes_dealt_out_over_bending_channels_are_one_player() -> None:
    dealt = {
        channel: " ".join(str(60 + (5 * k + 3 * channel) % 14) for k in range(10))
        for channel in range(2, 7)
    }
    part = track(None, dealt, bends=True)
    assert len(review_rows(score(part, smf_format=0))) == 1
    assert len(review_rows(score(track(None, dealt), smf_format=0))) == 5


def test_bending_players_in_registers_of_their_own_are_several() -> None:
    quartet = {channel: " ".join([line] * 3) for channel, line in QUARTET.items()}
    assert len(review_rows(score(track(None, quartet, bends=True), smf_format=0))) == 4


def test_channels_with_chords_are_no_mpe_part() -> None:
    chords = {channel: " ".join(["60+64+67"] * 6) for channel in range(2, 6)}
    assert len(review_rows(score(track(None, chords, bends=True), smf_format=0))) == 4


def test_every_name_a_track_has_is_kept_the_track_name_first() -> None:
    given = track("leg", notes(HIGH), instrument_name="Solo violin")
    row = review_rows(score(given))[0]
    assert row.texts == (("name", "leg"), ("instrument name", "Solo violin"))


def test_no_note_is_lost_between_rows() -> None:
    given = score(track("x", QUARTET), track("y", HIGH), track("z"), smf_format=0)
    assert sum(len(row.notes) for row in review_rows(given)) == 5 * 6
