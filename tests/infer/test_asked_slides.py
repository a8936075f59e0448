from dataclasses import replace

import numpy as np
import pytest

from mockcheck.infer.asked_slides import find_asked_slides
from mockcheck.infer.switches import SwitchesInForce
from mockcheck.model.played import Slide
from mockcheck.model.score import ChannelCurves
from mockcheck.model.session import Switch
from tests.infer.tracks import Row, curve, line, notes_of, role_of, track_of

SLURRED = line([60, 64, 67, 67, 72], 1.0, share=1.05)


def slides(
    controllers: dict[int, list[tuple[float, float]]],
    rows: list[Row] | None = None,
    switches: tuple[Switch, ...] = (),
    slide: list[int] | None = None,
    taken: frozenset[int] = frozenset(),
) -> list[Slide]:
    notes = notes_of(*(rows or SLURRED))
    curves = ChannelCurves({number: curve(points) for number, points in controllers.items()})
    none = np.full(len(notes), -1)
    asked = none if slide is None else np.array(slide)
    in_force = SwitchesInForce(switches, none, none, asked)
    return find_asked_slides(notes, role_of(), track_of(notes, {1: curves}), in_force, taken)


def pairs(slides: list[Slide]) -> list[tuple[int, int]]:
    return [(slide.from_note, slide.to_note) for slide in slides]


def test_nothing_asked_nothing_slides() -> None:
    assert slides({}) == []


def test_each_slurred_join_slides_while_portamento_is_on() -> None:
    # MIDI 1.0 Detailed Specification 4.2: 5 is the time, 65 the switch, on from 64 up.
    found = slides({5: [(0.1, 40)], 65: [(1.5, 64), (4.5, 63)]})
    assert pairs(found) == [(0, 1), (1, 2)]
    assert {(slide.kind, slide.source) for slide in found} == {("portamento", "portamento-switch")}
    assert all(slide.confidence < 0.8 for slide in found)
    assert (found[0].from_pitch, found[0].to_pitch) == (60, 64)
    assert found[0].onset_ticks == 2000


@pytest.mark.parametrize(
    "controllers",
    [{65: [(0.1, 127)]}, {5: [(0.1, 0)], 65: [(0.1, 127)]}, {5: [(0.1, 40)], 65: [(0.1, 63)]}],
)
def test_without_time_or_switched_off_nothing_slides(
    controllers: dict[int, list[tuple[float, float]]],
) -> None:
    assert slides(controllers) == []


def test_separate_and_repeated_notes_do_not_slide() -> None:
    controllers = {5: [(0.1, 40.0)], 65: [(0.1, 127.0)]}
    assert slides(controllers, line([60, 64, 67], 1.0, share=0.9)) == []
    assert slides(controllers, line([60, 60], 1.0, share=1.05)) == []


def test_a_source_key_makes_the_next_note_slide_once() -> None:
    # Controller 84, portamento control: the next note glides from that key, also with 65 off.
    found = slides({84: [(1.9, 60)]})
    assert pairs(found) == [(0, 1)]
    assert (found[0].from_pitch, found[0].to_pitch) == (60, 64)


def test_a_source_key_that_was_not_sounding_slides_into_the_note_itself() -> None:
    (slide,) = slides({84: [(0.5, 55)]})
    assert (slide.from_note, slide.to_note, slide.from_pitch) == (0, 0, 55)


def test_a_source_key_at_the_notes_own_pitch_is_no_slide() -> None:
    assert slides({84: [(1.9, 64)]}) == []


@pytest.mark.parametrize("kind", ["portamento", "glissando"])
def test_a_switch_of_the_brief_makes_joins_slide(kind: str) -> None:
    (slide,) = slides({}, switches=(Switch(kind, key=30),), slide=[-1, 0, -1, -1, -1])
    assert (slide.from_note, slide.to_note, slide.kind, slide.source) == (0, 1, kind, "switch")


def test_a_slide_already_drawn_with_the_bend_is_not_counted_twice() -> None:
    controllers = {5: [(0.1, 40.0)], 65: [(0.1, 127.0)]}
    assert pairs(slides(controllers, taken=frozenset({1, 4}))) == [(1, 2)]


def test_the_length_is_a_guess_no_longer_than_the_note() -> None:
    quick = slides({5: [(0.1, 40)], 65: [(0.1, 127)]}, line([60, 64, 67], 0.1, share=1.1))
    assert all(slide.duration_ms <= 110 for slide in quick)


def overlaps(velocities: list[int], share: float = 1.05) -> list[tuple[int, int]]:
    """Slides of a scale whose notes are struck so, each sounding for a share of its time."""
    pitches = [60 + 2 * place for place in range(len(velocities))]
    notes = notes_of(*line(pitches, 1.0, share))
    notes = replace(notes, velocity=np.array(velocities, np.uint8))
    none = np.full(len(notes), -1)
    in_force = SwitchesInForce((), none, none, none)
    found = find_asked_slides(notes, role_of(), track_of(notes), in_force, frozenset())
    assert {slide.source for slide in found} <= {"overlap"}
    assert all(slide.confidence <= 0.5 for slide in found)
    return pairs(found)


def test_a_soft_touch_over_an_overlap_asks_for_a_slide() -> None:
    assert overlaps([80, 78, 12, 84, 76, 80]) == [(1, 2)]


def test_a_soft_note_without_an_overlap_is_a_soft_note() -> None:
    assert overlaps([80, 78, 12, 84, 76, 80], share=0.95) == []


def test_a_soft_passage_asks_for_nothing() -> None:
    assert overlaps([24, 20, 16, 14, 18, 22]) == []
    assert overlaps([90, 88, 20, 22, 18, 20]) == []
    assert overlaps([90, 80, 70, 60, 50, 40, 30, 22, 20, 18, 16]) == []


def test_the_soft_first_note_of_a_phrase_has_nothing_to_slide_from() -> None:
    assert overlaps([10, 78, 80, 84]) == []
