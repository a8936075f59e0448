from dataclasses import replace

from mockcheck.model.time import Location
from mockcheck.plan.booth import Booth, PreRecord, Seats
from mockcheck.report.booth import to_text

PLACE = Location(31, 1.0, 57_600, 75.0)
HARP = PreRecord("Harp", "the brief says it stays", is_said=True)


def seats(part: str, players: int, lines: int = 1, needed: int | None = None) -> Seats:
    desks = (players + 1) // 2
    place = None if lines == 1 else PLACE
    return Seats(part, players, desks, lines, lines if needed is None else needed, place)


BOOTH = Booth(
    pre_records=(HARP,),
    replaced=(),
    silent=(),
    clicks=(),
    seats=(seats("Violin 1", 8), seats("Viola", 5)),
    not_divided=(),
    own_headphones=3,
    headphones=10,
    are_sizes_said=True,
)


def text_of(booth: Booth, width: int = 200) -> str:
    return to_text(booth, width)


def test_pre_records_players_and_headphones_come_first() -> None:
    lines = text_of(BOOTH).splitlines()
    assert lines[0] == "In the headphones: click, and pre-records that the players tune to: Harp."
    assert lines[1] == "13 players, one headphone each; about 3 bring their own, so provide 10."
    assert lines[2:4] == [
        "Violin 1: 8 players at 4 desks; never divides.",
        "Viola: 5 players at 3 desks; never divides.",
    ]


def test_click_alone_is_enough_when_nothing_stays() -> None:
    first = text_of(replace(BOOTH, pre_records=())).splitlines()[0]
    assert first.startswith("In the headphones: click alone")


def test_loud_clicks_are_left_to_professionals() -> None:
    assert "audiologist" in text_of(BOOTH)


def test_guesses_ask_for_the_line_of_the_brief_that_settles_them() -> None:
    guessed = replace(BOOTH, pre_records=(replace(HARP, is_said=False),), are_sizes_said=False)
    for words in ("stays = true", 'sections = "8.8.5.4.3"'):
        assert words in text_of(guessed)
        assert words not in text_of(BOOTH)


def test_other_tracks_are_named_with_what_becomes_of_them() -> None:
    text = text_of(replace(BOOTH, replaced=("Choir",), silent=("Piano",), clicks=("Click",)))
    assert "Not in the headphones, since the brief says it does not stay: Choir." in text
    assert "without notes in this file: Piano." in text
    assert "A click of the file's own: Click." in text


def divided(own: Seats) -> str:
    return text_of(replace(BOOTH, seats=(own,))).splitlines()[2]


def test_divided_parts_say_where_and_how_many_to_a_line() -> None:
    assert divided(seats("Violin 1", 8, 4)) == (
        "Violin 1: 8 players at 4 desks; divides in 4 at most, first at bar 31, beat 1:"
        " 2 players to a line."
    )
    assert divided(seats("Viola", 5, 2)).endswith(": 3 and 2 players, from the top.")
    assert divided(seats("Viola", 2, 2)).endswith(": 1 player to a line.")


def test_a_small_booking_says_how_many_are_missing() -> None:
    assert divided(seats("Viola", 2, 3)).endswith(
        "1 player too few; book more, or leave out a line."
    )
    assert divided(seats("Viola", 1, 4)).endswith(
        "3 players too few; book more, or leave out a line."
    )
    assert divided(seats("Viola", 0)) == "Viola: nobody is booked, and the file has a part for it."


def test_one_player_is_one_player() -> None:
    solo = replace(BOOTH, seats=(seats("Violin 1", 1),), own_headphones=0, headphones=1)
    lines = text_of(solo).splitlines()
    assert lines[1] == "1 player, one headphone each; provide 1."
    assert lines[2] == "Violin 1: 1 player at 1 desk; never divides."


def test_a_whole_body_on_one_track_says_what_is_not_known() -> None:
    body = replace(BOOTH, seats=(seats("Strings", 28),), not_divided=("Strings",))
    assert "who divides where is not known" in text_of(body)


def test_names_cannot_command_a_terminal_and_lines_keep_to_the_width() -> None:
    hostile = replace(HARP, name="Harp \x1b]0;title\x07" + "x" * 300)
    text = text_of(replace(BOOTH, pre_records=(hostile,)), 60)
    assert "\x1b" not in text
    assert max(map(len, text.splitlines())) <= 60
