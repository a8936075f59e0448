import re
import tracemalloc

import numpy as np
import pytest

from mockcheck.model.played import PlayedScore
from mockcheck.plan.alignment import align
from tests.phrases import played
from tests.report.synthetic import BAR, VIOLIN, part_of, review_of, scale_rows

BARS = (
    "C5:1 D5:1 E5:1 G5:1",
    "A5:2 F5:1 E5:1",
    "D5:1/2 E5:1/2 F5:1 D5:1 B4:1",
    "C5:3/2 G4:1/2 E4:1 C5:1",
    "F5:1 A5:1 C6:2",
    "B5:1 A5:1/2 G5:1/2 F5:1 D5:1",
    "E5:1 C5:1 D5:1 B4:1",
    "C5:4",
)
LOW_BARS = ("C3:2 G3:2", "F3:2 C3:2", "G3:2 G2:2", "C3:4", "F3:4", "D3:2 G3:2", "C3:2 G3:2", "C3:4")


def duo(
    *bars: int, high: str = "violin 4/4 q=100", low: str = "cello 4/4 q=100"
) -> tuple[str, ...]:
    """Some of the bars, counted from 1, in two parts."""
    return tuple(
        f"{head} | {' | '.join(source[bar - 1] for bar in bars)} |"
        for head, source in ((high, BARS), (low, LOW_BARS))
    )


WHOLE = duo(1, 2, 3, 4, 5, 6, 7, 8)


def test_a_file_is_itself() -> None:
    for part in align(played(*WHOLE), played(*WHOLE)).parts:
        assert part.same_note.tolist() == list(range(len(part.old.notes)))
        assert part.is_sure.all()


def test_notes_of_bars_cut_are_nowhere_and_the_others_go_on() -> None:
    there = align(played(*WHOLE), played(*duo(1, 2, 5, 6, 7, 8)))
    for part in there.parts:
        bars = part.old.notes.onset_ticks // 1920 + 1
        is_cut = (bars == 3) | (bars == 4)
        assert (part.same_note[is_cut] == -1).all()
        assert part.same_note[~is_cut].tolist() == list(range(len(part.new.notes)))


def test_bars_that_came_in_are_nobodys() -> None:
    there = align(played(*duo(1, 2, 5, 6, 7, 8)), played(*WHOLE))
    for part in there.parts:
        bars = part.new.notes.onset_ticks[part.same_note] // 1920 + 1
        assert (part.same_note >= 0).all()
        assert set(bars.tolist()) == {1, 2, 5, 6, 7, 8}


@pytest.mark.parametrize("head", ["violin 4/4 q=60", "violin 4/4 q=140", "violin 2/4 q=100"])
def test_tempo_and_bar_lines_do_not_matter(head: str) -> None:
    other = WHOLE[0].replace("violin 4/4 q=100", head)
    (part,) = align(played(WHOLE[0]), played(other)).parts
    assert part.same_note.tolist() == list(range(len(part.old.notes)))


def test_a_renamed_part_is_known_by_its_music() -> None:
    new = duo(*range(1, 9), high="viola 4/4 q=100")
    there = align(played(*WHOLE), played(*new))
    assert {part.old.name: part.new.name for part in there.parts} == {
        "Violin": "Viola",
        "Cello": "Cello",
    }


def test_a_part_with_other_music_is_another_part() -> None:
    other = "viola 4/4 q=100 | E4:1 G4:1 E4:2 | D4:4 | r:4 | E4:1/2 D4:1/2 C4:3 |"
    there = align(played(*WHOLE), played(WHOLE[1], other))
    assert [part.old.name for part in there.parts] == ["Cello"]


def test_transposed_music_is_followed_note_by_note() -> None:
    higher = WHOLE[0].translate(str.maketrans("56", "67")).replace("4:", "5:")
    (part,) = align(played(WHOLE[0]), played(higher)).parts
    both = part.same_note >= 0
    assert both.mean() > 0.9
    steps = part.new.notes.pitch[part.same_note[both]] - part.old.notes.pitch[both]
    assert np.unique(steps).tolist() == [12]


def test_other_note_values_are_followed() -> None:
    head, _, bars = WHOLE[0].partition("|")
    doubled = re.sub(r":(\d+)", lambda beats: f":{2 * int(beats[1])}", bars.replace("|", ""))
    there = align(played(WHOLE[0]), played(f"{head}| {doubled} |"))
    assert there.whole.stretch == pytest.approx(2)
    assert (there.parts[0].same_note >= 0).mean() > 0.9


def test_a_part_pushed_against_the_others_goes_its_own_way() -> None:
    pushed = WHOLE[0].replace("|", "| r:1", 1)
    there = align(played(*WHOLE), played(pushed, WHOLE[1]))
    for part in there.parts:
        assert (part.same_note >= 0).all(), part.old.name


def test_nothing_in_common_ties_nothing() -> None:
    other = "violin 4/4 q=100 | G3:1/2 Bb3:3/2 Ab3:2 | G3:4 |"
    (part,) = align(played(WHOLE[0]), played(other)).parts
    assert (part.same_note == -1).all()


@pytest.mark.slow
def test_memory_grows_with_the_notes_and_not_with_their_square() -> None:
    def score(inserted: int) -> PlayedScore:
        def later(tick: int) -> int:
            return tick + (inserted if tick >= 150 * BAR else 0)

        parts = [
            part_of(
                f"Violin {number}",
                VIOLIN,
                [(p, later(on), later(off)) for p, on, off in scale_rows(300, 55, 84, seed=number)],
                index=number,
            )
            for number in range(20)
        ]
        return review_of(parts).played

    old, new = score(0), score(3 * BAR)
    notes = sum(len(part.notes) for part in old.parts)
    assert notes > 10_000
    tracemalloc.start()
    there = align(old, new)
    _, peak_bytes = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    # A table of every note against every note would take thousands of bytes a note.
    assert peak_bytes < 1000 * notes
    assert all((part.same_note >= 0).all() for part in there.parts)
