from dataclasses import replace

import numpy as np
import pytest

from mockcheck.infer import play
from mockcheck.model.notes import Notes, concatenate_notes
from mockcheck.model.played import PlayedScore, Role
from mockcheck.model.score import ChannelCurves, Track
from mockcheck.model.session import Session, Switch, TrackChoice
from tests.infer.tracks import bend_channel, curve, line, notes_of, role_of, score_of, track_of
from tests.phrases import phrase, played

LONG = notes_of(*line([69, 71, 72], 1.0))
SHORT = notes_of(*line([62, 64], 0.25, share=0.5, begin_s=5.0))


def listened(
    *rows: tuple[Notes, Role], session: Session | None = None, curves: ChannelCurves | None = None
) -> PlayedScore:
    tracks = [
        track_of(notes, {1: curves} if curves else None, index)
        for index, (notes, _) in enumerate(rows)
    ]
    roles = tuple(role for _, role in rows)
    return play(score_of(*tracks), session or Session(), roles)


def test_tracks_of_one_part_are_merged_in_time() -> None:
    late = notes_of(*line([60], 1.0, begin_s=1.5))
    (part,) = listened((LONG, role_of(0)), (late, role_of(1))).parts
    assert part.notes.pitch.tolist() == [69, 60, 71, 72]
    assert part.track.tolist() == [0, 1, 0, 0]
    assert [role.index for role in part.roles] == [0, 1]


def test_strokes_follow_their_notes_into_the_part() -> None:
    rows = (LONG, role_of(0, articulation="legato")), (SHORT, role_of(1, articulation="spiccato"))
    (part,) = listened(*rows).parts
    strokes = [part.articulation.name(row) for row in range(5)]
    assert strokes == ["legato"] * 3 + ["spiccato"] * 2
    assert [(zone.track, zone.articulation) for zone in part.zones] == [
        (0, "legato"),
        (1, "spiccato"),
    ]


def test_slides_point_at_the_notes_of_the_part() -> None:
    points = [(1.7 + place / 100, 200 * place / 29) for place in range(30)] + [(2.0, 0.0)]
    early = notes_of(*line([50, 52], 0.2, begin_s=0.2))
    rows = (early, role_of(0)), (notes_of((69, 1, 2), (71, 2, 3)), role_of(1))
    tracks = [track_of(early), track_of(rows[1][0], {1: bend_channel(curve(points))}, 1)]
    (part,) = play(score_of(*tracks), Session(), (rows[0][1], rows[1][1])).parts
    (slide,) = part.slides
    assert (slide.track, slide.from_note, slide.to_note) == (1, 2, 3)
    assert part.notes.pitch[[slide.from_note, slide.to_note]].tolist() == [69, 71]
    assert part.bend_at_onset_cents.tolist() == [0, 0, 0, 0]


def test_parts_come_in_the_order_of_the_track_list() -> None:
    rows = [
        (LONG, role_of(0, "viola", "Viola")),
        (LONG, role_of(1, "violin", "Violin")),
        (SHORT, role_of(2, "viola", "Viola")),
    ]
    assert [part.name for part in listened(*rows).parts] == ["Viola", "Violin"]


def test_rows_that_are_left_out_stay_out_and_are_kept_in_the_list() -> None:
    flute = replace(role_of(1), instrument=None, part="", left_out="the name says flute")
    result = listened((LONG, role_of(0)), (SHORT, flute))
    assert [part.name for part in result.parts] == ["Violin"]
    assert [role.index for role in result.roles] == [0, 1]
    assert list(result.part_of_role()) == [0]


def test_only_the_channels_of_a_row_are_its_music() -> None:
    both = notes_of((69, 1, 2)), notes_of((48, 1, 2), channel=2)
    shared, _ = concatenate_notes(list(both))
    track: Track = track_of(shared)
    roles = role_of(0), replace(role_of(1, "cello", "Cello", channels=(2,)), track_index=0)
    parts = play(score_of(track), Session(), roles).parts
    assert [part.notes.pitch.tolist() for part in parts] == [[69], [48]]


def test_switches_of_the_brief_are_taken_out_and_obeyed() -> None:
    notes = notes_of((24, 1.9, 2.0), *line([69, 71, 72], 1.0))
    switch = Switch("pizzicato", key=24)
    session = Session(tracks=(TrackChoice("track 0", switches=(switch,)),))
    (part,) = listened((notes, role_of()), session=session).parts
    assert part.notes.pitch.tolist() == [69, 71, 72]
    assert [part.articulation.name(row) for row in (1, 2)] == ["pizzicato"] * 2
    assert [(key.pitch, key.confidence) for key in part.switches] == [(24, 1.0)]


def test_a_part_of_nothing_but_switches_is_empty_and_not_lost() -> None:
    session = Session(tracks=(TrackChoice("*", switches=(Switch("legato", key=24),)),))
    (part,) = listened((notes_of((24, 1, 2)), role_of()), session=session).parts
    assert len(part.notes) == len(part.sonorities) == 0
    assert (part.zones, part.slides) == ((), ())
    assert len(part.switches) == 1


def test_a_score_without_players_has_no_parts() -> None:
    assert listened().parts == ()


def test_columns_are_as_long_as_the_notes_and_read_only() -> None:
    (part,) = listened((LONG, role_of(0)), (SHORT, role_of(1))).parts
    assert part.lines is not None
    columns = (
        part.track,
        part.bend_at_onset_cents,
        part.articulation.code,
        part.articulation.confidence,
        part.lines.line,
        part.lines.players,
    )
    assert {len(column) for column in columns} == {5}
    with pytest.raises(ValueError, match="read-only"):
        part.articulation.code[0] = 1


def test_the_order_of_tracks_changes_no_part() -> None:
    texts = "Violin 1 4/4 q=90 | (A4:1 B4:1) C5:2> | E5:4 |", "Viola 4/4 | C4+G4:2 D4:2. |"
    there = {part.name: part for part in played(*texts).parts}
    back = {part.name: part for part in played(*reversed(texts)).parts}
    assert there.keys() == back.keys()
    for name, part in there.items():
        other = back[name]
        assert np.array_equal(part.notes.pitch, other.notes.pitch)
        assert np.array_equal(part.articulation.code, other.articulation.code)
        assert np.array_equal(part.sonorities.members, other.sonorities.members)
        assert part.lines is not None
        assert other.lines is not None
        assert np.array_equal(part.lines.line, other.lines.line)
        assert len(part.slides) == len(other.slides)


@pytest.mark.parametrize("bars", [1, 7])
def test_bars_of_rest_before_the_music_move_it_and_change_nothing_else(bars: int) -> None:
    music = "(A4:1 B4:1 C5:1) D5:1> | A5:2 E4+C5:1. r:1 | A4:1/4 A4:1/4 A4:1/4 A4:1/4 A4:3 |"
    plain = phrase(f"violin 4/4 q=120 | {music}")
    later = phrase(f"violin 4/4 q=120 | {'r:4 | ' * bars} {music}")
    assert np.array_equal(plain.notes.pitch, later.notes.pitch)
    assert np.array_equal(plain.articulation.code, later.articulation.code)
    assert [zone.evidence for zone in plain.zones] == [zone.evidence for zone in later.zones]
    moved = {b.onset_ticks - a.onset_ticks for a, b in zip(plain.slides, later.slides, strict=True)}
    assert moved == {bars * 1920}
    assert np.array_equal(plain.sonorities.first, later.sonorities.first)
