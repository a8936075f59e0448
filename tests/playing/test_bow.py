from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.instruments import instrument
from mockcheck.model.instrument import Instrument
from mockcheck.playing.bow import comfortable_bow_s, longest_bow_s

VIOLIN, VIOLA, CELLO, BASS = (
    instrument(name) for name in ("violin", "viola", "cello", "double bass")
)
PP, P, MP, MF, F, FF = 33, 49, 64, 80, 96, 112

# Percentiles of slurs of two notes or more under printed metronome marks, OpenScore String
# Quartets (CC0), 116 scores: 90th and 99th of each dynamic, s.
PRINTED_SLURS = {
    PP: (2.61, 6.0),
    P: (2.61, 5.45),
    MP: (2.31, 3.75),
    MF: (2.37, 4.5),
    F: (2.0, 3.91),
    FF: (1.6, 3.87),
}


@pytest.mark.parametrize("loudness", PRINTED_SLURS)
def test_ninety_nine_printed_slurs_in_a_hundred_fit_under_the_longest_bow(loudness: int) -> None:
    ninety, ninety_nine = PRINTED_SLURS[loudness]
    assert longest_bow_s(VIOLIN, loudness) > ninety_nine
    assert longest_bow_s(CELLO, loudness) > ninety


@pytest.mark.parametrize(("loudness", "noted_s"), [(PP, 12), (P, 6), (MF, 3)])
def test_a_comfortable_bow_is_what_an_orchestrator_notes(loudness: int, noted_s: float) -> None:
    # An orchestrator's note on bow lengths of the violin; its p is from memory.
    assert comfortable_bow_s(VIOLIN, loudness) == pytest.approx(noted_s, rel=0.2)


@pytest.mark.parametrize(
    ("loudness", "slow_m_per_s", "fast_m_per_s"),
    [(PP, 0.05, 0.08), (MF, 0.15, 0.25), (FF, 0.4, 0.6)],
)
def test_a_comfortable_bow_is_hair_over_speed(
    loudness: int, slow_m_per_s: float, fast_m_per_s: float
) -> None:
    # Ranges of bow speed from memory, after Askenfelt, JASA 86 (1989); hair of the violin 0.62 m.
    assert 0.62 / fast_m_per_s < comfortable_bow_s(VIOLIN, loudness) < 0.62 / slow_m_per_s


def test_nobody_writes_the_practice_bow_of_a_minute() -> None:
    # Bows of 40 to 60 s are exercises near silence (violinists' practice notes).
    assert longest_bow_s(VIOLIN, 0) < 40


@pytest.mark.parametrize("bow_s", [comfortable_bow_s, longest_bow_s])
@pytest.mark.parametrize("loudness", [PP, MF, FF])
def test_larger_instruments_use_up_the_bow_sooner(
    bow_s: Callable[[Instrument, float], float], loudness: int
) -> None:
    # Cello four fifths, bass about two thirds of the violin's time, from memory.
    violin_s = bow_s(VIOLIN, loudness)
    assert bow_s(VIOLA, loudness) == violin_s
    assert bow_s(CELLO, loudness) == pytest.approx(0.8 * violin_s)
    assert bow_s(BASS, loudness) == pytest.approx(2 / 3 * violin_s, rel=0.11)


def test_every_bass_is_a_bass() -> None:
    for name in ("double bass 5-string", "double bass C extension"):
        assert longest_bow_s(instrument(name), MF) == longest_bow_s(BASS, MF)


@given(st.floats(0, 127), st.floats(0, 127))
def test_louder_is_never_longer_and_comfort_never_beyond_the_end(one: float, other: float) -> None:
    soft, loud = sorted((one, other))
    for bow_s in (comfortable_bow_s, longest_bow_s):
        assert bow_s(CELLO, soft) >= bow_s(CELLO, loud) > 0
    assert comfortable_bow_s(CELLO, loud) < longest_bow_s(CELLO, loud)
