import numpy as np
import pytest
from numpy.typing import ArrayLike

from mockcheck.infer.press_kinds import KINDS, weigh_kinds
from mockcheck.infer.presses import Manner, Presses

MOST_UNUSUAL = 0.01


def presses(
    manners: list[Manner],
    length_s: ArrayLike = 0.5,
    share: float = 0.2,
    is_sparse: bool = True,
    own: list[Manner] | None = None,
) -> Presses:
    count = len(manners)
    return Presses(
        pitch=np.full(count, 30),
        outside=np.full(count, 10),
        duration_s=np.broadcast_to(np.asarray(length_s, np.float64), count),
        manner=np.array(manners, np.int8),
        is_sparse=np.full(count, is_sparse),
        length_share=np.full(count, share),
        own_manners=np.zeros(len(Manner), np.int64)
        if own is None
        else np.bincount(own, minlength=len(Manner)),
    )


def likeliest(found: Presses) -> str:
    weights = weigh_kinds(found, np.arange(len(found.manner)))
    return list(KINDS)[int(np.argmax(weights))]


@pytest.mark.parametrize("name", KINDS)
def test_shares_of_a_kind_are_shares_and_nothing_is_impossible(name: str) -> None:
    kind = KINDS[name]
    assert len(kind.manners) == len(Manner)
    assert sum(kind.manners) == pytest.approx(1)
    assert min(kind.manners) >= MOST_UNUSUAL


def test_switches_are_rarer_near_the_range_and_music_far_from_it() -> None:
    for kind in KINDS.values():
        near, far, very_far = kind.place
        assert (near < very_far) == kind.is_switch
        assert min(near, very_far) <= far <= max(near, very_far)


@pytest.mark.parametrize(
    ("manner", "kind"),
    [
        (Manner.TAPPED_BEFORE, "tapped before the notes"),
        (Manner.TAPPED_WITH, "tapped with the notes"),
        (Manner.HELD_BEFORE, "held"),
        (Manner.ENDS_WITH, "chord tones"),
    ],
)
def test_presses_of_one_manner_speak_for_the_kind_it_is_usual_in(manner: Manner, kind: str) -> None:
    assert likeliest(presses([manner] * 3)) == kind


def test_notes_in_their_own_places_are_slips_where_sparse_and_a_passage_where_dense() -> None:
    assert likeliest(presses([Manner.IN_LINE] * 2 + [Manner.OTHER])).startswith("slips")
    assert likeliest(presses([Manner.IN_LINE] * 3, is_sparse=False)) == "passages"


def test_taps_of_one_length_that_the_music_hardly_has_speak_for_switches() -> None:
    manners = [Manner.ENDS_INSIDE, Manner.ENDS_WITH] * 3
    tapped = list(KINDS).index("tapped with the notes")
    slips = list(KINDS).index("slips")

    def odds(found: Presses) -> float:
        weights = weigh_kinds(found, np.arange(len(manners)))
        return float(weights[tapped] - weights[slips])

    usual = odds(presses(manners, length_s=0.1, share=0.6))
    assert odds(presses(manners, length_s=0.1, share=0.03)) > usual + 10
    uneven = [0.05, 0.2, 0.08, 0.14, 0.1, 0.24]
    assert odds(presses(manners, length_s=uneven, share=0.03)) == pytest.approx(usual)
    assert odds(presses(manners, length_s=1.0, share=0.03)) == pytest.approx(usual)


def test_slips_are_played_as_the_other_notes_of_the_part_are() -> None:
    manners = [Manner.TAPPED_APART, Manner.ENDS_INSIDE]
    full_texture = manners * 30
    place = list(KINDS).index("slips, as this part goes")
    usual = weigh_kinds(presses(manners), np.arange(2))[place]
    here = weigh_kinds(presses(manners, own=full_texture), np.arange(2))[place]
    assert here > usual + 2
    assert weigh_kinds(presses(manners), np.arange(2))[place] == pytest.approx(
        weigh_kinds(presses(manners), np.arange(2))[list(KINDS).index("slips")]
    )


def test_only_the_rows_asked_about_count() -> None:
    found = presses([Manner.HELD_BEFORE] * 3 + [Manner.IN_LINE] * 9)
    weights = weigh_kinds(found, np.arange(3))
    assert list(KINDS)[int(np.argmax(weights))] == "held"
