import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import mockcheck
from mockcheck.errors import BadBrief
from mockcheck.plan.booth import BOOTH, Booth, Seats, booth
from tests.phrases import midi_bytes

DEMO = Path(__file__).parent.parent.parent / "fixtures" / "demo"
QUARTETS = sorted((Path(__file__).parent.parent.parent / "fixtures" / "quartets").glob("*.mid"))[:2]
QUIET = "4/4 q=60 | A4:4 | B4:4 |"


def booth_of(*phrases: str, **brief: Any) -> Booth:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "music.mid"
        path.write_bytes(midi_bytes(*phrases))
        return booth(mockcheck.review(path, brief or None))


def seats_of(one: Booth, part: str) -> Seats:
    (found,) = (seats for seats in one.seats if seats.part == part)
    return found


def names(one: Booth) -> list[tuple[str, bool]]:
    return [(record.name, record.is_said) for record in one.pre_records]


def test_what_nobody_plays_is_taken_to_stay_and_the_brief_decides() -> None:
    music = (f"Violin 1 {QUIET}", f"Harp {QUIET}", f"Choir {QUIET}")
    assert names(booth_of(*music)) == [("Harp", False), ("Choir", False)]
    said = booth_of(
        *music, tracks=[{"match": "Harp", "stays": True}, {"match": "Choir", "stays": False}]
    )
    assert names(said) == [("Harp", True)]
    assert said.replaced == ("Choir",)


def test_a_track_that_is_played_stays_only_if_the_brief_says_so() -> None:
    music = (f"Violin 1 {QUIET}", f"Viola {QUIET}")
    assert names(booth_of(*music)) == []
    under = booth_of(*music, tracks=[{"match": "Viola", "stays": True}])
    assert names(under) == [("Viola", True)]
    # It stays under the players, who are counted all the same.
    assert [seats.part for seats in under.seats] == ["Violin 1", "Viola"]


def test_a_click_track_is_a_click_whoever_leaves_it_out() -> None:
    music = (f"Violin 1 {QUIET}", f"Click {QUIET}")
    for brief in ({}, {"tracks": [{"match": "Click", "leave_out": True}]}):
        one = booth_of(*music, **brief)
        assert one.clicks == ("Click",)
        assert not one.pre_records


def test_a_track_without_notes_cannot_be_heard() -> None:
    music = (f"Violin 1 {QUIET}", "Harp 4/4 | r:4 |")
    assert booth_of(*music).silent == ()
    said = booth_of(*music, tracks=[{"match": "Harp", "stays": True}])
    assert (said.silent, said.pre_records) == (("Harp",), ())


@pytest.mark.parametrize(
    ("players", "own"), [(1, 0), (3, 0), (4, 1), (28, 7), (31, 7), (33, 8), (60, 15)]
)
def test_headphones_are_one_each_less_what_a_quarter_bring(players: int, own: int) -> None:
    # Common practice, no source: about a quarter of the players bring their own.
    one = booth_of(f"Violin 1 {QUIET}", players={"Violin 1": players})
    assert (one.players, one.own_headphones, one.headphones) == (players, own, players - own)


def test_numbers_of_the_booth_are_declared_with_their_source() -> None:
    for name, field in type(BOOTH).model_fields.items():
        extra = field.json_schema_extra
        assert isinstance(extra, dict), name
        assert extra["unit"]
        assert extra["source"]


def test_desks_are_of_two_and_the_last_may_be_half_empty() -> None:
    one = booth_of(f"Violin 1 {QUIET}", f"Viola {QUIET}", players={"Violin 1": 8, "Viola": 5})
    assert [(seats.players, seats.desks) for seats in one.seats] == [(8, 4), (5, 3)]
    assert one.are_sizes_said


def test_a_part_that_never_divides_needs_one_player() -> None:
    seats = seats_of(booth_of(f"Violin 1 {QUIET}"), "Violin 1")
    assert (seats.lines, seats.needed, seats.place, seats.short_by) == (1, 1, None, 0)


# Both notes lie below the open D: no hand plays them together.
CHORD = "4/4 q=60 | A4:4 | A3+C4:4 | A4:4 |"


def test_a_chord_that_no_hand_holds_needs_a_player_for_each_line() -> None:
    seats = seats_of(booth_of(f"Violin 1 {CHORD}", players={"Violin 1": 8}), "Violin 1")
    assert (seats.lines, seats.needed, seats.short_by) == (2, 2, 0)
    assert seats.place is not None
    assert seats.place.bar == 2


def test_a_booking_that_is_too_small_is_short_by_the_difference() -> None:
    seats = seats_of(booth_of(f"Violin 1 {CHORD}", players={"Violin 1": 1}), "Violin 1")
    assert (seats.players, seats.needed, seats.short_by) == (1, 2, 1)


def test_double_stops_of_one_player_are_no_divisi() -> None:
    music = "Violin 1 4/4 q=60 | D4+B4:4 | D4+B4:4 |"
    seats = seats_of(booth_of(music, players={"Violin 1": 1}), "Violin 1")
    assert (seats.lines, seats.needed, seats.place) == (1, 1, None)


def test_a_chord_that_the_brief_accepts_asks_for_nobody(tmp_path: Path) -> None:
    path = tmp_path / "music.mid"
    path.write_bytes(midi_bytes(f"Violin 1 {CHORD}"))
    review = mockcheck.review(path, {"players": {"Violin 1": 1}})
    assert seats_of(booth(review), "Violin 1").needed == 2
    accepted = tuple(replace(finding, accepted="known") for finding in review.findings)
    assert seats_of(booth(replace(review, findings=accepted)), "Violin 1").needed == 1


def test_the_fullest_place_counts_and_of_several_the_first() -> None:
    music = "Violin 1 4/4 q=60 | A4:4 | A3+C4:4 | G3+A3+C4:4 | A4:4 | G3+A3+C4:4 |"
    seats = seats_of(booth_of(music, players={"Violin 1": 8}), "Violin 1")
    assert seats.lines == 3
    assert seats.place is not None
    assert seats.place.bar == 3


def test_sections_of_the_brief_are_the_sizes() -> None:
    music = (f"Violin 1 {QUIET}", f"Violin 2 {QUIET}", f"Cello {QUIET.replace('4:', '2:')}")
    one = booth_of(*music, sections="14.12.10.8.6", players={"Cello": 3})
    assert [seats.players for seats in one.seats] == [14, 12, 3]
    assert one.are_sizes_said
    assert not booth_of(*music).are_sizes_said


def test_a_part_for_a_section_that_is_not_booked_has_no_players() -> None:
    music = (f"Violin 1 {QUIET}", "Double Bass 4/4 | E2:4 |")
    one = booth_of(*music, sections="string quartet")
    assert seats_of(one, "Double Bass").players == 0
    assert one.players == 1
    named = booth_of(*music, sections="string quartet", players={"Double Bass": 2})
    assert seats_of(named, "Double Bass").players == 2
    on_track = [{"match": "Double Bass", "players": 3}]
    tracked = booth_of(*music, sections="string quartet", tracks=on_track)
    assert seats_of(tracked, "Double Bass").players == 3


def test_divisi_of_a_whole_body_is_not_known() -> None:
    one = booth_of("Strings 4/4 q=60 program=48 | C3+G3+E4+C5:4 | D3+G3+D4+B4:4 |")
    assert one.not_divided == ("Strings",)
    assert [seats.players for seats in one.seats] == [28]


def test_every_fault_of_the_brief_is_named_at_once() -> None:
    with pytest.raises(BadBrief) as caught:
        booth_of(
            f"Violin 1 {QUIET}",
            sections="8.8.5",
            style="baroque",
            tracks=[{"match": "Harp", "stays": "perhaps"}],
        )
    for words in ("sections", "style", "tracks row 1.stays"):
        assert words in str(caught.value)


def test_the_demo_has_its_harp_and_a_violin_chord_in_four() -> None:
    one = booth(mockcheck.review(DEMO / "harbour_at_dawn.mid", DEMO / "brief.toml"))
    assert names(one) == [("Harp pre-record", False)]
    assert (one.players, one.headphones) == (28, 21)
    violins = seats_of(one, "Violin 1")
    assert violins.place is not None
    assert (violins.lines, violins.place.bar) == (4, 31)


@pytest.mark.parametrize("path", QUARTETS, ids=lambda path: path.stem)
def test_quartets_are_played_by_four(path: Path) -> None:
    one = booth(mockcheck.review(path, {"sections": "string quartet"}))
    assert (one.players, len(one.seats), one.pre_records) == (4, 4, ())
