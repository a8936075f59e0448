from collections.abc import Sequence

import numpy as np
import pytest

from mockcheck.infer.articulation import Articulated, articulate
from mockcheck.infer.stroke_evidence import Said, collect_evidence
from mockcheck.infer.switches import SwitchedMusic, SwitchesInForce
from mockcheck.model.notes import Notes, concatenate_notes
from mockcheck.model.session import Switch, TrackChoice
from tests.infer.tracks import line, notes_of, role_of
from tests.phrases import phrase, played

SCALE = [60, 62, 64, 65, 67, 69, 71, 72]
SEPARATE = notes_of(*line(SCALE, 0.5))


def said(
    notes: Notes,
    name: str | None = None,
    brief: str | None = None,
    switches: tuple[Switch, ...] = (),
    stroke: list[int] | None = None,
    colour: list[int] | None = None,
    index: int = 0,
) -> Said:
    none = np.full(len(notes), -1)
    in_force = SwitchesInForce(
        switches,
        none if stroke is None else np.array(stroke),
        none if colour is None else np.array(colour),
        none,
    )
    choice = TrackChoice("*", articulation=brief)
    role = role_of(index, articulation=name)
    return collect_evidence(SwitchedMusic(notes, in_force, (), none), role, choice)


def alone(notes: Notes = SEPARATE, **words: object) -> Articulated:
    """A part of one track."""
    return articulate(notes, [said(notes, **words)], [np.arange(len(notes))])  # type: ignore[arg-type]  # passed on


def names(result: Articulated) -> list[str]:
    return [result.columns.name(row) for row in range(len(result.columns.code))]


def test_where_nothing_is_said_timing_decides() -> None:
    result = alone()
    assert names(result) == ["detache"] * 8
    (zone,) = result.zones
    assert "separate" in zone.evidence


@pytest.mark.parametrize("heard", ["detache", "legato"])
def test_a_name_is_surer_than_timing_a_program_than_a_name_the_brief_than_all(heard: str) -> None:
    share = 0.8 if heard == "detache" else 1.05
    by_timing = alone(notes_of(*line(SCALE, 0.5, share)))
    by_name = alone(notes_of(*line(SCALE, 0.5, share)), name="pizzicato")
    by_program = alone(notes_of(*line(SCALE, 0.5, share), program=45), name="spiccato")
    by_brief = alone(notes_of(*line(SCALE, 0.5, share), program=45), brief=heard)
    assert names(by_timing) == names(by_brief) == [heard] * 8
    assert names(by_name) == names(by_program) == ["pizzicato"] * 8
    sure = [r.columns.confidence[3] for r in (by_timing, by_name, by_program, by_brief)]
    assert sure == sorted(sure)
    assert len(set(sure)) == 4
    assert sure[3] == 1


def test_a_contradiction_lowers_the_confidence_and_agreement_raises_it() -> None:
    slurred = notes_of(*line(SCALE, 0.5, share=1.05))
    against, agreed, unheard = (
        alone(slurred, name=name).columns.confidence[3]
        for name in ("spiccato", "legato", "pizzicato")
    )
    assert 0.5 < against < unheard < agreed


def test_a_switch_of_the_brief_counts_before_its_word_for_the_track() -> None:
    switches = (Switch("tremolo", key=24),)
    result = alone(brief="legato", switches=switches, stroke=[-1] * 4 + [0] * 4)
    assert names(result) == ["legato"] * 4 + ["tremolo"] * 4
    assert set(result.columns.confidence) == {1.0}


def test_a_mute_and_a_stroke_hold_at_once() -> None:
    switches = (Switch("con sordino", controller=67, low=64), Switch("pizzicato", key=25))
    result = alone(switches=switches, colour=[0] * 6 + [-1] * 2, stroke=[-1, -1, -1, 1, 1, 1, 1, 1])
    columns = result.columns
    assert columns.is_any("con sordino").tolist() == [True] * 6 + [False] * 2
    assert columns.is_any("pizzicato").tolist() == [False] * 3 + [True] * 5
    assert columns.is_any("detache").tolist() == [True] * 3 + [False] * 5
    assert names(result) == ["con sordino"] * 3 + ["pizzicato"] * 5


def test_a_line_spread_over_tracks_is_judged_as_the_line_it_is() -> None:
    rows = line(SCALE * 2, 0.2, share=0.8)
    tracks = [notes_of(*rows[0::2]), notes_of(*rows[1::2])]
    whole = both(tracks)
    assert names(whole) == names(alone(notes_of(*rows))) == ["detache"] * 16
    assert [zone.track for zone in whole.zones] == [0, 1]


def test_words_for_one_track_leave_the_other_alone() -> None:
    tracks = [SEPARATE, notes_of(*line(SCALE, 0.5, share=0.4, begin_s=9.0))]
    result = both(tracks, ["pizzicato", None])
    assert names(result) == ["pizzicato"] * 8 + ["staccato"] * 8


def both(tracks: Sequence[Notes], words: Sequence[str | None] = (None, None)) -> Articulated:
    """A part of two tracks."""
    notes, origin = concatenate_notes(list(tracks))
    places = [np.flatnonzero(origin == row) for row in range(2)]
    evidence = [
        said(own, name=word, index=row)
        for row, (own, word) in enumerate(zip(tracks, words, strict=True))
    ]
    return articulate(notes, evidence, places)


def test_a_part_without_notes_has_nothing() -> None:
    result = alone(notes_of())
    assert result.zones == ()
    assert len(result.slur) == len(result.columns.code) == 0


def test_a_phrase_with_slurs_and_dots_is_heard_as_written() -> None:
    part = phrase(
        "violin 4/4 q=100 | (A4:1 B4:1 C5:1 D5:1) | E5:1/2. E5:1/2. F5:1/2. E5:1/2. D5:1 C5:1 |"
    )
    strokes = [part.articulation.name(row) for row in range(len(part.notes))]
    assert strokes == ["legato"] * 4 + ["staccato"] * 4 + ["detache"] * 2


def test_long_and_short_tracks_of_one_part_are_heard_together() -> None:
    bars = "A4:1 B4:1 C5:1 D5:1 | r:4 |"
    rests = "r:4 | E5:1/2. E5:1/2. F5:1/2. E5:1/2. D5:1/2. C5:1/2. B4:1/2. A4:1/2. |"
    (part,) = played(f"Vln 1 long 4/4 q=100 | {bars}", f"Vln 1 short | {rests}").parts
    strokes = [part.articulation.name(row) for row in range(len(part.notes))]
    assert strokes == ["detache"] * 4 + ["staccato"] * 8
