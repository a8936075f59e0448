from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.session import Session, TrackChoice
from tests.checks.releases import Sounding, findings_with_releases, touching
from tests.phrases import findings

CHECK = "stroke-unclear"
NAMES = "D5 E5 F5 G5 A5 G5 F5 E5".split()
BAR = " ".join(f"{name}:1/2" for name in NAMES)
QUICK = f"r:4 | {' | '.join([BAR] * 4)}"
"""32 quavers from bar 2 on."""


def sounding(share: float) -> Callable[[Sounding], float]:
    """Every note sounds for this share of the time to the next onset."""
    return lambda note: note.onset + share * (note.following - note.onset)


def heard(
    share: float, name: str = "violin", bpm: float = 100, session: Session | None = None
) -> list[Finding]:
    music = f"{name} players=8 4/4 q={bpm} | {QUICK} |"
    return findings_with_releases(CHECK, music, release=sounding(share), session=session)


def test_separate_and_short_notes_and_slurs_are_clear() -> None:
    assert heard(0.85) == []
    assert heard(0.5) == []
    assert findings(CHECK, f"violin 4/4 q=100 | ({BAR}) | ({BAR}) | ({BAR}) |") == []


def test_notes_between_staccato_and_detache_are_asked_about_once() -> None:
    (found,) = heard(0.65)
    assert (found.severity, found.family) == (Severity.REMARK, "reading")
    assert (found.start.bar, found.start.beat, found.end.bar) == (2, 1, 5)
    assert found.evidence[0].measured == pytest.approx(0.65, abs=0.01)
    assert "'detache'" in found.suggestion
    assert "'spiccato'" in found.suggestion


def test_slower_ones_are_not_offered_a_bouncing_bow() -> None:
    (found,) = heard(0.65, bpm=78)
    assert "'spiccato'" not in found.suggestion


def test_notes_between_spiccato_and_staccato_are_asked_about_where_a_bow_can_bounce() -> None:
    # Spiccato 0.30 and its spread of 0.12, staccato 0.45; 4.3 and 2.7 notes a second.
    (found,) = heard(0.37, bpm=130)
    assert "'spiccato'" in found.suggestion
    assert "'ricochet'" in found.suggestion
    assert heard(0.37, bpm=80) == []


def test_stretches_near_each_other_are_one_question_and_far_ones_two() -> None:
    for bars, count in ((4, 1), (20, 2)):
        apart = f"{QUICK} | {'r:4 | ' * bars}{QUICK}"
        music = f"violin players=8 4/4 q=100 | {apart} |"
        assert len(findings_with_releases(CHECK, music, release=sounding(0.65))) == count


def test_notes_that_touch_and_never_overlap_may_be_slurred_or_not() -> None:
    music = f"violin players=8 4/4 q=100 | {QUICK} |"
    (found,) = findings_with_releases(CHECK, music, release=touching)
    assert "slurs" in found.suggestion
    assert len(found.pitches) >= 31


def test_where_a_track_leaves_gaps_too_touching_notes_mean_something() -> None:
    def mixed(note: Sounding) -> float:
        return note.following if note.number % 3 else note.release

    music = f"violin players=8 4/4 q=100 | {QUICK} |"
    assert findings_with_releases(CHECK, music, release=mixed) == []


def test_just_inside_and_just_outside() -> None:
    # Staccato 0.45 and its spread of 0.15, detache 0.80 and its spread of 0.10.
    for share, count in ((0.59, 0), (0.61, 1), (0.69, 1), (0.71, 0)):
        assert len(heard(share)) == count, share


def test_a_track_that_says_its_stroke_is_not_asked() -> None:
    assert heard(0.65, name="violin spiccato") == []
    session = Session(tracks=(TrackChoice("violin", articulation="staccato"),))
    assert heard(0.65, session=session) == []


def test_slow_notes_have_a_bow_each() -> None:
    slow = f"violin players=8 4/4 q=50 | {BAR.replace(':1/2', ':1')} {BAR.replace(':1/2', ':1')} |"
    assert findings_with_releases(CHECK, slow, release=touching) == []


def test_two_tracks_that_disagree_are_asked_about() -> None:
    one = f"violin 1 spiccato players=8 4/4 q=100 | {QUICK} |"
    two = f"violin 1 legato 4/4 | {QUICK} |"
    (found,) = findings(CHECK, one, two)
    assert {"spiccato", "legato"} <= set(found.message.replace(",", "").split())
    assert found.evidence[0].measured == 32
    assert found.start.bar == 2
    assert findings(CHECK, one, two.replace("legato", "spiccato")) == []
    assert findings(CHECK, one, two.replace("D5", "D4").replace("violin 1", "violin 2")) == []


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"middling_to": 0.62}})
    assert heard(0.65, session=session) == []


@given(st.floats(0.75, 0.92))
@settings(max_examples=20)
def test_no_length_near_detache_is_asked_about(share: float) -> None:
    assert heard(share) == []
