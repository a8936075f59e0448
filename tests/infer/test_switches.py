from dataclasses import replace

import numpy as np
import pytest

from mockcheck.infer.switches import SwitchedMusic, separate_in_rows, separate_switches
from mockcheck.instruments import instrument
from mockcheck.model.notes import concatenate_notes
from mockcheck.model.score import ChannelCurves
from mockcheck.model.session import Switch, TrackChoice
from tests.infer.tracks import Row, curve, line, notes_of, role_of, score_of, track_of

MELODY = line([69, 71, 72, 74], 1.0)


def separated(
    *switches: Switch,
    presses: tuple[Row, ...] = (),
    curves: ChannelCurves | None = None,
) -> SwitchedMusic:
    notes = notes_of(*MELODY, *presses)
    track = track_of(notes, {1: curves} if curves else None)
    return separate_switches(notes, track, role_of(), instrument("violin"), switches)


def strokes(music: SwitchedMusic) -> list[str | None]:
    switches = music.in_force.switches
    return [switches[row].articulation if row >= 0 else None for row in music.in_force.stroke]


PIZZICATO, ARCO = Switch("pizzicato", key=25), Switch("legato", key=24)


def test_a_key_of_the_brief_is_no_note_and_certain() -> None:
    music = separated(PIZZICATO, presses=((25, 0.5, 0.6),))
    assert music.notes.pitch.tolist() == [69, 71, 72, 74]
    (found,) = music.found
    assert (found.pitch, found.presses, found.articulation) == (25, 1, "pizzicato")
    assert found.confidence == 1


def test_a_key_of_the_brief_inside_the_range_is_no_note_either() -> None:
    music = separated(Switch("pizzicato", key=71))
    assert music.notes.pitch.tolist() == [69, 72, 74]


def test_a_key_that_is_never_pressed_is_not_reported() -> None:
    assert separated(PIZZICATO).found == ()


def test_an_unnamed_key_is_reported_without_a_meaning() -> None:
    music = separated(PIZZICATO, presses=((25, 0.5, 0.6), (30, 2.8, 2.9)))
    assert [(key.pitch, key.articulation) for key in music.found] == [(25, "pizzicato"), (30, None)]
    assert music.found[1].confidence < 1


def test_a_latching_key_holds_until_the_next_one() -> None:
    music = separated(PIZZICATO, ARCO, presses=((25, 1.9, 1.95), (24, 3.0, 3.05)))
    assert strokes(music) == [None, "pizzicato", "legato", "legato"]


def test_a_held_key_holds_while_it_is_down_and_then_the_latched_one_again() -> None:
    held = Switch("tremolo", key=26, held=True)
    music = separated(PIZZICATO, held, presses=((25, 0.5, 0.6), (26, 1.9, 3.5)))
    assert strokes(music) == ["pizzicato", "tremolo", "tremolo", "pizzicato"]


def test_a_controller_value_means_its_stroke_and_any_other_value_none() -> None:
    zones = (
        Switch("spiccato", controller=32, low=10, high=20),
        Switch("tremolo", controller=32, low=21, high=30),
    )
    values = curve([(1.5, 15), (2.5, 25), (3.5, 99)])
    music = separated(*zones, curves=ChannelCurves({32: values}))
    assert strokes(music) == [None, "spiccato", "tremolo", None]


def test_a_program_means_its_stroke_until_another_program() -> None:
    curves = ChannelCurves(program=curve([(2.0, 45), (4.0, 40)], default=-1))
    assert strokes(separated(Switch("pizzicato", program=45), curves=curves)) == [
        None,
        "pizzicato",
        "pizzicato",
        None,
    ]


def test_a_channel_means_its_stroke() -> None:
    notes = notes_of(*MELODY)
    mixed = notes_of(*line([60, 62], 1.0, begin_s=6.0), channel=3)
    both, _ = concatenate_notes([notes, mixed])
    role = role_of(channels=(1, 3))
    switch = Switch("col legno", channel=3)
    music = separate_switches(both, track_of(both), role, instrument("violin"), (switch,))
    assert strokes(music) == [None] * 4 + ["col legno"] * 2


def test_the_mute_does_not_hide_the_stroke() -> None:
    mute = Switch("con sordino", controller=67, low=64)
    values = ChannelCurves({67: curve([(1.5, 127), (3.5, 0)])})
    music = separated(mute, PIZZICATO, presses=((25, 2.9, 2.95),), curves=values)
    assert strokes(music) == [None, None, "pizzicato", "pizzicato"]
    assert music.in_force.colour.tolist() == [-1, 0, 0, -1]


def test_a_slide_switch_leaves_the_stroke_alone() -> None:
    slide = Switch("portamento", controller=70, low=64)
    values = ChannelCurves({70: curve([(1.5, 127), (2.5, 0)])})
    music = separated(slide, PIZZICATO, presses=((25, 0.5, 0.6),), curves=values)
    assert strokes(music) == ["pizzicato"] * 4
    assert (music.in_force.slide >= 0).tolist() == [False, True, False, False]


def test_the_found_switch_in_force_is_told_and_the_named_one_is_not() -> None:
    music = separated(PIZZICATO, presses=((25, 0.5, 0.6), (20, 1.9, 1.95), (21, 3.9, 3.95)))
    assert [item.pitch for item in music.found] == [25, 20, 21]
    assert music.found_in_force.tolist() == [-1, 1, 1, 2]
    assert strokes(music) == ["pizzicato"] * 4


def test_each_row_that_somebody_plays_is_separated_by_itself() -> None:
    violin, other = notes_of(*MELODY, (24, 0.9, 0.95)), notes_of(*MELODY, channel=2)
    score = score_of(track_of(violin), track_of(other, index=1))
    roles = [role_of(), role_of(index=1, channels=(2,)), replace(role_of(index=2), left_out="drum")]
    musics = separate_in_rows(score, roles, {n: TrackChoice(str(n)) for n in range(3)})
    assert list(musics) == [0, 1]
    assert [len(music.notes) for music in musics.values()] == [4, 4]
    assert [len(music.found) for music in musics.values()] == [1, 0]


def test_no_row_at_all_is_no_fault() -> None:
    assert separate_in_rows(score_of(), [], {}) == {}


@pytest.mark.parametrize("seed", range(5))
def test_switches_and_music_together_are_all_notes(seed: int) -> None:
    chance = np.random.default_rng(seed)
    presses = tuple((int(key), t, t + 0.05) for t, key in enumerate(chance.integers(20, 30, 5)))
    music = separated(PIZZICATO, ARCO, presses=presses)
    assert len(music.notes) + sum(key.presses for key in music.found) == 9
