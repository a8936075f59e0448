from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import pytest

from mockcheck.infer.unnamed_settings import (
    NO_SWITCHES,
    Setting,
    find_unnamed_settings,
    vote_for_zones,
)
from mockcheck.infer.value_zones import WIDTHS
from mockcheck.model.curves import Curve
from mockcheck.model.notes import Notes, concatenate_notes
from mockcheck.model.score import ChannelCurves, MpeZone
from tests.infer.printed import printed_parts
from tests.infer.tracks import Row, curve, line, notes_of, role_of, track_of

SCALE = [69, 71, 72, 74, 76, 74, 72, 71]
SHARES = (1.05, 0.4, 0.85)
PHRASE_S = 2.8


def phrases(count: int) -> list[Row]:
    """Phrases of eight notes: connected, short, separate, and so on."""
    return [
        row
        for phrase in range(count)
        for row in line(SCALE, 0.3, SHARES[phrase % 3], begin_s=1 + phrase * PHRASE_S)
    ]


def thrown(values: Sequence[float], lead_s: float = 0.02, default: float = 0.0) -> Curve:
    """A value for each phrase, a little before it."""
    points = [(1 + place * PHRASE_S - lead_s, value) for place, value in enumerate(values)]
    return curve(points, default)


def found(
    controllers: Mapping[int, Curve],
    notes: Notes | None = None,
    program: Curve | None = None,
    known: frozenset[tuple[str, int]] = frozenset(),
) -> list[Setting]:
    notes = notes_of(*phrases(9)) if notes is None else notes
    curves = ChannelCurves(dict(controllers), program=program or curve([], default=-1))
    return list(find_unnamed_settings(notes, track_of(notes, {1: curves}), role_of(), known))


def zones(settings: list[Setting]) -> list[tuple[str, int, int, int]]:
    return [(item.kind, item.number, item.low, item.high) for item in settings]


THROWN = (10, 40, 90) * 3


@pytest.mark.parametrize("number", [3, 32, 80, 102])
@pytest.mark.parametrize("lead_s", [0.0, 0.05])
def test_values_thrown_before_phrases_are_switches(number: int, lead_s: float) -> None:
    settings = found({number: thrown(THROWN, lead_s)})
    assert zones(settings) == [("controller", number, value, value) for value in (10, 40, 90)]
    assert [item.presses for item in settings] == [3, 3, 3]
    assert [int(item.is_of_it.sum()) for item in settings] == [24, 24, 24]
    assert all(0.8 <= item.confidence < 1 and item.evidence for item in settings)


@pytest.mark.parametrize("number", [1, 2, 7, 10, 11, 64, 65, 91])
def test_controllers_whose_meaning_is_known_are_no_switches(number: int) -> None:
    assert number in NO_SWITCHES
    assert found({number: thrown(THROWN)}) == []


def test_a_sound_controller_needs_notes_that_tell_its_values_apart() -> None:
    begins = [1 + place * PHRASE_S for place in range(9)]
    alike = notes_of(*(row for begin_s in begins for row in line(SCALE, 0.3, begin_s=begin_s)))
    steps = thrown((20, 60) * 2)
    assert found({74: steps}, alike) == []
    assert len(found({74: thrown(THROWN)})) == 3


def test_a_drawn_curve_is_no_switch() -> None:
    drawn = curve([(0.02 * step, 64 + 50 * np.sin(step / 40)) for step in range(1300)])
    rounded = Curve(drawn.ticks, drawn.time_s, np.rint(drawn.values))
    assert found({21: rounded}) == []


def test_values_thrown_in_the_middle_of_notes_are_no_switches() -> None:
    assert found({32: thrown(THROWN, lead_s=-0.1)}) == []


def test_a_value_for_every_note_colours_notes_and_switches_nothing() -> None:
    notes = notes_of(*phrases(9))
    values = [10.0 + 7 * (place * 5 % 13) for place in range(len(notes))]
    every = curve(list(zip(notes.onset_s.tolist(), values, strict=True)))
    assert found({21: every}, notes) == []


def test_one_value_throughout_is_a_setting() -> None:
    assert found({32: thrown((40,))}) == []


def test_one_value_sent_late_is_a_setting_too() -> None:
    late = curve([(1 + 4 * PHRASE_S - 0.02, 40.0)])
    assert found({32: late}) == []


def test_a_drawn_curve_votes_for_no_zones() -> None:
    notes = notes_of(*phrases(9))
    drawn = curve([(0.02 * step, float(step % 128)) for step in range(1300)])
    track = track_of(notes, {1: ChannelCurves({21: drawn})})
    assert vote_for_zones(notes, track, role_of()).max() == 0


def test_a_switch_of_one_channel_says_nothing_about_another() -> None:
    other = notes_of((69, 0.2, 0.6), (71, 0.6, 0.9), channel=2)
    notes, _ = concatenate_notes([notes_of(*phrases(9)), other])
    track = track_of(notes, {1: ChannelCurves({32: thrown(THROWN)})})
    settings = find_unnamed_settings(notes, track, role_of(channels=(1, 2)))
    assert [item.low for item in settings if item.kind == "controller"] == [10, 40, 90]
    assert not any(item.is_of_it[notes.channel == 2].any() for item in settings)


def test_what_the_brief_names_is_left_alone() -> None:
    curves = {32: thrown(THROWN)}
    assert found(curves, known=frozenset({("controller", 32)})) == []
    assert len(found(curves, known=frozenset({("controller", 80)}))) == 3


def test_a_bank_before_a_program_belongs_to_the_program() -> None:
    settings = found({32: thrown(THROWN)}, program=thrown((0, 1, 2) * 3, default=-1))
    assert {item.kind for item in settings} <= {"program"}


def test_values_that_wander_within_zones_are_taken_together() -> None:
    chance = np.random.default_rng(5)
    notes = notes_of(*phrases(60))
    wandering = thrown([16 * (place % 3) + int(chance.integers(16)) for place in range(60)])
    assert zones(found({32: wandering}, notes)) == [
        ("controller", 32, 0, 15),
        ("controller", 32, 16, 31),
        ("controller", 32, 32, 47),
    ]
    votes = vote_for_zones(notes, track_of(notes, {1: ChannelCurves({32: wandering})}), role_of())
    assert WIDTHS[int(np.argmax(votes))] == 16


def with_programs(programs: Sequence[int]) -> Notes:
    notes = notes_of(*phrases(len(programs)))
    return replace(notes, program=np.repeat(programs, len(SCALE)).astype(np.int16))


def test_programs_of_a_writer_s_own_list_are_switches() -> None:
    settings = found({}, with_programs([0, 1, 2] * 3))
    assert zones(settings) == [("program", number, 0, 127) for number in (0, 1, 2)]
    assert all(item.articulation is None for item in settings)


def test_programs_that_are_a_stroke_by_general_midi_are_named_and_arco_is_no_switch() -> None:
    (pizzicato,) = found({}, with_programs([40, 45]))
    assert (pizzicato.number, pizzicato.articulation) == (45, "pizzicato")
    assert pizzicato.confidence < 1
    assert found({}, with_programs([40, 48, 40])) == []


def test_one_program_throughout_is_no_switch() -> None:
    assert found({}, with_programs([45] * 3)) == []


def on_channels(rows: Sequence[tuple[int, list[Row]]]) -> Notes:
    return concatenate_notes([notes_of(*own, channel=channel) for channel, own in rows])[0]


def found_on_channels(notes: Notes, mpe: MpeZone | None = None) -> list[tuple[str, int]]:
    role = role_of(channels=tuple(int(number) for number in np.unique(notes.channel)))
    track = replace(track_of(notes), mpe=mpe)
    return [(item.kind, item.number) for item in find_unnamed_settings(notes, track, role)]


def test_channels_that_take_turns_phrase_by_phrase_are_switches() -> None:
    rows = phrases(9)
    turns = [(1 + place % 3, rows[8 * place : 8 * place + 8]) for place in range(9)]
    assert found_on_channels(on_channels(turns)) == [("channel", n) for n in (1, 2, 3)]


def test_channels_dealt_out_note_by_note_are_no_switches() -> None:
    dealt = [(1 + place % 3, [row]) for place, row in enumerate(phrases(9))]
    notes = on_channels(dealt)
    assert found_on_channels(notes) == []
    rows = phrases(9)
    turns = [(2 + place % 3, rows[8 * place : 8 * place + 8]) for place in range(9)]
    assert found_on_channels(on_channels(turns), MpeZone("lower", 1, (2, 3, 4))) == []


def test_channels_that_sound_together_are_voices() -> None:
    low = [(pitch - 5, begin, end) for pitch, begin, end in phrases(9)]
    assert found_on_channels(on_channels([(1, phrases(9)), (2, low)])) == []


def test_a_channel_with_a_range_to_itself_is_a_voice() -> None:
    rows = phrases(9)
    low = [(pitch - 24, begin, end) for pitch, begin, end in rows[24:48]]
    assert found_on_channels(on_channels([(1, rows[:24] + rows[48:]), (2, low)])) == []


def test_no_notes_have_no_settings() -> None:
    assert found({32: thrown(THROWN)}, notes_of()) == []


def test_nothing_of_a_published_quartet_is_a_switch() -> None:
    for part in printed_parts():
        channels = tuple(int(number) for number in np.unique(part.track.notes.channel))
        role = role_of(channels=channels)
        assert find_unnamed_settings(part.track.notes, part.track, role) == ()
