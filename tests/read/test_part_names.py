from mockcheck.read.part_names import Seat, name_parts
from mockcheck.read.track_names import read_name
from tests.read.score_builder import notes

HIGH, LOWER = "79 81 83 84 86 83", "67 69 71 72 74 71"


def seat(
    name: str,
    music: str = HIGH,
    *,
    part: str | None = None,
    start_s: float = 0.0,
    timeline: int = 0,
) -> Seat:
    says = read_name(name)
    return Seat(
        instrument=says.instrument or "strings",
        name=says,
        is_solo=says.is_solo,
        notes=notes(music, start_s=start_s),
        timeline=timeline,
        fixed_part=part,
    )


def named(*seats: Seat) -> list[str]:
    parts = name_parts(dict(enumerate(seats)))
    return [parts[row] for row in range(len(seats))]


# How scores name their staves: common practice, no source.
def test_parts_are_called_as_in_a_score() -> None:
    for name, part in {
        "Vln. II": "Violin 2",
        "Solo Vln": "Solo Violin",
        "Vla": "Viola",
        "Celli": "Cello",
        "Kontrabass 5-Saiter": "Double Bass",
        "Vln 1 div. b": "Violin 1 b",
        "Vc desk 2": "Cello desk 2",
        "Stgs": "Strings",
    }.items():
        assert named(seat(name)) == [part]


def test_two_plain_violins_at_once_are_two_lines_the_higher_first() -> None:
    assert named(seat("Violin", LOWER), seat("Violin", HIGH)) == ["Violin 2", "Violin 1"]
    assert named(seat("Viola", HIGH), seat("Vla.", LOWER)) == ["Viola 1", "Viola 2"]


def test_two_lines_of_a_numbered_section_are_lettered() -> None:
    both = (seat("Violin 1", HIGH), seat("Vln I", LOWER))
    assert named(*both) == ["Violin 1 a", "Violin 1 b"]


def test_a_line_that_takes_over_from_another_is_the_same_part() -> None:
    assert named(seat("Violin"), seat("Violin", LOWER, start_s=10.0)) == ["Violin", "Violin"]


def test_release_tails_do_not_make_two_lines() -> None:
    assert named(seat("Violin"), seat("Violin", LOWER, start_s=5.5)) == ["Violin", "Violin"]


def test_a_doubled_line_is_one_part_even_a_little_late() -> None:
    assert named(seat("Violin"), seat("Violin", start_s=0.03)) == ["Violin", "Violin"]


def test_strokes_of_one_instrument_are_one_part_even_at_once() -> None:
    both = (seat("Violin leg", HIGH), seat("Violin pizz", LOWER))
    assert named(*both) == ["Violin", "Violin"]


def test_strokes_of_two_lines_go_with_their_line() -> None:
    assert named(
        seat("Violin leg", HIGH),
        seat("Violin leg", LOWER),
        seat("Violin pizz", LOWER),
        seat("Violin pizz", HIGH),
    ) == ["Violin 1", "Violin 2", "Violin 2", "Violin 1"]


def test_a_stroke_without_an_instrument_joins_nobody_who_plays_at_once() -> None:
    assert named(seat("Pizz", LOWER), seat("Pad", HIGH)) == ["Strings 2", "Strings 1"]


def test_a_number_that_a_name_already_has_is_not_given_again() -> None:
    parts = named(seat("Violin 1", HIGH), seat("Violin", HIGH), seat("Violin", LOWER))
    assert parts == ["Violin 1", "Violin 2", "Violin 3"]


def test_a_track_for_each_pitch_is_one_player() -> None:
    assert named(*(seat("Violin", f"{p} {p} {p}") for p in (67, 69, 71))) == ["Violin"] * 3


def test_tracks_with_a_time_of_their_own_are_never_one_part() -> None:
    both = (seat("Cello", timeline=0), seat("Cello", start_s=20.0, timeline=1))
    assert named(*both) == ["Cello 1", "Cello 2"]


def test_the_part_of_the_brief_stands() -> None:
    both = (seat("Violin", HIGH, part="Leaders"), seat("Violin", LOWER))
    assert named(*both) == ["Leaders", "Violin"]
