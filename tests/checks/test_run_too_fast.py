from hypothesis import given
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


def test_semiquavers_at_an_allegro_are_fine() -> None:
    # Beethoven Symphony 4 finale, semiquavers heard at 9.2 a second: q = 138.
    assert findings(CHECK, semiquavers(132)) == []


def test_twenty_five_notes_a_second_are_impossible() -> None:
    found = findings(CHECK, semiquavers(375))
    assert len(found) == 1
    assert found[0].severity is Severity.IMPOSSIBLE
    assert found[0].start.bar in (1, 2)
    assert found[0].evidence[0].measured > 20


def test_a_little_over_the_measured_rate_is_risky() -> None:
    # 9.2 notes a second is q = 138 in semiquavers.
    assert findings(CHECK, semiquavers(137.9)) == []
    assert [f.severity for f in findings(CHECK, semiquavers(139))] == [Severity.RISKY]


def test_a_slur_carries_more_notes() -> None:
    assert findings(CHECK, semiquavers(160, is_slurred=True)) == []
    assert findings(CHECK, semiquavers(160)) != []


def test_heavier_instruments_are_slower() -> None:
    assert findings(CHECK, semiquavers(136)) == []
    assert findings(CHECK, semiquavers(136, "cello")) != []


def test_rehearsed_players_are_faster() -> None:
    assert findings(CHECK, semiquavers(150).replace("players=8", "players=8 level=rehearsed")) == []


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"separate_sight_notes_per_s": 6}})
    assert findings(CHECK, semiquavers(100), session=session) != []
    assert findings(CHECK, semiquavers(100)) == []


def test_an_ornament_shorter_than_the_window_is_fine() -> None:
    music = "violin 4/4 q=120 players=8 | C5:3 D5:1/16 E5:1/16 F5:1/16 G5:13/16 | C5:4 |"
    assert findings(CHECK, music) == []


def test_a_trill_is_not_a_run() -> None:
    trill = " ".join(["A4:1/8 B4:1/8"] * 16)
    assert findings(CHECK, f"violin 4/4 q=100 players=8 | A4:4 | {trill} |") == []


@given(st.floats(40, 400))
def test_a_slower_tempo_is_never_worse(bpm: float) -> None:
    def worst(tempo: float) -> int:
        return max((finding.severity for finding in findings(CHECK, semiquavers(tempo))), default=0)

    assert worst(bpm * 0.8) <= worst(bpm)
