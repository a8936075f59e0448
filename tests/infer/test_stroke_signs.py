import numpy as np
import pytest

from mockcheck.infer.note_lengths import measure_lengths
from mockcheck.infer.stroke_signs import HEARD, SIGNS, STROKE_LENGTHS, hear_signs
from tests.infer.tracks import Row, line, notes_of

SCALE = [60, 62, 64, 65, 67, 69, 71, 72]


def signs_of(
    *rows: Row, touch_is_slur: bool = False, touch_is_renewed: bool = False
) -> dict[str, np.ndarray]:
    """Log-likelihoods of each stroke, by its name."""
    lengths, _ = measure_lengths(notes_of(*rows))
    signs = hear_signs(lengths, touch_is_slur=touch_is_slur, touch_is_renewed=touch_is_renewed)
    assert np.all(signs.max(axis=1, initial=-np.inf) == 0)
    assert np.all(signs >= -SIGNS.strongest)
    return dict(zip(HEARD, signs.T, strict=True))


def test_silence_says_nothing() -> None:
    assert all(len(column) == 0 for column in signs_of().values())


@pytest.mark.parametrize(
    ("gap_s", "stroke"), [(0.4, "staccato"), (0.4, "detache"), (0.12, "spiccato")]
)
def test_notes_of_the_usual_length_speak_for_their_stroke(gap_s: float, stroke: str) -> None:
    share = STROKE_LENGTHS[HEARD.index(stroke)].share
    own = signs_of(*line(SCALE, gap_s, share))
    assert np.all(own[stroke][:7] == 0)


def test_a_longer_note_never_speaks_more_for_staccato_against_detache() -> None:
    odds = []
    for share in np.arange(0.45, 0.95, 0.05):
        signs = signs_of(*line(SCALE, 0.4, float(share)))
        odds.append(float((signs["staccato"] - signs["detache"])[3]))
    assert np.all(np.diff(odds) <= 1e-9)


def test_a_long_note_before_a_long_rest_is_not_short() -> None:
    quarter = signs_of(*line(SCALE, 0.5, share=0.8), (60, 6.0, 6.4), (62, 9.0, 9.4))
    assert quarter["detache"][8] > quarter["staccato"][8]


def test_a_touch_speaks_for_a_slur_only_where_touches_are_slurs() -> None:
    rows = line(SCALE, 0.5, share=1.0)
    assert np.all(signs_of(*rows, touch_is_slur=True)["legato"] == 0)
    assert np.all(signs_of(*rows)["legato"] < -1)


def test_an_overlap_always_does_and_so_for_the_note_it_leads_to() -> None:
    signs = signs_of(*line(SCALE[:2], 0.5, share=1.05), *line(SCALE, 0.5, begin_s=2.0))
    assert np.all(signs["legato"][:3] == [0, 0, 0])
    assert np.all(signs["legato"][3:] < -1)


def test_a_pitch_struck_again_without_a_gap_speaks_for_portato_on_request_only() -> None:
    rows = line([69] * 4, 0.5, share=1.0)
    assert np.all(signs_of(*rows, touch_is_renewed=True)["portato"] == 0)
    assert np.all(signs_of(*rows)["portato"] < -1)


def test_fast_repetition_speaks_for_tremolo_and_alternation_for_a_trill() -> None:
    assert np.all(signs_of(*line([62] * 8, 0.08))["tremolo"] == 0)
    assert np.all(signs_of(*line([69, 71] * 4, 0.08))["trill"] == 0)


def test_a_line_with_a_custom_of_its_own_is_judged_by_it() -> None:
    # Separate notes drawn to 0.95 exactly: of one that sounds for 0.475, half is a rest.
    usual, custom = (line(SCALE * 8, 0.5, share) for share in (0.8, 0.95))
    note = [(60, 40.0, 40.475), (62, 41.0, 41.95)]
    by_usual, by_custom = (signs_of(*rows, *note) for rows in (usual, custom))
    odds = [float((s["detache"] - s["staccato"])[64]) for s in (by_usual, by_custom)]
    assert odds[1] > odds[0]
