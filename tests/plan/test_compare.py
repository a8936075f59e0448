import re
from pathlib import Path
from typing import Any

import mockcheck
from mockcheck.model.finding import Severity
from mockcheck.plan.compare import Comparison, compare_reviews
from tests.phrases import midi_bytes

LOW, HIGH = "note-below-open-string", "note-above-range"
TUNE = (
    "violin 4/4 q=100 | A4:1 B4:1 C5:1 D5:1 | E5:1 F3:1 D5:1 C5:1 | B4:1 A4:1 G4:1 C5:1 |"
    " D5:2 E5:1 F5:1 | G5:1 C8:1 E5:1 D5:1 | C5:1 B4:1 A4:2 | D5:1 F5:1 A5:2 |"
)
REST_OF_SCORE = (
    "cello 4/4 q=100 | A3:2 G3:2 | C3:2 D3:2 | E3:2 A2:2 | B2:2 C3:2 | E3:2 G3:2 | A3:2 F3:2 |"
    " D3:2 D2:2 |"
)


def compared(
    folder: Path,
    old: tuple[str, ...],
    new: tuple[str, ...],
    old_brief: dict[str, Any] | None = None,
    new_brief: dict[str, Any] | None = None,
) -> Comparison:
    reviews = []
    for name, parts, brief in (("old", old, old_brief), ("new", new, new_brief)):
        path = folder / f"{name}.mid"
        path.write_bytes(midi_bytes(*parts))
        reviews.append(mockcheck.review(path, brief or {}))
    return compare_reviews(*reviews)


def kept(comparison: Comparison) -> list[tuple[str, int]]:
    return [(pair.new.check, pair.moved_bars) for pair in comparison.kept]


def test_a_file_against_itself_has_nothing_new_and_nothing_fixed(tmp_path: Path) -> None:
    same = compared(tmp_path, (TUNE, REST_OF_SCORE), (TUNE, REST_OF_SCORE))
    assert (same.fixed, same.new) == ((), ())
    assert kept(same) == [(LOW, 0), (HIGH, 0)]
    assert not any(pair.has_moved for pair in same.kept)
    assert same.length_changes == ()


def test_a_cured_note_is_fixed_and_the_other_is_still_there(tmp_path: Path) -> None:
    cured = TUNE.replace("F3:1", "F4:1")
    there = compared(tmp_path, (TUNE, REST_OF_SCORE), (cured, REST_OF_SCORE))
    assert [(f.check, f.start.bar) for f in there.fixed] == [(LOW, 2)]
    assert kept(there) == [(HIGH, 0)]
    assert there.new == ()
    assert not there.has_new()


def test_what_came_in_is_new_and_its_severity_counts_for_a_gate(tmp_path: Path) -> None:
    worse = TUNE.replace("| A4:1 B4:1", "| A4:1 E3:1")
    there = compared(tmp_path, (TUNE, REST_OF_SCORE), (worse, REST_OF_SCORE))
    assert [(f.check, f.start.bar) for f in there.new] == [(LOW, 1)]
    assert there.fixed == ()
    assert there.has_new(Severity.IMPOSSIBLE)
    back = compared(tmp_path, (worse, REST_OF_SCORE), (TUNE, REST_OF_SCORE))
    assert [(f.check, f.start.bar) for f in back.fixed] == [(LOW, 1)]
    assert not back.has_new()


def test_bars_that_came_in_move_what_is_after_them(tmp_path: Path) -> None:
    def longer(part: str) -> str:
        bars = part.split("|")
        return "|".join([*bars[:4], " D4:2 C4:2 ", " r:4 ", *bars[4:]])

    new = (longer(TUNE), longer(REST_OF_SCORE))
    there = compared(tmp_path, (TUNE, REST_OF_SCORE), new)
    assert kept(there) == [(LOW, 0), (HIGH, 2)]
    (change,) = there.length_changes
    assert (change.before.bar, change.bars) == (4, 2.0)
    (back,) = compared(tmp_path, new, (TUNE, REST_OF_SCORE)).length_changes
    assert (back.before.bar, back.bars) == (6, -2.0)


def test_the_same_pitch_too_low_elsewhere_is_another_finding(tmp_path: Path) -> None:
    other = TUNE.replace("F3:1", "F4:1").replace("D5:2 E5:1", "D5:2 F3:1")
    there = compared(tmp_path, (TUNE, REST_OF_SCORE), (other, REST_OF_SCORE))
    assert [(f.check, f.start.bar) for f in there.fixed] == [(LOW, 2)]
    assert [(f.check, f.start.bar) for f in there.new] == [(LOW, 4)]


def test_a_passage_that_went_elsewhere_is_still_there(tmp_path: Path) -> None:
    bars = TUNE.split("|")
    new = "|".join([bars[0], *bars[3:8], *bars[1:3], bars[8]])
    there = compared(tmp_path, (TUNE,), (new,))
    assert sorted(kept(there)) == [(HIGH, -2), (LOW, 5)]
    assert (there.fixed, there.new) == ((), ())


def test_renamed_and_missing_parts_are_told(tmp_path: Path) -> None:
    renamed = TUNE.replace("violin", "violin 2")
    there = compared(tmp_path, (TUNE, REST_OF_SCORE), (renamed,))
    assert there.renamed == (("Violin", "Violin 2"),)
    assert (there.left_out, there.added) == (("Cello",), ())
    assert kept(there) == [(LOW, 0), (HIGH, 0)]
    assert compared(tmp_path, (renamed,), (TUNE, REST_OF_SCORE)).added == ("Cello",)


def test_transposed_music_keeps_the_findings_that_still_hold(tmp_path: Path) -> None:
    lower = re.sub(r"([A-G])(\d):", lambda name: f"{name[1]}{int(name[2]) - 1}:", TUNE)
    there = compared(tmp_path, (TUNE,), (lower,))
    assert kept(there) == [(LOW, 0), (HIGH, 0)]
    assert there.kept[1].new.severity < there.kept[1].old.severity
    assert (there.fixed, there.new) == ((), ())


def test_accepted_findings_are_neither_new_nor_fixed(tmp_path: Path) -> None:
    cured = TUNE.replace("F3:1", "F4:1")
    meant = {"accept": [{"check": LOW, "part": "*", "bars": "all", "reason": "meant"}]}
    came_in = compared(tmp_path, (cured,), (TUNE,), None, meant)
    assert came_in.new == ()
    assert [f.check for f in came_in.accepted] == [LOW]
    went = compared(tmp_path, (TUNE,), (cured,), meant, meant)
    assert went.fixed == ()
    assert went.accepted == ()
