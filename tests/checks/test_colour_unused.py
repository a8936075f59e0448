import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "colour-unused"
SOFT, LOUD = "cc11@1=30 cc11@3=50", "cc11@1=90 cc11@3=110"
SLOW = f"{SOFT} D5:2 E5:2 | {SOFT} F5:2 E5:2 | "
"""Eight seconds at q = 60, p and pp."""
QUICK = " ".join(["D5:1/2 E5:1/2"] * 4)


def cue(*bars: str, name: str = "violin", others: tuple[str, ...] = ()) -> list[Finding]:
    return findings(CHECK, f"{name} players=8 4/4 q=60 | {' | '.join(bars)} |", *others)


def loud(bars: int) -> str:
    return " | ".join([f"{LOUD} {QUICK}"] * bars)


def test_a_loud_and_busy_cue_is_fine() -> None:
    assert cue(loud(40)) == []


def test_soft_slow_notes_between_rests_suit_a_mute() -> None:
    (found,) = cue(loud(20), "r:4", "r:4", (SLOW * 5).rstrip("| "), "r:4", loud(5))
    assert found.severity is Severity.REMARK
    assert (found.start.bar, found.start.beat, found.end.bar) == (23, 1, 32)
    assert found.evidence[0].measured == pytest.approx(39.8)
    assert found.evidence[0].limit == 30
    assert "con sordino" in found.suggestion


def test_without_rests_for_the_mute_it_is_sul_tasto() -> None:
    (found,) = cue(loud(20), (SLOW * 5).rstrip("| "), loud(5))
    assert "sul tasto" in found.suggestion
    assert "sordino" not in found.suggestion


def test_soft_tremolo_suits_the_bridge_and_high_held_notes_harmonics() -> None:
    tremolo = f"viola tremolo players=5 4/4 | {f'{SOFT} D4:4 | ' * 6}"
    # E6 is the octave of the open E string: an easy natural harmonic.
    high = f"violin 2 players=8 4/4 | {'r:4 | ' * 10}{f'{SOFT} E6:4 | ' * 5}"
    found = cue(loud(35), others=(tremolo, high))
    assert [finding.part for finding in found] == ["Viola", "Violin 2"]
    assert "sul ponticello" in found[0].message
    assert "harmonic" in found[1].message


def test_a_whole_string_patch_has_no_harmonics_of_its_own() -> None:
    high = f"{'r:4 | ' * 10}{f'{SOFT} E6:4 | ' * 5}"
    patch = f"strings players=28 program=48 4/4 | {high}"
    assert cue(loud(35), others=(patch,)) == []
    assert len(cue(loud(35), others=(patch.replace("strings", "violin 2"),))) == 1


def test_it_never_fires_on_a_short_cue() -> None:
    assert cue((SLOW * 7).rstrip("| ")) == []


def test_just_inside_and_just_outside() -> None:
    # The cue lasts 29 or 30 bars of four seconds, its last note for nine tenths: 115.6 or 119.6 s.
    for bpm, count in ((60.5, 0), (59.5, 1)):
        music = f"violin players=8 4/4 q={bpm} | {SLOW * 5}{loud(19)} | {LOUD} D5:4 |"
        assert len(findings(CHECK, music)) == count


def test_a_cue_that_uses_the_colour_anywhere_needs_no_reminder() -> None:
    muted = "cello con sord 4/4 players=4 | C3:4 | r:4 |"
    assert cue(loud(20), (SLOW * 5).rstrip("| "), loud(5), others=(muted,)) == []


def test_once_a_cue_however_many_parts_suit_it() -> None:
    music = f"{loud(20)} | {SLOW * 5}{loud(5)}"
    others = tuple(f"{name} 4/4 | {music} |" for name in ("violin 2", "viola"))
    assert len(cue(music, others=others)) == 1


def test_velocity_alone_that_never_changes_says_nothing_about_soft() -> None:
    assert cue((SLOW * 20).replace(f"{SOFT} ", "").rstrip("| ")) == []


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"long_cue_s": 600}})
    music = f"violin players=8 4/4 q=60 | {loud(20)} | {SLOW * 5}{loud(5)} |"
    assert len(findings(CHECK, music)) == 1
    assert findings(CHECK, music, session=session) == []


@given(st.integers(0, 5))
@settings(max_examples=6)
def test_more_soft_music_is_never_less_worth_an_offer(times: int) -> None:
    few, more = (
        cue(loud(25), (SLOW * count).rstrip("| "), loud(5)) for count in (times + 1, times + 2)
    )
    assert len(more) >= len(few)
