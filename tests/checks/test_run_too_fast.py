import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "run-too-fast"
SCALE = "D4 E4 F#4 G4 A4 B4 C#5 D5 E5 D5 C#5 B4 A4 G4 F#4 E4".split()


def semiquavers(bpm: float, instrument: str = "violin", *, is_slurred: bool = False) -> str:
    bar = " ".join(f"{name}:1/4" for name in SCALE)
    if is_slurred:
        bar = f"({bar})"
    return f"{instrument} 4/4 q={bpm} players=8 | D4:4 | {bar} |"


def worst(text: str) -> int:
    return max((finding.severity for finding in findings(CHECK, text)), default=0)


def test_semiquavers_that_orchestras_are_heard_to_play_are_fine() -> None:
    # Separate notes in recordings: Beethoven Symphony 4 finale 9.2 a second, Symphony 2 finale
    # 10.0 to 10.1 (score-to-recording alignments of open orchestral scores).
    for rate in (9.2, 10.0):
        text = semiquavers(15 * rate).replace("players=8", "players=8 level=rehearsed")
        assert findings(CHECK, text) == []


def test_twenty_five_notes_a_second_are_impossible() -> None:
    found = findings(CHECK, semiquavers(375))
    assert len(found) == 1
    assert found[0].severity is Severity.IMPOSSIBLE
    assert (found[0].start.bar, found[0].start.beat) == (2, 1)
    assert found[0].evidence[0].measured < 0.6
    assert found[0].evidence[0].limit == 1


def test_between_what_a_section_and_what_a_soloist_can_it_is_risky() -> None:
    assert worst(semiquavers(160)) == Severity.RISKY
    assert findings(CHECK, semiquavers(160, is_slurred=True)) == []


def test_just_inside_and_just_outside_the_headroom_it_states() -> None:
    headroom = findings(CHECK, semiquavers(300))[0].evidence[0].measured
    assert findings(CHECK, semiquavers(300 * headroom * 0.998)) == []
    assert len(findings(CHECK, semiquavers(300 * headroom * 1.004))) == 1


def test_heavier_instruments_are_slower() -> None:
    headroom = {
        instrument: findings(CHECK, semiquavers(300, instrument))[0].evidence[0].measured
        for instrument in ("violin", "viola", "cello")
    }
    assert headroom["violin"] > headroom["viola"] > headroom["cello"]


def test_an_ornament_is_never_impossible() -> None:
    music = "violin 4/4 q=120 players=8 | A4:2 (Bb4:1/16 A4:1/16 G4:1/16) A4:29/16 | A4:4 |"
    assert worst(music) <= Severity.RISKY
    longer = (
        "violin 4/4 q=120 players=8 | A4:2 (A3:1/16 A5:1/16 A3:1/16 A5:1/16 A3:1/16) A4:27/16 |"
    )
    assert worst(longer) == Severity.IMPOSSIBLE


def test_better_prepared_players_are_faster() -> None:
    text = semiquavers(150)
    assert len(findings(CHECK, text)) == 1
    assert findings(CHECK, text.replace("players=8", "players=8 level=rehearsed")) == []
    assert findings(CHECK, text.replace("players=8", "players=1 level=solo")) == []


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"least_headroom": 0.5}})
    assert findings(CHECK, semiquavers(160), session=session) == []


def test_a_trill_is_not_a_run() -> None:
    trill = " ".join(["A4:1/8 B4:1/8"] * 16)
    assert findings(CHECK, f"violin 4/4 q=90 players=8 | A4:4 | {trill} |") == []


def test_the_tempo_it_offers_is_playable() -> None:
    found = findings(CHECK, semiquavers(200))[0]
    assert "quarter = " in found.suggestion
    low = float(found.suggestion.split("quarter = ")[1].split("-")[0])
    assert findings(CHECK, semiquavers(low)) == []


def test_it_says_which_notes_to_leave_out_of_a_run_that_can_be_thinned() -> None:
    # Trade fact (common practice, no source): seventeen notes in a quarter are not playable as
    # written, and some of them can go.
    notes = "D4 E4 F#4 G4 A4 B4 C5 D5 E5 F#5 G5 A5 B5 C6 D6 E6 F#6".split()
    run = " ".join(f"{name}:1/17" for name in notes)
    found = findings(CHECK, f"violin 4/4 q=120 players=8 | A4:3 ({run} G6:4) |")
    assert "of the 17 notes before G6" in found[0].suggestion


def test_a_melody_is_not_thinned_but_shared_or_simplified() -> None:
    section = findings(CHECK, semiquavers(200))[0].suggestion
    assert "keep" not in section
    assert "between desks" in section
    soloist = findings(CHECK, semiquavers(200).replace("players=8", "players=1"))[0].suggestion
    assert "desks" not in soloist


@given(st.floats(60, 400))
@settings(max_examples=25)
def test_a_slower_tempo_is_never_worse(bpm: float) -> None:
    assert worst(semiquavers(bpm * 0.8)) <= worst(semiquavers(bpm))


@pytest.mark.parametrize("level", ["sight", "rehearsed", "solo"])
def test_the_longest_slow_line_is_never_reported(level: str) -> None:
    text = semiquavers(60).replace("players=8", f"players=8 level={level}")
    assert findings(CHECK, text) == []


def test_a_run_with_slow_notes_is_as_fast_as_its_fastest() -> None:
    # Thirty-seconds at q = 170 are 22.7 a second; "4 a second, too fast" would be nonsense.
    even = findings(CHECK, "violin 4/4 q=170 | G4:4 | r:3 C5:1/8 D5:1/8 E5:1/8 F5:1/8 G5:1/2 |")
    assert [finding.message.startswith("5 notes at 22.7 a second") for finding in even] == [True]
    bar = "C5:1/8 D5:1/8 E5:1/8 F5:1/8 G5:1/2 G5:1/2 G5:1/2 A5:3/2"
    mixed = findings(CHECK, f"violin 4/4 q=170 | {bar} | {bar} |")
    assert ["notes at up to 23 a second" in finding.message for finding in mixed] == [True]
