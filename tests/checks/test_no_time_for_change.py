import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "no-time-for-change"


def changing(
    gap_beats: str, *, players: int = 8, bpm: float = 60, level: str = "sight"
) -> list[Finding]:
    """A bowed note at beat 1, plucked notes that many beats after it."""
    head = f"4/4 q={bpm} players={players} level={level}"
    bowed = f"violin {head} | C5:{gap_beats} |"
    plucked = f"violin pizz 4/4 players={players} | r:{gap_beats} A4:1 A4:1 |"
    return findings(CHECK, bowed, plucked)


def muting(
    rest_beats: int, *, players: int = 8, on: bool = True, level: str = "sight"
) -> list[Finding]:
    """A note, a rest and a muted note, or the other way round; a beat is a second."""
    head = f"4/4 q=60 players={players} level={level}"
    first, second = f"C5:1 r:{rest_beats + 7} |", f"r:{rest_beats + 1} A4:4 r:3 |"
    names = ("violin", "violin con sord") if on else ("violin con sord", "violin")
    return findings(CHECK, f"{names[0]} {head} | {first}", f"{names[1]} {head} | {second}")


def test_a_second_between_arco_and_pizzicato_is_fine() -> None:
    assert changing("1") == []


def test_a_quarter_of_a_second_is_risky_for_a_section() -> None:
    found = changing("1/4")
    assert [finding.severity for finding in found] == [Severity.RISKY]
    assert found[0].start.bar == 1
    assert found[0].evidence[0].measured == 0.25
    assert found[0].evidence[0].limit == 0.5


def test_just_inside_and_just_outside() -> None:
    # 10th percentile of 812 changes printed in open orchestral scores: 0.5 s; a quarter of a beat.
    assert changing("1/4", bpm=29.9) == []
    assert len(changing("1/4", bpm=30.1)) == 1


def test_rehearsed_players_and_one_player_need_less() -> None:
    # 5th percentiles: 0.42 s in orchestral scores, 0.29 s in quartets.
    assert changing("1/4", bpm=33, level="rehearsed") == []
    assert len(changing("1/4", bpm=38, level="rehearsed")) == 1
    assert changing("1/4", bpm=38, players=1) == []
    assert [f.severity for f in changing("1/4", bpm=60, players=1)] == [Severity.AWKWARD]
    assert [f.severity for f in changing("1/8", bpm=60, players=1)] == [Severity.RISKY]


def test_back_to_the_bow_is_timed_from_the_last_plucked_note() -> None:
    plucked = "violin pizz 4/4 q=60 players=8 | r:1 A4:1 r:2 |"
    assert findings(CHECK, plucked, "violin 4/4 | r:5/2 C5:3/2 |") == []
    found = findings(CHECK, plucked, "violin 4/4 | r:5/4 C5:3/2 r:5/4 |")
    assert [finding.evidence[0].measured for finding in found] == [0.25]
    assert found[0].pitches == (69, 72)


def test_changes_close_together_are_one_finding_each_way() -> None:
    bowed = "violin 4/4 q=60 players=8 | C5:1/4 r:1/4 C5:1/4 r:1/4 C5:1/4 r:1/4 r:5/2 |"
    plucked = "violin pizz 4/4 | r:1/4 A4:1/4 r:1/4 A4:1/4 r:1/4 A4:1/4 r:5/2 |"
    assert len(findings(CHECK, bowed, plucked)) == 2


@pytest.mark.parametrize(
    ("plucked", "players", "severity"),
    [
        ("A4", 8, Severity.AWKWARD),
        ("B4", 8, Severity.AWKWARD),
        # A free finger plucks the open string, as virtuosos do; a stopped one is out of reach.
        ("A4", 1, Severity.RISKY),
        ("B4", 1, Severity.IMPOSSIBLE),
        # The open string that is plucked is the only one for the bowed note.
        ("G3", 1, Severity.IMPOSSIBLE),
    ],
)
def test_both_at_once_is_for_a_section_to_divide_and_no_single_player(
    plucked: str, players: int, severity: Severity
) -> None:
    bowed = f"violin 4/4 q=60 players={players} | {'A3' if plucked == 'G3' else 'C5'}:4 |"
    pizzicato = f"violin pizz 4/4 players={players} | r:1 {plucked}:1 {plucked}:1 r:1 |"
    found = findings(CHECK, bowed, pizzicato)
    assert [finding.severity for finding in found] == [severity]
    assert (found[0].start.beat, found[0].evidence[0].measured) == (2, 2)


@pytest.mark.parametrize(("players", "shares"), [(8, ("4", "4")), (5, ("3", "2"))])
def test_a_section_that_does_both_is_told_how_many_do_what(
    players: int, shares: tuple[str, str]
) -> None:
    bowed = f"violin 4/4 q=60 players={players} | C5:4 |"
    found = findings(CHECK, bowed, f"violin pizz 4/4 players={players} | r:1 B4:1 r:2 |")
    assert f"{shares[0]} arco and {shares[1]} pizzicato" in found[0].suggestion


def test_a_late_release_is_not_both_at_once() -> None:
    bowed = "violin 4/4 q=60 players=8 | C5:1.15 r:2.85 |"
    assert findings(CHECK, bowed, "violin pizz 4/4 | r:1 A4:1 r:2 |") == []


def test_five_seconds_for_the_mute_are_fine_and_half_of_it_is_risky() -> None:
    # Berlioz, as quoted: two bars of 4/4 moderato, 4.4 to 5.0 s, to put it on.
    assert muting(6) == []
    found = muting(2)
    assert [finding.severity for finding in found] == [Severity.RISKY]
    assert found[0].evidence[0].measured == pytest.approx(2.1, abs=0.02)
    assert muting(4, level="rehearsed") == []


def test_the_mute_comes_off_sooner_than_it_goes_on() -> None:
    assert muting(3, on=False) == []
    assert len(muting(3)) == 1


def test_a_mute_without_any_rest_is_impossible() -> None:
    assert [f.severity for f in muting(0)] == [Severity.IMPOSSIBLE]
    assert [f.severity for f in muting(0, on=False)] == [Severity.IMPOSSIBLE]


def test_one_player_cannot_be_muted_and_not() -> None:
    for players, severity in ((8, Severity.AWKWARD), (1, Severity.IMPOSSIBLE)):
        muted = f"violin con sord 4/4 q=60 players={players} | C5:4 |"
        found = findings(CHECK, muted, f"violin 4/4 players={players} | r:1 A4:2 r:1 |")
        assert [finding.severity for finding in found] == [severity]


def test_a_tremolo_says_nothing_on_the_mute() -> None:
    muted = "violin con sord 4/4 q=60 players=8 | C5:4 |"
    assert findings(CHECK, muted, "violin tremolo 4/4 | r:4 | A4:4 |") == []


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"pluck_sight_s": 0.1}})
    music = ("violin 4/4 q=60 players=8 | C5:1/4 |", "violin pizz 4/4 | r:1/4 A4:1 |")
    assert len(findings(CHECK, *music)) == 1
    assert findings(CHECK, *music, session=session) == []


def test_different_parts_do_not_share_hands() -> None:
    music = ("violin 1 4/4 q=60 | C5:1/4 r:15/4 |", "violin 2 pizz 4/4 | r:1/4 A4:1 r:11/4 |")
    assert findings(CHECK, *music) == []


@given(st.integers(20, 200))
@settings(max_examples=25)
def test_a_slower_tempo_is_never_worse(bpm: int) -> None:
    def worst(tempo: float) -> int:
        return max((finding.severity for finding in changing("1/4", bpm=tempo)), default=0)

    assert worst(bpm * 0.8) <= worst(bpm)
