import numpy as np
import pytest

from mockcheck.instruments import instrument
from mockcheck.read.note_profile import note_profile
from tests.read.score_builder import notes


# Medians that published quartets have (OpenScore String Quartets, CC0): first violins 69-80,
# violas 57-62, cellos 45-54; basses from memory.
@pytest.mark.parametrize(
    ("who", "pitches"),
    [
        ("violin", "69 74 76 79 72 67 74 81"),
        ("cello", "43 48 50 52 57 36 45 50"),
        ("double bass", "33 36 31 28 38 40 35 36"),
    ],
)
def test_a_register_betrays_its_instrument(who: str, pitches: str) -> None:
    likeliest, clearness = note_profile(notes(pitches)).likeliest()
    assert likeliest == who
    assert clearness > 0.85


def test_between_viola_and_cello_the_notes_are_not_clear() -> None:
    _, clearness = note_profile(notes("50 55 57 60 62 58 56 54")).likeliest()
    assert clearness < 0.85


def test_an_instrument_that_lacks_the_notes_is_out() -> None:
    # G3 is the violin's lowest string: music21 instrument tables.
    likeliest, _ = note_profile(notes("50 64 66 67 69 66 65 64 54 52")).likeliest()
    assert likeliest != "violin"


def test_chords_without_end_belong_to_the_whole_body() -> None:
    likeliest, _ = note_profile(notes(" ".join(["60+64+67+72"] * 8))).likeliest()
    assert likeliest == "strings"


def test_single_double_stops_leave_a_player_a_player() -> None:
    likeliest, _ = note_profile(notes("74 76 67+76 79 72 69+74 74 81")).likeliest()
    assert likeliest == "violin"


def test_music_where_nobody_plays_fits_nobody() -> None:
    likeliest, clearness = note_profile(notes("110 112 115 120 118")).likeliest()
    assert (likeliest, clearness) == ("strings", 0.0)


def test_a_handful_of_notes_tells_nothing() -> None:
    assert note_profile(notes("76 79 81")).likeliest()[0] == "strings"


def test_switch_keys_far_below_are_not_music() -> None:
    music = "69 74 76 79 72 67 74 81 76 74"
    profile = note_profile(notes(f"24 {music} 26 {music} 24"))
    assert int(profile.pitches.min()) == 67
    assert profile.likeliest()[0] == "violin"
    assert profile.share_inside(instrument("violin")) == 1.0


def test_switch_keys_far_above_are_not_music_either() -> None:
    music = "33 36 31 28 38 40 35 36"
    profile = note_profile(notes(f"84 {music} 86 {music}"))
    assert profile.likeliest()[0] == "double bass"


def test_voices_count_what_sounds_together() -> None:
    assert note_profile(notes("60 62 64 65")).voices == pytest.approx(1.0)
    assert note_profile(notes("60+64 62+65 64+67")).voices == pytest.approx(2.0)


def test_no_notes_fit_no_one() -> None:
    profile = note_profile(notes(""))
    assert profile.share_inside(instrument("violin")) == 0.0
    assert profile.voices == 0.0
    assert len(profile.pitches) == 0


def test_moving_music_in_time_changes_nothing() -> None:
    early, late = (note_profile(notes("60 64+67 72", start_s=start)) for start in (0.0, 40.0))
    assert np.array_equal(early.pitches, late.pitches)
    assert early.voices == pytest.approx(late.voices)
