import pytest

from mockcheck.infer.choices import choice_for
from mockcheck.model.session import Switch, TrackChoice
from tests.infer.tracks import role_of


@pytest.mark.parametrize("match", ["track 2", "TRACK 2", "track*", "2", "*"])
def test_a_pattern_or_a_row_number_finds_the_row(match: str) -> None:
    choice = choice_for(role_of(2), [TrackChoice(match, players=3)])
    assert choice.players == 3


@pytest.mark.parametrize("match", ["track", "3", "Violin", "rack 2"])
def test_other_rows_are_left_alone(match: str) -> None:
    assert choice_for(role_of(2), [TrackChoice(match, players=3)]).players is None


def test_later_answers_win_and_switches_add_up() -> None:
    pizzicato, legato = Switch("pizzicato", key=24), Switch("legato", key=25)
    choice = choice_for(
        role_of(),
        [
            TrackChoice("*", players=3, articulation="legato", switches=(pizzicato,)),
            TrackChoice("0", players=5, switches=(legato,)),
            TrackChoice("0"),
        ],
    )
    assert (choice.players, choice.articulation) == (5, "legato")
    assert choice.switches == (pizzicato, legato)
