import numpy as np
import pytest

from mockcheck.infer.articulation import articulate
from mockcheck.infer.stroke_evidence import collect_evidence
from mockcheck.infer.switches import SwitchedMusic, SwitchesInForce
from mockcheck.model.notes import Notes
from mockcheck.model.played import ArticulationZone
from mockcheck.model.session import Switch, TrackChoice
from tests.infer.tracks import Row, line, notes_of, role_of

SCALE = [60, 62, 64, 65, 67, 69, 71, 72]
SEPARATE = notes_of(*line(SCALE, 0.5))


def zones(
    notes: Notes = SEPARATE,
    name: str | None = None,
    brief: str | None = None,
    switches: tuple[Switch, ...] = (),
    stroke: list[int] | None = None,
    colour: list[int] | None = None,
) -> tuple[ArticulationZone, ...]:
    none = np.full(len(notes), -1)
    in_force = SwitchesInForce(
        switches,
        none if stroke is None else np.array(stroke),
        none if colour is None else np.array(colour),
        none,
    )
    choice = TrackChoice("*", articulation=brief)
    music = SwitchedMusic(notes, in_force, (), none)
    said = collect_evidence(music, role_of(articulation=name), choice)
    return articulate(notes, [said], [np.arange(len(notes))]).zones


def test_a_track_without_notes_has_no_zones() -> None:
    assert zones(notes_of()) == ()


def test_zones_cover_every_note_once_and_say_why() -> None:
    switches = (Switch("tremolo", key=24), Switch("pizzicato", controller=32, low=3, high=9))
    found = zones(switches=switches, stroke=[0, 0, 1, 1, -1, -1, 0, 0])
    words = [zone.articulation for zone in found]
    assert words == ["tremolo", "pizzicato", "detache", "tremolo"]
    assert "key 24" in found[0].evidence
    assert "controller 32" in found[1].evidence
    onsets = [zone.onset_ticks for zone in found]
    assert onsets == SEPARATE.onset_ticks[[0, 2, 4, 6]].tolist()
    assert all(zone.onset_ticks < zone.release_ticks for zone in found)


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
    (zone,) = zones(switches=(switch,), stroke=[0] * 8)
    assert words in zone.evidence


@pytest.mark.parametrize(
    ("rows", "stroke", "words"),
    [
        (line(SCALE, 0.5, 0.8), "detache", "separate"),
        (line(SCALE, 0.5, 1.05), "legato", "run into each other"),
        (line(SCALE, 0.4, 0.4), "staccato", "short"),
        (line(SCALE, 0.12, 0.3), "spiccato", "quick"),
        (line([62] * 8, 0.08), "tremolo", "12 times a second"),
        (line([69, 71] * 4, 0.08), "trill", "12 times a second"),
    ],
)
def test_a_heard_zone_says_what_was_heard(rows: list[Row], stroke: str, words: str) -> None:
    (zone,) = zones(notes_of(*rows, (60, 3.0, 3.4)))[:1]
    assert zone.articulation == stroke
    assert words in zone.evidence


def test_a_name_that_the_notes_contradict_is_said_to_be() -> None:
    slurred = notes_of(*line(SCALE, 0.5, share=1.1))
    (zone,) = zones(slurred, name="spiccato")
    assert zone.articulation == "spiccato"
    assert "sound like legato" in zone.evidence
    (agreed,) = zones(slurred, name="legato")
    assert "sound like" not in agreed.evidence
    assert zone.confidence < agreed.confidence


def test_a_colour_is_the_word_where_the_stroke_is_only_heard() -> None:
    (zone,) = zones(name="sul tasto")
    assert zone.articulation == "sul tasto"
    assert "track name" in zone.evidence


def test_a_colour_beside_a_named_stroke_is_told() -> None:
    mute = Switch("con sordino", controller=67, low=64)
    found = zones(name="pizzicato", switches=(mute,), colour=[-1] * 4 + [0] * 4)
    assert [zone.articulation for zone in found] == ["pizzicato"] * 2
    assert ["con sordino" in zone.evidence for zone in found] == [False, True]
