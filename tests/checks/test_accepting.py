"""What a brief accepts stays accepted while the music stays, and no longer."""

from pathlib import Path
from typing import Any

import pytest

import mockcheck
from mockcheck.checks._accepting import accept_findings
from mockcheck.model.acceptance import Acceptance
from mockcheck.model.finding import Severity
from mockcheck.model.review import Review
from tests.phrases import midi_bytes

LOW = "note-below-open-string"
TUNE = "violin 4/4 q=100 | A4:1 B4:1 C5:1 D5:1 | E5:1 F3:1 D5:1 C5:1 | B4:1 A4:1 B4:1 C5:1 |"
REASON = "meant: the leader tunes down"


def reviewed(folder: Path, *parts: str, accept: list[dict[str, Any]] | None = None) -> Review:
    path = folder / "music.mid"
    path.write_bytes(midi_bytes(*parts))
    return mockcheck.review(path, {"accept": accept or []})


def low_ids(folder: Path, *parts: str) -> list[str]:
    return [f.id for f in reviewed(folder, *parts).findings if f.check == LOW]


def accepted(folder: Path, identity: str, *parts: str) -> list[tuple[str, int | None]]:
    """Part and bar of what an acceptance by id accepts."""
    review = reviewed(folder, *parts, accept=[{"id": identity, "reason": REASON}])
    rows = [f for f in review.findings if f.accepted is not None]
    assert all(f.accepted == REASON for f in rows)
    assert bool(rows) != bool(review.unused_acceptances)
    return [(f.part, f.start.bar) for f in rows]


def test_an_accepted_finding_is_kept_but_not_counted(tmp_path: Path) -> None:
    (identity,) = low_ids(tmp_path, TUNE)
    open_review = reviewed(tmp_path, TUNE)
    review = reviewed(tmp_path, TUNE, accept=[{"id": identity, "reason": REASON}])
    assert len(review.findings) == len(open_review.findings)
    assert open_review.counts[Severity.IMPOSSIBLE] == 1
    assert review.counts[Severity.IMPOSSIBLE] == 0
    assert open_review.worst() is Severity.IMPOSSIBLE
    assert review.worst() is not Severity.IMPOSSIBLE
    row = next(f for f in review.to_dict()["findings"] if f["check"] == LOW)
    assert row["accepted"] == REASON


@pytest.mark.parametrize(
    ("changed", "bar"),
    [
        (TUNE.replace("|", "| G4:4 | A4:4 |", 1), 4),
        (TUNE.replace("| E5:1 F3:1", "| G4:4 | E5:1 F3:1"), 3),
        (TUNE.replace("| B4:1 A4:1", "| G4:2 r:2 | B4:1 A4:1"), 2),
        (TUNE.replace("q=100", "q=105"), 2),
        (TUNE.replace("q=100", "q=95"), 2),
        (TUNE.replace("C5:1 | B4:1", "C5:1 | G4:1"), 2),
    ],
    ids=["bars before", "a bar right before", "a bar after", "faster", "slower", "far note"],
)
def test_an_acceptance_survives_what_is_not_its_music(
    tmp_path: Path, changed: str, bar: int
) -> None:
    (identity,) = low_ids(tmp_path, TUNE)
    assert accepted(tmp_path, identity, changed) == [("Violin", bar)]


@pytest.mark.parametrize(
    "changed",
    [
        TUNE.replace("F3:1", "E3:1"),
        TUNE.replace("F3:1 D5:1", "F3:2"),
        TUNE.replace("E5:1 F3:1 D5:1 C5:1", "E5:1 D5:1 D5:1 C5:1").replace(
            "B4:1 A4:1 B4:1 C5:1", "B4:1 A4:1 G4:1 F3:1"
        ),
    ],
    ids=["another pitch", "longer", "the same pitch elsewhere"],
)
def test_an_acceptance_ends_with_its_music(tmp_path: Path, changed: str) -> None:
    (identity,) = low_ids(tmp_path, TUNE)
    assert low_ids(tmp_path, changed)
    assert accepted(tmp_path, identity, changed) == []


def test_a_renamed_part_keeps_its_acceptances(tmp_path: Path) -> None:
    (identity,) = low_ids(tmp_path, TUNE)
    renamed = TUNE.replace("violin", "violin 2")
    assert low_ids(tmp_path, renamed) != [identity]
    assert accepted(tmp_path, identity, renamed) == [("Violin 2", 2)]


def test_repeated_passages_of_a_renamed_part_keep_their_acceptances_in_order(
    tmp_path: Path,
) -> None:
    bars = TUNE.partition("|")[2]
    thrice = f"{TUNE}{bars}{bars} A4:1 B4:1 C5:1 D5:1 |"
    named = low_ids(tmp_path, thrice)
    renamed = thrice.replace("violin", "violin 2")
    where = [accepted(tmp_path, identity, renamed) for identity in named]
    assert where == [[("Violin 2", bar)] for bar in (2, 5, 8)]


def test_another_part_with_the_same_music_is_not_accepted_in_its_place(tmp_path: Path) -> None:
    first, second = TUNE.replace("violin", "violin 1"), TUNE.replace("violin", "violin 2")
    identity = low_ids(tmp_path, first, second)[0]
    assert accepted(tmp_path, identity, first, second) == [("Violin 1", 2)]
    cured = first.replace("F3:1", "F4:1")
    assert accepted(tmp_path, identity, cured, second) == []


def test_nothing_is_accepted_where_two_findings_could_be_meant(tmp_path: Path) -> None:
    identity = low_ids(tmp_path, TUNE)[0]
    both = [TUNE.replace("violin", f"violin {number}") for number in (1, 2)]
    assert accepted(tmp_path, identity, *both) == []


def test_check_part_and_bars_accept_what_begins_there(tmp_path: Path) -> None:
    twice = f"{TUNE}{TUNE.partition('|')[2]} C8:4 |"
    place = {"check": LOW, "part": "violin", "bars": "2-3", "reason": REASON}
    review = reviewed(tmp_path, twice, accept=[place])
    bars = {f.start.bar: f.accepted for f in review.findings if f.check == LOW}
    assert bars == {2: REASON, 5: None}
    both = reviewed(tmp_path, twice, accept=[{**place, "part": "*", "bars": "all"}])
    assert all(f.accepted == REASON for f in both.findings if f.check == LOW)
    assert any(f.accepted is None for f in both.findings if f.check != LOW)


def test_what_fits_nothing_is_told_with_the_nearest(tmp_path: Path) -> None:
    rows = [
        {"check": LOW, "part": "Violin", "bars": 3, "reason": REASON},
        {"check": "tremolo-strain", "part": "Viola", "bars": 7, "reason": REASON},
    ]
    review = reviewed(tmp_path, TUNE, accept=rows)
    near, none = review.unused_acceptances
    assert (near.nearest[0].check, near.nearest[0].start.bar) == (LOW, 2)
    assert none.nearest == ()
    told = review.to_dict()["accepted_in_vain"]
    assert [row["nearest"][:1] for row in told] == [low_ids(tmp_path, TUNE), []]


def test_what_many_files_accept_may_fit_nothing_here() -> None:
    rows = [
        Acceptance("meant", check=LOW, part="*", is_shared=is_shared) for is_shared in (True, False)
    ]
    assert [a.acceptance for a in accept_findings((), rows, ("Viola",)).unused] == rows[1:]


def test_the_first_of_two_reasons_counts(tmp_path: Path) -> None:
    (identity,) = low_ids(tmp_path, TUNE)
    rows: list[dict[str, Any]] = [
        {"id": identity, "reason": "the first"},
        {"check": LOW, "part": "Violin", "bars": 2, "reason": "the second"},
    ]
    review = reviewed(tmp_path, TUNE, accept=rows)
    assert [f.accepted for f in review.findings if f.check == LOW] == ["the first"]
    assert review.unused_acceptances == ()
