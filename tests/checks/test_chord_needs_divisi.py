from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "chord-needs-divisi"


def test_a_chord_with_open_strings_is_fine_for_one_player() -> None:
    # G3 D4 B4 G5, the standard final chord in G: common practice, no source.
    assert findings(CHECK, "violin 4/4 q=96 players=1 | G3+D4+B4+G5:1 r:3 |") == []


def test_a_close_triad_below_the_open_strings_is_impossible_for_one_player() -> None:
    found = findings(CHECK, "violin 4/4 q=96 players=1 | D4:2 G3+B3+D4:2 |")
    assert [finding.severity for finding in found] == [Severity.IMPOSSIBLE]
    assert (found[0].start.bar, found[0].start.beat) == (1, 3)
    assert found[0].pitches == (55, 59, 62)


def test_more_notes_than_strings_are_found_whoever_plays() -> None:
    chord = "G3+D4+A4+E5+C6:4"
    alone = findings(CHECK, f"violin 4/4 q=96 players=1 | {chord} |")
    section = findings(CHECK, f"violin 4/4 q=96 players=8 | {chord} |")
    assert [finding.severity for finding in alone] == [Severity.IMPOSSIBLE]
    assert [finding.severity for finding in section] == [Severity.RISKY]


def test_a_cluster_too_thick_to_share_out_is_found_all_the_same() -> None:
    cluster = "+".join(map(str, range(55, 67)))
    (found,) = findings(CHECK, f"violin 4/4 q=96 players=8 | {cluster}:4 |")
    assert found.severity is Severity.IMPOSSIBLE
    assert len(found.pitches) == 12
    assert found.suggestion == "Leave out notes, or give some to another part."


def test_too_few_players_for_the_lines_stay_impossible() -> None:
    found = findings(CHECK, "viola 4/4 q=96 players=2 | C3+D3+E3+F3+G3:4 |")
    assert [finding.severity for finding in found] == [Severity.IMPOSSIBLE]


def test_a_held_chord_of_three_is_awkward_in_a_section_and_a_short_one_fine() -> None:
    held = findings(CHECK, "violin 4/4 q=60 players=8 | G3+D4+B4:2 r:2 |")
    short = findings(CHECK, "violin 4/4 q=60 players=8 | G3+D4+B4:1 r:3 |")
    assert [finding.severity for finding in held] == [Severity.AWKWARD]
    assert short == []


def test_the_limit_of_a_held_chord_can_be_set() -> None:
    session = Session(check_params={CHECK: {"held_chord_s": 3}})
    assert findings(CHECK, "violin 4/4 q=60 players=8 | G3+D4+B4:2 r:2 |", session=session) == []


def test_a_pad_is_one_finding() -> None:
    pad = "| " + "A3+C4+E4:4 | " * 4
    assert len(findings(CHECK, f"violin 4/4 q=60 players=8 {pad}")) == 1


@given(st.lists(st.integers(55, 61), min_size=3, max_size=3, unique=True))
@settings(max_examples=20)
def test_three_notes_below_the_second_string_always_need_dividing(pitches: list[int]) -> None:
    chord = "+".join(map(str, pitches))
    assert len(findings(CHECK, f"violin 4/4 q=96 players=1 | {chord}:4 |")) == 1
