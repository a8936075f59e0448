import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.checks._registry import all_checks
from mockcheck.infer.excerpts import excerpt
from mockcheck.model.finding import Finding, Severity
from mockcheck.model.session import Session
from tests.checks.releases import Sounding, findings_with_releases, touching
from tests.phrases import findings, phrase

CHECK = "no-place-to-breathe"
SCALE = "D5:2 E5:2 | F5:2 G5:2 | A5:2 G5:2 | F5:2 E5:2 | "
"""Sixteen seconds at q = 60, every note two seconds: nothing that one bow could not carry."""


def legato(bars: str, bpm: float = 60, session: Session | None = None) -> list[Finding]:
    """Notes that all touch; the header has eight violins."""
    music = f"violin players=8 4/4 q={bpm} | {bars}"
    return findings_with_releases(CHECK, music, release=touching, session=session)


def test_the_same_notes_with_a_little_air_between_are_fine() -> None:
    assert findings(CHECK, f"violin players=8 4/4 q=60 | {SCALE * 4}") == []


def test_a_minute_of_touching_notes_has_no_place_to_breathe() -> None:
    (found,) = legato(f"r:4 | {SCALE * 4}")
    assert found.severity is Severity.REMARK
    assert (found.start.bar, found.start.beat, found.end.bar) == (2, 1, 17)
    assert found.evidence[0].measured == pytest.approx(63.8, abs=0.3)
    assert found.evidence[0].limit == 30
    assert len(found.pitches) == 32


def test_just_inside_and_just_outside() -> None:
    # 16 notes of 2 s at q = 60 make 32 s, the last one a tenth of its value shorter: 31.8 s.
    for factor, count in ((0.99, 0), (1.01, 1)):
        assert len(legato(SCALE * 2, bpm=60 * 31.8 / (30 * factor))) == count


def test_one_rest_in_the_middle_is_enough() -> None:
    assert len(legato(SCALE + SCALE)) == 1
    assert legato(f"{SCALE} r:4 | {SCALE}") == []


def test_a_note_struck_again_is_a_place_to_change_bow() -> None:
    again = SCALE.replace("A5:2 G5:2", "G5:2 A5:2")
    assert len(legato(SCALE * 2)) == 1
    assert legato(again * 2) == []


def test_separate_short_notes_each_have_a_bow() -> None:
    quick = "D5:1/2 E5:1/2 F5:1/2 G5:1/2 A5:1/2 G5:1/2 F5:1/2 E5:1/2 | "
    assert legato(quick * 16) == []


def test_drawn_slurs_say_where_the_bow_changes() -> None:
    slurs = "(D5:2 E5:2) | (F5:2 G5:2) | (A5:2 G5:2) | (F5:2 E5:2) | "

    def release(note: Sounding) -> float:
        return note.following + 12 * (note.number % 2 == 0)

    music = f"violin players=8 4/4 q=60 | {slurs * 4}"
    assert findings_with_releases(CHECK, music, release=release) == []


def test_what_one_bow_cannot_carry_is_left_to_its_own_check() -> None:
    slur = f"violin players=8 4/4 q=60 | ({(SCALE * 4).rstrip(' |')}) |"
    assert len(findings("bow-runs-out", slur)) == 1
    assert findings(CHECK, slur) == []


def test_two_tracks_of_one_part_are_one_line() -> None:
    # Four seconds each: long enough that every note has a bow of its own.
    slow, silent = "D5:4 | E5:4 | F5:4 | G5:4 | ", "r:4 | " * 4
    one = f"violin 1 legato players=8 4/4 q=60 | {slow}{silent}"
    two = f"violin 1 sustain 4/4 | {silent}{slow}"

    def full(note: Sounding) -> float:
        return note.onset + 4 * 480

    alone = findings_with_releases(CHECK, one, release=full)
    together = findings_with_releases(CHECK, one, two, release=full)
    assert (len(alone), len(together)) == (0, 1)


@pytest.mark.parametrize("name", ["violin pizz", "violin tremolo", "violin spiccato"])
def test_plucked_notes_tremolo_and_bounced_notes_are_fine(name: str) -> None:
    music = f"{name} players=8 4/4 q=60 | {SCALE * 4}"
    assert findings_with_releases(CHECK, music, release=touching) == []


def test_a_part_whose_notes_were_all_switches_is_fine() -> None:
    part = phrase("violin players=8 4/4 q=60 | D5:4 |")
    check = all_checks()[CHECK]
    assert list(check.find(excerpt(part, np.empty(0, np.int64)), check.params())) == []


def test_the_limit_can_be_set_for_a_session() -> None:
    assert legato(SCALE * 4, session=Session(check_params={CHECK: {"longest_s": 120}})) == []


@given(st.integers(40, 160))
@settings(max_examples=20)
def test_a_faster_tempo_is_never_worse(bpm: int) -> None:
    assert len(legato(SCALE * 4, bpm=1.5 * bpm)) <= len(legato(SCALE * 4, bpm=bpm))
