from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.infer.note_costs import (
    NOTE_COSTS,
    is_read,
    leap_costs,
    ledger_costs,
    sign_costs,
    technique_changes,
)
from mockcheck.infer.printed_signs import printed_signs
from mockcheck.model.articulations import ARTICULATIONS, COLOURS, ArticulationColumns
from mockcheck.model.played import PlayedPart
from tests.infer.spelled_bars import printed
from tests.phrases import phrase


def costs_of(names: str, key: int = 0) -> list[float]:
    part = printed([[(name, place) for place, name in enumerate(names.split())]], key)
    costs: list[float] = signs_cost(part).tolist()
    return costs


def signs_cost(part: PlayedPart) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    signs = printed_signs(part)
    assert signs is not None
    assert part.spelling is not None
    fifths = part.spelling.fifths.astype(np.int64)
    return sign_costs(signs, fifths, np.zeros(len(fifths), np.int64))


def ledgers_of(text: str) -> list[float]:
    part = phrase(text)
    signs = printed_signs(part)
    assert signs is not None
    costs: list[float] = ledger_costs(part, signs).tolist()
    return costs


def test_notes_of_the_key_cost_nothing() -> None:
    assert costs_of("C5 D5 E5 F5 B5 F5") == [0] * 6


def test_an_accidental_costs_more_the_stranger_it_is() -> None:
    # G to F sharp and A to B flat are plain steps; each sign contradicts the signature.
    assert costs_of("G5 F#5 G5") == [0, 1.5, 0]
    assert costs_of("G5 F#5 F#5") == [0, 1.5, 0]
    assert costs_of("F##5") == [3.5]
    # The fourth to C flat is perfect from G flat.
    assert costs_of("Gb4 Cb5")[1] == 2


def test_a_natural_that_takes_a_sign_back_is_the_second_on_its_line() -> None:
    assert costs_of("F#5 F5") == [1.5, 2.5]


def test_an_augmented_step_costs_its_reader_something() -> None:
    assert costs_of("Ab4 B4") == [1.5, 0.75]
    assert costs_of("F4 B4") == [0, 0]


def test_one_pitch_in_two_spellings_costs_three() -> None:
    assert costs_of("C#5 Db5") == [1.5, 4.5]
    assert costs_of("C#5 Db4")[1] < 4.5


@given(
    st.lists(st.sampled_from("CDEFGAB"), min_size=1, max_size=12),
    st.data(),
)
def test_one_foreign_note_more_never_reads_easier(letters: list[str], data: st.DataObject) -> None:
    signs = data.draw(st.lists(st.sampled_from(["", "", "#", "b"]), min_size=12, max_size=12))
    names = [letter + sign for letter, sign in zip(letters, signs, strict=False)]
    place = data.draw(st.sampled_from(range(len(names))))
    # A letter that stands in the bar once: elsewhere a sign may save another.
    if letters.count(letters[place]) > 1 or names[place] != letters[place]:
        return
    harder = [*names]
    harder[place] += data.draw(st.sampled_from(["#", "b"]))
    before, after = (sum(costs_of(" ".join(f"{n}5" for n in row))) for row in (names, harder))
    assert after >= before


def test_ledger_lines_cost_by_their_square() -> None:
    # A5, C6, E6 and G6 stand on one to four ledger lines of the treble clef.
    costs = ledgers_of("violin 4/4 q=60 key=0 | F5:1 G5:1 B4:1 E4:1 | A5:1 C6:1 E6:1 G6:1 |")
    assert costs[:4] == [0, 0, 0, 0]
    assert costs[4:] == [n * n / NOTE_COSTS.counted_lines for n in (1, 2, 3, 4)]


def test_below_the_staff_lines_are_counted_too() -> None:
    assert ledgers_of("violin 4/4 q=60 key=0 | C4:2 A3:2 |") == [1 / 8, 4 / 8]


@pytest.mark.parametrize("instrument", ["violin", "viola", "cello", "double bass"])
def test_higher_notes_above_the_staff_never_cost_less(instrument: str) -> None:
    names = [f"{letter}{octave}" for octave in (3, 4, 5, 6, 7) for letter in "CDEFGAB"]
    costs = ledgers_of(f"{instrument} 4/4 q=60 key=0 | {' | '.join(f'{n}:4' for n in names)} |")
    inside = costs.index(0) if 0 in costs else 0
    assert costs[inside:] == sorted(costs[inside:])
    assert costs[-1] > 0


def test_a_cello_reads_its_upper_octaves_in_other_clefs() -> None:
    cello = ledgers_of("cello 4/4 q=60 key=0 | F5:4 |")
    assert cello == ledgers_of("cello 4/4 q=60 key=0 | A4:4 |")
    assert cello < ledgers_of("viola 4/4 q=60 key=0 | E6:4 |")


def test_leaps_count_from_beyond_a_fifth_to_a_twelfth() -> None:
    pitch, one = np.array([60, 67, 60, 73, 60, 96]), np.zeros(6, np.int64)
    assert leap_costs(pitch, one).tolist() == [0, 0, 0, 0.5, 0.5, 1]


def test_leaps_are_read_along_lines() -> None:
    pitch = np.array([84, 60, 86, 62])
    assert leap_costs(pitch, np.array([0, 1, 0, 1])).tolist() == [0] * 4


def test_words_of_playing_count_where_they_begin_and_end() -> None:
    part = phrase("violin 4/4 q=60 | C5:1 D5:1 E5:1 F5:1 |")
    ways = ["staccato", "pizzicato", "pizzicato", "legato"]
    columns = ArticulationColumns(
        np.array([ARTICULATIONS.index(way) for way in ways], np.int8),
        np.ones(4),
        np.array([-1, -1, -1, COLOURS.index("con sordino")], np.int8),
        np.ones(4),
    )
    assert technique_changes(replace(part, articulation=columns)).tolist() == [0, 1, 0, 2]
    assert technique_changes(part).tolist() == [0] * 4


def test_the_strokes_of_a_tremolo_are_one_sign() -> None:
    part = phrase("violin tremolo 4/4 q=120 | " + "C5:1/8 " * 16 + "E5:1/8 " * 16 + "|")
    assert part.articulation.is_any("tremolo").all()
    assert is_read(part, np.zeros(len(part.notes), np.int64)).sum() == 2
    plain = phrase("violin 4/4 q=120 | C5:1 C5:1 E5:1 E5:1 |")
    assert is_read(plain, np.zeros(4, np.int64)).all()
