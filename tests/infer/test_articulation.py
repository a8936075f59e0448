import numpy as np
import pytest

from mockcheck.infer.articulation import Articulated, articulate
from mockcheck.infer.switches import SwitchesInForce
from mockcheck.model.notes import Notes
from mockcheck.model.session import Switch, TrackChoice
from tests.infer.tracks import line, notes_of, role_of
from tests.phrases import phrase

SCALE = [60, 62, 64, 65, 67, 69, 71, 72]
SEPARATE = notes_of(*line(SCALE, 0.5))


def played(
    notes: Notes = SEPARATE,
    name: str | None = None,
    brief: str | None = None,
    switches: tuple[Switch, ...] = (),
    stroke: list[int] | None = None,
) -> Articulated:
    rows = np.full(len(notes), -1) if stroke is None else np.array(stroke)
    in_force = SwitchesInForce(switches, rows, np.full(len(notes), -1))
    choice = TrackChoice("*", articulation=brief)
    return articulate(notes, role_of(articulation=name), choice, in_force)


def names(played: Articulated) -> list[str]:
    return [played.columns.name(row) for row in range(len(played.columns.code))]


def test_where_nothing_is_said_timing_decides_and_is_a_guess() -> None:
    result = played()
    assert names(result) == ["detache"] * 8
    assert result.columns.confidence.max() < 0.8
    (zone,) = result.zones
    assert "separate" in zone.evidence


@pytest.mark.parametrize(
    ("program", "stroke"),
    [(44, "tremolo"), (45, "pizzicato"), (40, "detache"), (48, "detache")],
)
def test_programs_for_strokes_are_those_of_general_midi(program: int, stroke: str) -> None:
    # General MIDI System Level 1: 45 tremolo strings and 46 pizzicato strings, counted from 1.
    assert set(names(played(notes_of(*line(SCALE, 0.5), program=program)))) == {stroke}


def test_a_name_counts_more_than_timing_and_a_program_more_than_a_name() -> None:
    plucked = notes_of(*line(SCALE, 0.5), program=45)
    by_name, by_program = played(name="spiccato"), played(plucked, name="spiccato")
    assert set(names(by_name)) == {"spiccato"}
    assert set(names(by_program)) == {"pizzicato"}
    timing = played().columns.confidence.max()
    assert timing < by_name.columns.confidence[0] < by_program.columns.confidence[0] < 1


def test_the_brief_counts_most_and_a_switch_of_it_more_than_its_stroke_for_the_track() -> None:
    plucked = notes_of(*line(SCALE, 0.5), program=45)
    result = played(plucked, name="spiccato", brief="legato")
    assert set(names(result)) == {"legato"}
    switches = (Switch("tremolo", key=24),)
    result = played(plucked, brief="legato", switches=switches, stroke=[-1] * 4 + [0] * 4)
    assert names(result) == ["legato"] * 4 + ["tremolo"] * 4
    assert set(result.columns.confidence) == {1.0}


def test_zones_cover_every_note_once_and_say_why() -> None:
    switches = (Switch("tremolo", key=24), Switch("pizzicato", controller=32, low=3, high=9))
    result = played(switches=switches, stroke=[0, 0, 1, 1, -1, -1, 0, 0])
    assert [zone.articulation for zone in result.zones] == [
        "tremolo",
        "pizzicato",
        "detache",
        "tremolo",
    ]
    assert "key 24" in result.zones[0].evidence
    assert "controller 32" in result.zones[1].evidence
    onsets = [zone.onset_ticks for zone in result.zones]
    assert onsets == SEPARATE.onset_ticks[[0, 2, 4, 6]].tolist()
    assert all(zone.onset_ticks < zone.release_ticks for zone in result.zones)


@pytest.mark.parametrize(
    ("switch", "words"),
    [
        (Switch("tremolo", program=44), "program 45"),
        (Switch("tremolo", channel=3), "channel 3"),
    ],
)
def test_programs_and_channels_of_the_brief_are_named_as_the_user_counts(
    switch: Switch, words: str
) -> None:
    (zone,) = played(switches=(switch,), stroke=[0] * 8).zones
    assert words in zone.evidence


def test_a_track_without_notes_has_no_zones() -> None:
    assert played(notes_of()).zones == ()


def test_a_phrase_with_slurs_and_dots_is_heard_as_written() -> None:
    part = phrase(
        "violin 4/4 q=100 | (A4:1 B4:1 C5:1 D5:1) | E5:1/2. E5:1/2. F5:1/2. E5:1/2. D5:1 C5:1 |"
    )
    strokes = [part.articulation.name(row) for row in range(len(part.notes))]
    assert strokes == ["legato"] * 4 + ["staccato"] * 4 + ["detache"] * 2
