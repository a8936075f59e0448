import csv
import os
from collections import defaultdict
from pathlib import Path

import numpy as np
import pytest

from mockcheck.model.played import Role
from mockcheck.model.session import TrackChoice
from mockcheck.read import load
from mockcheck.read.roles import assign_roles
from tests.read.score_builder import score, track

FIXTURES = Path(__file__).parents[2] / "fixtures"
REAL_FILES = os.environ.get("MOCKCHECK_REAL_MIDI")

HIGH, MIDDLE, LOW, DEEP = "74 76 79 81 74", "62 60 64 59 62", "48 50 53 45 43", "33 36 38 40 31"


def parts(*roles: Role) -> list[str]:
    return [role.part for role in roles]


# The order of a quartet and its names: common practice, no source.
def test_a_quartet_sits_in_score_order() -> None:
    roles = assign_roles(
        score(
            track("Quartet"),
            track("Violin I", HIGH),
            track("Violin II", HIGH),
            track("Viola", MIDDLE),
            track("Violoncello", LOW),
            track("Contrabass", DEEP),
        )
    )
    assert parts(*roles) == ["", "Violin 1", "Violin 2", "Viola", "Cello", "Double Bass"]
    assert [role.index for role in roles] == [role.track_index for role in roles] == [*range(6)]
    assert roles[0].left_out == "no notes"
    assert roles[0].instrument is None
    assert all(role.confidence > 0.9 and role.left_out is None for role in roles[1:])


def test_tracks_of_one_part_that_differ_in_stroke_are_the_same_players() -> None:
    roles = assign_roles(
        score(
            track("Vln 1 leg", HIGH),
            track("Vln 1 spicc", "79 81 83 86 88"),
            track("Vln 2 pizz", HIGH),
        )
    )
    assert parts(*roles) == ["Violin 1", "Violin 1", "Violin 2"]
    assert [role.articulation for role in roles] == ["legato", "spiccato", "pizzicato"]


def test_desks_of_one_section_are_players_of_their_own() -> None:
    roles = assign_roles(score(track("Vln 1 A", HIGH), track("Vln 1 B", HIGH)))
    assert parts(*roles) == ["Violin 1 a", "Violin 1 b"]


def test_an_unnamed_row_is_called_by_its_place() -> None:
    shared = {1: HIGH, 2: LOW}
    first = assign_roles(score(track(None, shared), smf_format=0))
    assert [role.name for role in first] == ["track 1, channel 1", "track 1, channel 2"]
    second = assign_roles(score(track("Title"), track(None, HIGH, program=40)))
    assert second[1].name == "track 2"


def test_patterns_of_format_2_are_never_one_part() -> None:
    roles = assign_roles(
        score(track("Violin leg", HIGH), track("Violin stacc", HIGH), smf_format=2)
    )
    assert parts(*roles) == ["Violin 1", "Violin 2"]


def test_a_brief_seats_players_and_sends_others_home() -> None:
    roles = assign_roles(
        score(track("Lead", HIGH, program=80), track("Violin", HIGH), track("Pad", MIDDLE)),
        (
            TrackChoice("lead", instrument="viola", part="Viola solo", articulation="tremolo"),
            TrackChoice("Vio*", leave_out=True),
        ),
    )
    assert roles[0].instrument == "viola"
    assert roles[0].part == "Viola solo"
    assert roles[0].articulation == "tremolo"
    assert (roles[0].confidence, roles[0].evidence) == (1.0, "named in the brief")
    assert roles[1].instrument is None
    assert roles[1].left_out == "the brief leaves it out"
    assert roles[1].part == ""


def test_renaming_the_other_tracks_does_not_move_a_named_player() -> None:
    for other in ("Flute", "Track 2", "Viola", ""):
        roles = assign_roles(score(track("Cello", LOW), track(other, HIGH)))
        assert (roles[0].instrument, roles[0].part) == ("cello", "Cello")


def test_a_score_without_tracks_has_no_roles() -> None:
    assert assign_roles(score()) == ()


@pytest.mark.parametrize("case", ["pitches", "onsets"])
def test_a_score_is_left_as_it_was(case: str) -> None:
    given = score(track("Violin", HIGH), track(None, {1: HIGH, 2: LOW}, program=40))
    columns = ("pitch",) if case == "pitches" else ("onset_ticks", "onset_s")
    before = [getattr(one.notes, name).copy() for one in given.tracks for name in columns]
    assign_roles(given)
    after = [getattr(one.notes, name) for one in given.tracks for name in columns]
    assert all(np.array_equal(a, b) for a, b in zip(before, after, strict=True))


def expected_rows() -> dict[str, list[dict[str, str]]]:
    rows = defaultdict(list)
    with (FIXTURES / "real_roles.csv").open(newline="") as table:
        for row in csv.DictReader(table):
            rows[row["file"]].append(row)
    return rows


# fixtures/real_roles.csv was written by hand from names, programs and ranges before any of this
# code ran. Two cells were changed afterwards: real_18 has two cello lines, which sound together
# for 87 % of the shorter one (counted with mido). Which of several lines an ensemble patch plays
# is not judged. The rules were written with these files in view: no measure for unseen ones.
@pytest.mark.skipif(REAL_FILES is None, reason="MOCKCHECK_REAL_MIDI names no folder")
@pytest.mark.parametrize("file", expected_rows())
def test_real_files_are_seated_as_a_person_would(file: str) -> None:
    roles = assign_roles(load(Path(str(REAL_FILES)) / file))
    expected = expected_rows()[file]
    assert len(roles) == len(expected)
    for role, row in zip(roles, expected, strict=True):
        assert (role.instrument or "left out") == row["instrument"], role
        assert (role.articulation or "") == row["articulation"], role
        assert (role.instrument is not None and role.is_solo) == (row["solo"] == "solo"), role
        if role.instrument == "strings":
            assert role.part.startswith("Strings")
        else:
            assert role.part == row["part"], role
