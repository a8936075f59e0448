import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.infer.players import count_players, share_players
from mockcheck.instruments import instrument
from mockcheck.model.played import Role
from mockcheck.model.sections import SectionSizes
from mockcheck.model.session import Session, TrackChoice
from tests.infer.tracks import role_of

KINDS = {"Violin": "violin", "Viola": "viola", "Cello": "cello", "Double": "double bass"}


def players(
    *parts: str,
    session: Session | None = None,
    choices: dict[int, TrackChoice] | None = None,
    solo: tuple[str, ...] = (),
) -> dict[str, int]:
    rows: dict[str, list[Role]] = {}
    for index, part in enumerate(parts):
        kind = KINDS.get(part.removeprefix("Solo ").split()[0], "strings")
        rows.setdefault(part, []).append(role_of(index, kind, part, is_solo=part in solo))
    said = {index: TrackChoice("x") for index in range(len(parts))} | (choices or {})
    instruments = {part: instrument(roles[0].instrument or "") for part, roles in rows.items()}
    return count_players(rows, instruments, said, session or Session())


def test_sections_are_those_of_a_reduced_studio_orchestra() -> None:
    # Contractor's note The Size of a String Section (2010): 8, 8, 5, 4, 3.
    assert players("Violin 1", "Violin 2", "Viola", "Cello", "Double Bass") == {
        "Violin 1": 8,
        "Violin 2": 8,
        "Viola": 5,
        "Cello": 4,
        "Double Bass": 3,
    }


def test_the_whole_string_body_is_the_sum_of_its_sections() -> None:
    assert players("Strings") == {"Strings": 28}


def test_sections_of_the_brief_take_the_place_of_the_usual_ones() -> None:
    booked = Session(sections=SectionSizes(16, 14, 12, 10, 8), players={"Cello": 6})
    assert players("Violin 1", "Violin 2", "Viola a", "Viola b", "Cello", session=booked) == {
        "Violin 1": 16,
        "Violin 2": 14,
        "Viola a": 6,
        "Viola b": 6,
        "Cello": 6,
    }
    assert players("Strings", session=booked) == {"Strings": 60}
    assert players("Violin 2 a", "Violin 2 b", session=booked) == {
        "Violin 2 a": 7,
        "Violin 2 b": 7,
    }
    assert players("Solo Violin", session=booked, solo=("Solo Violin",)) == {"Solo Violin": 1}


def test_desks_of_one_section_share_its_players() -> None:
    assert players("Viola a", "Viola b") == {"Viola a": 3, "Viola b": 2}
    assert players("Violin 1 a", "Violin 1 b", "Violin 2") == {
        "Violin 1 a": 4,
        "Violin 1 b": 4,
        "Violin 2": 8,
    }
    assert players("Cello 1", "Cello 2") == {"Cello 1": 2, "Cello 2": 2}
    assert players("Double Bass desk 1", "Double Bass desk 2") == {
        "Double Bass desk 1": 2,
        "Double Bass desk 2": 1,
    }


def test_however_often_a_section_is_divided_somebody_plays() -> None:
    assert set(players(*(f"Double Bass {letter}" for letter in "abcdef")).values()) == {1}


def test_a_soloist_is_one() -> None:
    assert players("Solo Cello", "Cello", solo=("Solo Cello",)) == {"Solo Cello": 1, "Cello": 4}


def test_the_brief_knows_better() -> None:
    choices = {0: TrackChoice("x", players=6), 1: TrackChoice("x", players=6)}
    assert players("Viola", "Viola", choices=choices) == {"Viola": 6}
    session = Session(players={"Viola": 10})
    assert players("Viola", "Viola", session=session, choices=choices) == {"Viola": 10}


@pytest.mark.parametrize(
    ("players", "lines", "shares"),
    [
        (8, 1, (8,)),
        (8, 2, (4, 4)),
        # Common practice, no source: the odd desk's one player joins the upper line.
        (5, 2, (3, 2)),
        (8, 3, (3, 3, 2)),
        (4, 3, (2, 1, 1)),
        (2, 3, (1, 1, 0)),
    ],
)
def test_lines_share_the_players_equally(players: int, lines: int, shares: tuple[int, ...]) -> None:
    assert share_players(players, lines) == shares


@given(st.integers(1, 60), st.integers(1, 8))
def test_no_player_is_lost_and_no_line_is_favoured_by_more_than_one(
    players: int, lines: int
) -> None:
    shares = share_players(players, lines)
    assert sum(shares) == players
    assert len(shares) == lines
    assert list(shares) == sorted(shares, reverse=True)
    assert shares[0] - shares[-1] <= 1
