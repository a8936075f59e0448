import json
import subprocess
import sys

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.cli.chord import command
from mockcheck.errors import BadBrief
from mockcheck.instruments import instrument, instrument_ids
from mockcheck.units import pitch_name


def asked(*arguments: str) -> str:
    """What is printed, each paragraph unwrapped."""
    result = CliRunner().invoke(command, arguments, catch_exceptions=False)
    assert result.exit_code == 0
    return " ".join(result.output.split())


def record(*arguments: str) -> dict[str, object]:
    result = CliRunner().invoke(command, [*arguments, "--format", "json"], catch_exceptions=False)
    found: dict[str, object] = json.loads(result.output)
    return found


def test_a_chord_is_told_from_the_top_string_by_string() -> None:
    output = asked("violin", "D4", "B4")
    assert output.startswith("Violin, D4 B4: easy for one player.")
    assert "B4 A string, first finger D4 D string, open" in output
    assert "The bow can hold the notes together." in output
    assert "Divide" not in output


def test_three_notes_are_held_only_loud_and_short_and_four_are_broken() -> None:
    # Common practice, no source.
    assert "only when loud and short" in asked("violin", "G3", "D4", "B4")
    assert "break the chord" in asked("violin", "G3", "D4", "B4", "G5")


def test_one_note_is_a_chord_that_needs_no_word_about_the_bow() -> None:
    assert asked("viola", "C3") == "Viola, C3: easy for one player. C3 C string, open"


def test_two_notes_of_one_string_are_divided() -> None:
    output = asked("violin", "G3", "A3")
    assert "impossible for one player. G3 and A3 both lie below the open D" in output
    assert output.endswith("Divide in 2 (div. a 2): A3 (1 player), G3 (1 player).")


def test_a_tenth_is_hard_with_a_caution_and_a_safer_way() -> None:
    # Common practice, no source: about the widest two-note chord one violinist can stop.
    output = asked("violin", "A3", "C5")
    assert "hard for one player" in output
    assert "The outer fingers stand 108 mm apart." in output
    assert "Safer: divide in 2 (div. a 2): C5 (1 player), A3 (1 player)." in output
    assert "the player decides, and pain is a matter for a professional" in output


def test_a_chord_that_is_hard_for_another_reason_has_no_caution() -> None:
    output = asked("violin", "G#4", "A#5")
    assert "hard for one player. The A string speaks badly above its octave." in output
    assert "Caution" not in output


def test_the_players_there_are_share_the_chord_out() -> None:
    assert "G3 (3 players), E3 (3 players), C3 (2 players)" in asked(
        "viola", "C3", "E3", "G3", "--players", "8"
    )
    assert "Shared out: divide in 2 (div. a 2)" in asked("violin", "C4", "E4", "--players", "4")
    assert "needs" not in asked("violin", "C4", "E4", "--players", "1")
    assert "need 2 players, and the part has 1" in asked("violin", "G3", "A3", "--players", "1")


def test_by_default_no_line_is_left_with_a_hard_double_stop() -> None:
    # Two players would have to include the ninth A3 with B4 or the tenth A3 with C5.
    division = record("violin", "A3", "B4", "C5")["division"]
    assert isinstance(division, dict)
    assert all(line["verdict"] != "hard" for line in division["lines"])
    assert division["is_enough"]


def test_a_note_outside_goes_to_another_instrument() -> None:
    output = asked("violin", "E3", "F3", "A4")
    assert "Give E3 and F3 to another instrument; dividing does not help." in output


def test_bass_notes_are_said_to_be_sounding_ones() -> None:
    assert asked("bass", "E1").endswith("a bass part is written an octave higher.")
    assert "as they sound" not in asked("cello", "E2")


def test_the_thumb_is_called_thumb() -> None:
    assert "Ab2 C string, thumb" in asked("cello", "Ab2", "G3")


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("bass", "double bass"),
        ("db", "double bass"),
        ("double-bass", "double bass"),
        ("double-bass-c-extension", "double bass C extension"),
        ("vla", "viola"),
        ("Geige", "violin"),
        ("VIOLONCELLO", "cello"),
    ],
)
def test_instruments_go_by_the_names_players_use(name: str, meant: str) -> None:
    assert record(name, "G3")["instrument"] == meant


@pytest.mark.parametrize("name", [n for n in instrument_ids() if n != "strings"])
def test_every_instrument_goes_by_its_own_name(name: str) -> None:
    assert record(name, "G3")["instrument"] == name


def test_notes_are_read_with_commas_and_musical_signs() -> None:
    flat_and_sharp = record("violin", "B♭3,F♯4")["notes"]
    assert flat_and_sharp == record("violin", "Bb3", "F#4")["notes"]
    assert flat_and_sharp == record("violin", "58", "66")["notes"]


def test_middle_c_may_be_called_c3_or_c5() -> None:
    assert "C2 C string, open" in asked("viola", "C2", "--middle-c", "C3")
    assert "C4 C string, open" in asked("viola", "C4", "--middle-c", "C5")


def test_json_has_stable_names() -> None:
    answer = record("violin", "A3", "C5")
    assert answer == {
        "schema": "mockcheck.chord/1",
        "instrument": "violin",
        "verdict": "hard",
        "reason": answer["reason"],
        "failure": None,
        "notes": [
            {
                "note": "A3",
                "pitch": 57,
                "string": "G",
                "string_index": 3,
                "finger": 1,
                "stop_semitones": 2,
            },
            {
                "note": "C5",
                "pitch": 72,
                "string": "D",
                "string_index": 2,
                "finger": 4,
                "stop_semitones": 10,
            },
        ],
        "stretch_mm": 108.1,
        "sustained": "together",
        "evidence": answer["evidence"],
        "division": {
            "lines": [
                {"notes": ["C5"], "pitches": [72], "players": 1, "verdict": "easy"},
                {"notes": ["A3"], "pitches": [57], "players": 1, "verdict": "easy"},
            ],
            "players": 2,
            "fewest_lines": 1,
            "is_enough": True,
            "suggestion": "Divide in 2 (div. a 2): C5 (1 player), A3 (1 player).",
        },
        "caution": answer["caution"],
    }
    assert isinstance(answer["evidence"], dict)
    assert set(answer["evidence"]) == {"quantity", "measured", "limit", "unit"}


def test_json_of_an_impossible_chord_has_no_places() -> None:
    answer = record("violin", "F3")
    assert (answer["verdict"], answer["failure"]) == ("impossible", "below open strings")
    assert answer["division"] is None
    assert answer["notes"] == [
        {
            "note": "F3",
            "pitch": 53,
            "string": None,
            "string_index": None,
            "finger": None,
            "stop_semitones": None,
        }
    ]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("flute", "C4"), "'flute' is not one bowed string instrument. Write one of: violin"),
        (("strings", "C4"), "'strings' is not one bowed string instrument"),
        (("bass guitar", "E2"), "'bass guitar' is not one bowed"),
        (("violin", "H4"), "'H4' is not a note. Write a letter A-G"),
        (("violin", "²"), "'²' is not a note"),
        (("violin", "G"), "'G' is not a note"),
        (("violin", "128"), "outside the MIDI notes 0 to 127"),
        (("violin", "C-2"), "outside the MIDI notes 0 to 127"),
    ],
)
def test_what_cannot_be_understood_is_refused_in_words(
    arguments: tuple[str, ...], words: str
) -> None:
    result = CliRunner().invoke(command, arguments)
    assert isinstance(result.exception, BadBrief)
    assert words in str(result.exception)


def test_the_exit_code_is_0_for_an_answer_and_2_for_a_bad_question() -> None:
    def code(*arguments: str) -> int:
        return subprocess.run(
            [sys.executable, "-m", "mockcheck", "chord", *arguments],
            capture_output=True,
            check=False,
        ).returncode

    assert code("violin", "G3", "A3") == 0
    assert code("kazoo", "G3") == 2
    assert code("violin", "H3") == 2
    assert code("violin") == 2
    assert code("violin", "G3", "--players", "0") == 2


@given(
    st.sampled_from(["violin", "viola", "cello", "double bass"]),
    st.lists(st.integers(0, 127), min_size=1, max_size=5),
    st.none() | st.integers(1, 12),
)
def test_any_notes_get_an_answer_with_every_note_in_it(
    name: str, pitches: list[int], players: int | None
) -> None:
    extra = [] if players is None else ["--players", str(players)]
    output = asked(name, *map(str, pitches), *extra)
    names = " ".join(pitch_name(pitch) for pitch in sorted(pitches))
    assert f", {names}: " in output
    is_below = any(pitch < instrument(name).lowest for pitch in pitches)
    assert not is_below or "impossible" in output
