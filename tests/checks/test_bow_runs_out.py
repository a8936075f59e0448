from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.checks._registry import all_checks
from mockcheck.model.finding import Observation, Severity
from mockcheck.model.session import Session
from tests.phrases import findings, phrase

CHECK = "bow-runs-out"
FORTE = "cc11@1=90 cc11@2=102 cc11@3=90 cc11@4=102"
"""Moves around 96, a forte in equal steps of 16 from pp = 33."""
PIANISSIMO = "cc11@1=27 cc11@2=39 cc11@3=27 cc11@4=39"
LONG_SLUR = "(C5:4 | D5:4 | E5:4 | F5:4 | G5:4 | A5:4 | B5:4/5)"


def solo(bars: str, dynamic: str = FORTE, instrument: str = "violin", bpm: float = 60) -> str:
    return f"{instrument} players=1 4/4 q={bpm} | {dynamic} {bars} |"


def test_a_slur_of_a_bar_at_forte_is_fine() -> None:
    # 99 printed slurs in a hundred marked f last up to 3.91 s (OpenScore String Quartets, CC0).
    assert findings(CHECK, solo("(C5:1 D5:1 E5:1 F5:1) | r:4")) == []


def test_a_slur_of_twenty_five_seconds_at_forte_is_impossible_for_one_player() -> None:
    found = findings(CHECK, solo(LONG_SLUR))
    assert [finding.severity for finding in found] == [Severity.IMPOSSIBLE]
    assert (found[0].start.bar, found[0].start.beat) == (1, 1)
    assert found[0].end.bar == 7
    assert found[0].evidence[0].measured == pytest.approx(24.7, abs=0.1)
    assert found[0].evidence[0].limit < 6


def test_a_slur_a_little_too_long_only_has_to_be_broken() -> None:
    found = findings(CHECK, solo("(C5:4 | D5:4)"))
    assert [finding.severity for finding in found] == [Severity.AWKWARD]
    assert found[0].pitches == (72, 74)


def test_just_inside_and_just_outside() -> None:
    # The longest bow at loudness 80, where nothing is drawn, from 12 s at 33 and 3.9 s at 112.
    longest_s = 12 * (3.9 / 12) ** ((80 - 33) / (112 - 33))
    for factor, count in ((0.99, 0), (1.01, 1)):
        # A note of four beats sounds for nine tenths of them.
        bpm = 60 * 4 * 0.9 / (factor * longest_s)
        assert len(findings(CHECK, solo("C5:4", "", bpm=bpm))) == count


def test_the_bow_lasts_longer_when_soft_and_shorter_on_the_cello() -> None:
    held = "C4:6 r:2"
    assert findings(CHECK, solo(held, PIANISSIMO)) == []
    assert len(findings(CHECK, solo(held))) == 1
    six_beats = solo(held, "", bpm=59)
    assert findings(CHECK, six_beats) == []
    assert len(findings(CHECK, six_beats.replace("violin", "cello"))) == 1


def test_one_players_held_note_is_risky_when_it_breaks_twice() -> None:
    assert [f.severity for f in findings(CHECK, solo("C5:6 r:2"))] == [Severity.AWKWARD]
    for held in ("C5:12", "C5:27"):
        # Tied over many bars it is still changed on, as in the last bars of any slow movement.
        assert [f.severity for f in findings(CHECK, solo(held))] == [Severity.RISKY]


def test_a_short_slur_into_a_note_held_long_may_be_changed_on_it() -> None:
    # As the cello's in the slow movement of Beethoven's op. 59 no. 2, bars 41 to 47.
    for slurred in ("(C5:1 D5:1 E5:1 F5:1 | G5:30)", "(G5:30 C5:1 D5:1)"):
        found = findings(CHECK, solo(slurred))
        assert [finding.severity for finding in found] == [Severity.AWKWARD]


def test_a_section_staggers_and_hears_of_it_once() -> None:
    section = solo(f"{LONG_SLUR} r:16/5 | C5:4 | {LONG_SLUR}").replace("players=1", "players=8")
    found = findings(CHECK, section)
    assert [finding.severity for finding in found] == [Severity.REMARK, Severity.REMARK]
    assert "stagger" in found[0].message
    near = solo(f"{LONG_SLUR} {LONG_SLUR}").replace("players=1", "players=8")
    assert len(findings(CHECK, near)) == 1


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"longest_share": 5}})
    assert findings(CHECK, solo("C5:12"), session=session) == []


@pytest.mark.parametrize("name", ["violin pizz", "violin tremolo", "violin trill"])
def test_plucked_notes_tremolo_and_trills_are_fine(name: str) -> None:
    assert findings(CHECK, solo("C5:25", instrument=name)) == []


def test_separate_notes_are_not_one_bow() -> None:
    assert findings(CHECK, solo("C5:4 | D5:4 | E5:4 | F5:4 | G5:4")) == []


def test_a_repeated_note_takes_a_new_bow() -> None:
    assert findings(CHECK, solo("(C5:3 C5:3 C5:3 C5:3) | r:4")) == []


def touching(bars: str) -> list[Observation]:
    """What the check sees when the notes of a slur only touch, without overlapping."""
    part = phrase(solo(bars))
    notes = replace(
        part.notes,
        release_ticks=np.append(part.notes.onset_ticks[1:], part.notes.release_ticks[-1]),
        release_s=np.append(part.notes.onset_s[1:], part.notes.release_s[-1]),
    )
    check = all_checks()[CHECK]
    return list(check.find(replace(part, notes=notes), check.params()))


def test_notes_that_only_touch_are_no_slur_that_somebody_drew() -> None:
    short = " | ".join(["C5:2 D5:2"] * 7)
    assert [found.severity for found in touching(f"({short})")] == [Severity.AWKWARD]
    assert [f.severity for f in findings(CHECK, solo(f"({short})"))] == [Severity.IMPOSSIBLE]


def test_long_notes_that_only_touch_have_their_own_bows() -> None:
    assert touching(LONG_SLUR) == []


def test_a_held_note_is_found_beside_notes_that_touch_it() -> None:
    found = touching("(C5:25 D5:1 E5:1 F5:1)")
    assert [observation.severity for observation in found] == [Severity.RISKY]
    assert len(found[0].note_indices) == 1


def test_less_sure_where_no_dynamics_are_drawn() -> None:
    plain, drawn = (findings(CHECK, solo(LONG_SLUR, curve))[0] for curve in ("", FORTE))
    assert plain.confidence == pytest.approx(drawn.confidence / 2)


@given(st.floats(30, 240))
@settings(max_examples=25)
def test_a_faster_tempo_is_never_worse(bpm: float) -> None:
    def worst(tempo: float) -> int:
        return max((f.severity for f in findings(CHECK, solo(LONG_SLUR, bpm=tempo))), default=0)

    assert worst(bpm * 1.3) <= worst(bpm)
