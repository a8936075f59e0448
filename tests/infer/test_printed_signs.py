import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.infer.printed_signs import printed_signs, signature_of, written_bars
from tests.infer.spelled_bars import printed
from tests.phrases import phrase
from tests.report.synthetic import VIOLIN, frames_timeline, part_of


def signs_of(bars: str, key: int = 0) -> list[str]:
    """Names of the notes with a sign, '!' after one whose line had another before in the bar."""
    table = [bar.split() for bar in bars.split("|")]
    part = printed([[(name, place) for place, name in enumerate(bar)] for bar in table], key)
    signs = printed_signs(part)
    assert signs is not None
    names = [name for bar in table for name in bar]
    return [
        names[row] + ("!" if signs.is_again[row] else "")
        for row in np.flatnonzero(signs.is_printed).tolist()
    ]


def test_a_sign_holds_to_the_bar_line() -> None:
    assert signs_of("F#5 G5 F#5 | F#5") == ["F#5", "F#5"]


def test_a_sign_holds_in_its_own_octave() -> None:
    assert signs_of("F#4 F#5") == ["F#4", "F#5"]


def test_a_natural_takes_a_sign_back() -> None:
    assert signs_of("F#5 F5 F5 F#5") == ["F#5", "F5!", "F#5!"]


def test_the_signature_needs_no_signs_and_what_leaves_it_does() -> None:
    assert signs_of("F#5 C#5 G5 | C5", key=2) == ["C5"]
    assert signs_of("Bb4 Eb5 Ab4 | B4", key=-3) == ["B4"]


def test_flat_and_sharp_on_one_letter_are_one_line() -> None:
    assert signs_of("Bb4 B#4") == ["Bb4", "B#4!"]


@given(st.integers(-7, 7))
def test_the_scale_of_a_signature_needs_no_sign(key: int) -> None:
    letters = "FCGDAEB"
    names = []
    for place in range(key - 1, key + 6):
        sharps, letter = divmod(place + 1, 7)
        names.append(letters[letter] + ("#" * sharps if sharps > 0 else "b" * -sharps) + "5")
    assert signs_of(" ".join(names), key) == []


def test_foreign_notes_are_those_the_signature_does_not_have() -> None:
    signs = printed_signs(printed([[("F5", 0), ("F#5", 1)]], key=1))
    assert signs is not None
    assert signs.is_foreign.tolist() == [True, False]


def test_the_files_signature_comes_before_the_key_that_is_heard() -> None:
    scale = "E4:1 F#4:1 G#4:1 A4:1 | B4:1 C#5:1 D#5:1 E5:1 | " * 4
    assert set(signature_of(phrase(f"violin 4/4 q=100 key=0 | {scale}")).tolist()) == {0}
    assert set(signature_of(phrase(f"violin 4/4 q=100 | {scale}")).tolist()) == {4}


def test_a_downbeat_played_early_belongs_to_its_own_bar() -> None:
    first = "C5:1 D5:1 E5:1 F5:.97 G5:.03 | "
    part = phrase(f"violin 4/4 q=100 | {first}{'r:1 D5:1 E5:1 F5:.97 G5:.03 | ' * 5}")
    meter = part.timeline.meter
    assert meter is not None
    is_early = part.notes.pitch == 79
    by_tick = meter.bar_index(part.notes.onset_ticks)
    assert (written_bars(part) - by_tick).tolist() == is_early.astype(int).tolist()


def test_without_bars_there_are_no_signs() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, 900)], timeline=frames_timeline())
    assert printed_signs(part) is None
    assert signature_of(part).tolist() == [0]
    with pytest.raises(ValueError, match="no bars"):
        written_bars(part)
