import json
import subprocess
import sys

import pytest
from click.testing import CliRunner

from mockcheck.cli.harmonic import command
from mockcheck.errors import BadBrief
from mockcheck.playing import harmonics


def asked(*arguments: str) -> str:
    """What is printed, each paragraph unwrapped."""
    result = CliRunner().invoke(command, arguments, catch_exceptions=False)
    assert result.exit_code == 0
    return " ".join(result.output.split())


def test_g5_on_the_violin_is_the_fourth_above_the_open_g_string() -> None:
    # Common practice, no source: touched C4, or the sounding note with a circle.
    output = asked("violin", "G5")
    assert output.startswith("G5 as a harmonic on the violin: 4 ways, easiest first. 1. Easy: ")
    assert (
        "on the G string. Touch C4, a fourth above the open string, 82 mm from the nut." in output
    )
    assert "Write G5 with a small circle above, sul G, or a diamond at C4, sul G." in output
    assert "The sounding note with a circle is enough" in output
    assert "Natural harmonics ring more freely and take little vibrato" in output


def test_an_artificial_harmonic_says_both_fingers_and_how_far_apart() -> None:
    output = asked("violin", "E5")
    assert "The first finger stops A3, the fourth finger touches E4, a fifth above, 97 mm" in output
    assert "Write A3 as an ordinary note and a diamond at E4 above it" in output
    assert "leaves no doubt" in output


def test_the_thumb_is_called_thumb() -> None:
    assert "The thumb stops Bb3, the third finger touches Eb4" in asked("cello", "Bb5")


def test_a_wide_stretch_is_followed_by_a_caution_and_nothing_else_is() -> None:
    assert "the player decides, and pain is a matter for a professional" in asked("violin", "E5")
    assert "Caution" not in asked("violin", "G4")


def test_the_touched_place_is_put_into_words_where_no_note_names_it() -> None:
    # Fifth partial: 14 cents below the note; eighth: 2.31 semitones, between two notes.
    assert "Touch a little below B3, about a major third above the open string" in asked(
        "violin", "B5"
    )
    assert "Touch a little above Bb3, about a minor third above" in asked("violin", "D6", "--all")
    output = asked("viola", "C6", "--all")
    assert "Touch between D3 and Eb3, about a whole tone above" in output
    assert "Touch C6, three octaves above the open string" in output


def test_a_place_between_two_notes_is_told_from_either_side() -> None:
    # Nodes of the seventh partial of the A string, 2.67 and 9.69 semitones up.
    output = asked("bass", "G4", "--all")
    assert "Touch between B1 and C2, about a minor third above the open string" in output
    assert "Touch between F#2 and G2, about a minor seventh above the open string" in output


def test_the_harder_ways_are_counted_and_printed_on_demand() -> None:
    total = len(harmonics("cello", 74))
    short, long = asked("cello", "D5"), asked("cello", "D5", "--all")
    assert f"{total - 6} more, none easier: add --all" in short
    assert f" {total}. Hard:" in long
    assert f" {total}. Hard:" not in short
    assert "--all" not in long


def test_a_single_way_is_not_called_easiest() -> None:
    assert "on the double bass: one way." in asked("bass", "G3")


def test_a_note_without_harmonics_gets_a_reason_and_no_error() -> None:
    assert asked("violin", "C4").startswith("Violin: C4 is too low: no harmonic sounds below G4")


def test_bass_notes_are_said_to_be_sounding_ones() -> None:
    assert asked("bass", "G3").endswith("a bass part is written an octave higher.")
    assert "written an octave higher" in asked("bass", "C2")
    assert "written an octave higher" not in asked("cello", "G3")


def test_middle_c_may_be_called_c3() -> None:
    output = asked("violin", "G4", "--middle-c", "C3")
    assert output.startswith("G4 as a harmonic")
    assert "Touch C3" in output


def test_json_has_every_way_and_stable_names() -> None:
    answer = json.loads(CliRunner().invoke(command, ["violin", "G5", "--format", "json"]).output)
    assert list(answer) == ["schema", "instrument", "note", "pitch", "ways", "reason", "caution"]
    assert answer["schema"] == "mockcheck.harmonic/1"
    assert (answer["instrument"], answer["note"], answer["pitch"]) == ("violin", "G5", 79)
    assert answer["reason"] is None
    assert answer["caution"].startswith("Caution: ")
    first, last = answer["ways"][0], answer["ways"][-1]
    assert first == {
        "kind": "natural",
        "verdict": "easy",
        "reason": "The fourth partial of the G string speaks readily.",
        "string": "G",
        "string_index": 3,
        "partial": 4,
        "stopped_note": None,
        "stopped_pitch": None,
        "stopped_semitones": None,
        "touched_note": "C4",
        "touched_pitch": 60,
        "touched_semitones": 4.98,
        "touched_mm": 82.0,
        "reach_mm": 0.0,
        "fingers": [],
        "cents_off": 0.0,
        "notations": ["G5 with a small circle above, sul G", "a diamond at C4, sul G"],
        "evidence": None,
    }
    assert (last["kind"], last["stopped_note"], last["fingers"]) == ("artificial", "G4", [1, 4])
    assert last["evidence"]["unit"] == "mm"


def test_json_of_a_note_without_harmonics_has_the_reason() -> None:
    answer = json.loads(CliRunner().invoke(command, ["violin", "C4", "--format", "json"]).output)
    assert answer["ways"] == []
    assert "too low" in answer["reason"]
    assert answer["caution"] is None


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("flute", "G5"), "'flute' is not one bowed string instrument. Write one of: violin"),
        (("violin", "H5"), "'H5' is not a note. Write a letter A-G"),
        (("violin", "G5 B5"), "'G5 B5' is 2 notes"),
        (("violin", " "), "none is given"),
    ],
)
def test_what_cannot_be_understood_is_refused_in_words(
    arguments: tuple[str, ...], words: str
) -> None:
    result = CliRunner().invoke(command, arguments)
    assert isinstance(result.exception, BadBrief)
    assert words in str(result.exception)


def test_the_exit_code_is_0_for_an_answer_and_2_for_a_bad_question() -> None:
    codes = [
        subprocess.run(
            [sys.executable, "-m", "mockcheck", "harmonic", "violin", note],
            capture_output=True,
            check=False,
        ).returncode
        for note in ("C4", "H5")
    ]
    assert codes == [0, 2]
