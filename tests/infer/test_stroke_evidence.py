import numpy as np
import pytest

from mockcheck.infer.stroke_evidence import (
    BRIEF,
    CERTAIN,
    EVIDENCE,
    NAME,
    NOBODY,
    PROGRAM,
    SWITCH,
    Said,
    collect_evidence,
)
from mockcheck.infer.switches import SwitchedMusic, SwitchesInForce
from mockcheck.model.notes import Notes
from mockcheck.model.played import ARTICULATIONS, COLOURS
from mockcheck.model.session import Switch, TrackChoice
from tests.infer.tracks import line, notes_of, role_of

SCALE = [60, 62, 64, 65]
NOTES = notes_of(*line(SCALE, 0.5))
TREMOLO, MUTE = Switch("tremolo", key=24), Switch("con sordino", controller=67, low=64)


def collected(
    notes: Notes = NOTES,
    name: str | None = None,
    brief: str | None = None,
    switches: tuple[Switch, ...] = (),
    stroke: list[int] | None = None,
    colour: list[int] | None = None,
) -> Said:
    none = np.full(len(notes), -1)
    in_force = SwitchesInForce(
        switches,
        none if stroke is None else np.array(stroke),
        none if colour is None else np.array(colour),
        none,
    )
    music = SwitchedMusic(notes, in_force, (), none)
    return collect_evidence(music, role_of(articulation=name), TrackChoice("*", articulation=brief))


def strokes(said: Said) -> list[str | None]:
    return [ARTICULATIONS[code] if code >= 0 else None for code in said.stroke.code]


def colours(said: Said) -> list[str | None]:
    return [COLOURS[code] if code >= 0 else None for code in said.colour.code]


def test_nobody_says_anything() -> None:
    said = collected()
    assert strokes(said) == colours(said) == [None] * 4
    assert set(said.stroke.source) == {NOBODY}


@pytest.mark.parametrize(("program", "stroke"), [(44, "tremolo"), (45, "pizzicato"), (48, None)])
def test_programs_for_strokes_are_those_of_general_midi(program: int, stroke: str | None) -> None:
    # General MIDI System Level 1: 45 tremolo strings and 46 pizzicato strings, counted from 1.
    said = collected(notes_of(*line(SCALE, 0.5), program=program))
    assert strokes(said) == [stroke] * 4


def test_a_switch_counts_before_the_brief_a_program_and_a_name() -> None:
    plucked = notes_of(*line(SCALE, 0.5), program=45)
    by_all = collected(plucked, "spiccato", "legato", (TREMOLO,), [-1, 0, 0, -1])
    assert strokes(by_all) == ["legato", "tremolo", "tremolo", "legato"]
    assert by_all.stroke.source.tolist() == [BRIEF, SWITCH, SWITCH, BRIEF]
    assert set(by_all.stroke.weight) == {CERTAIN}
    by_program = collected(plucked, "spiccato")
    assert strokes(by_program) == ["pizzicato"] * 4
    assert set(by_program.stroke.source) == {PROGRAM}
    by_name = collected(name="spiccato")
    assert strokes(by_name) == ["spiccato"] * 4
    assert set(by_name.stroke.source) == {NAME}


def test_what_is_said_outweighs_the_notes_themselves() -> None:
    assert CERTAIN > EVIDENCE.program > EVIDENCE.name > EVIDENCE.notes


def test_a_colour_leaves_the_stroke_open_and_a_stroke_the_colour() -> None:
    named = collected(name="con sordino")
    assert strokes(named) == [None] * 4
    assert colours(named) == ["con sordino"] * 4
    both = collected(name="pizzicato", switches=(MUTE,), colour=[-1, 0, 0, -1])
    assert strokes(both) == ["pizzicato"] * 4
    assert colours(both) == [None, "con sordino", "con sordino", None]
