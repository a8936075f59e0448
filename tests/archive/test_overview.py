from pathlib import Path

from mockcheck.archive.files import FoundFile
from mockcheck.archive.one_review import Reviewed
from mockcheck.archive.overview import overview_text
from mockcheck.archive.pool import Done, Kind
from mockcheck.archive.reviewing import Outcome
from tests.archive.made_up import failed, outcome, small_run, track


def test_the_answer_over_all_comes_first() -> None:
    first = overview_text(small_run()).splitlines()[0]
    assert first == "4 files, judged at level sight: 2 not ready, 1 ready, 1 not reviewed."


def test_each_file_has_its_line_in_order_with_verdict_and_counts() -> None:
    lines = overview_text(small_run()).splitlines()[2:6]
    assert lines == [
        "x/one.mid: So. (1 accepted)",
        "x/two.mid: So. (1 impossible, 2 risky)",
        "y/three.mid: So.",
        "y/four.mid: Not reviewed: for a reason.",
    ]


def test_why_a_file_was_not_reviewed_is_told() -> None:
    text = overview_text([failed("a.mid", Kind.STOPPED), failed("b.mid", Kind.CRASHED)])
    assert text.splitlines() == [
        "2 files: 2 not reviewed.",
        "",
        "a.mid: Not reviewed: it took too long.",
        "b.mid: Not reviewed: it met a fault of mockcheck.",
    ]


def test_lines_are_wrapped() -> None:
    name = "folder/" * 20 + "a.mid"
    text = overview_text([outcome(name, 60, [track(0, "Cello", "cello", 9)], [])], width=60)
    assert all(len(line) <= 60 for line in text.splitlines())


def test_a_refusal_is_told_to_its_first_clause_without_the_name() -> None:
    for fault, told in (
        ("a.mid: no track is for strings ('x': no notes). Name one.", "no track is for strings"),
        ("a.mid, byte 0: the file is empty; MThd was expected.", "byte 0: the file is empty"),
        ("/music/a.mid: there is no such file. Check it.", "there is no such file"),
        ("brief: [players] names 'Cello', but there is none.", "brief: [players] names 'Cello'"),
    ):
        path = Path("/music/a.mid")
        done: Done[Reviewed] = Done(path, Kind.REFUSED, fault=fault)
        text = overview_text([Outcome(FoundFile(path, "a.mid"), None, done)])
        assert f"a.mid: Not reviewed: {told}." in text.splitlines()
