from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.infer.reading_load import LOAD, division_bits, reading_load, with_reading_load
from mockcheck.model.played import LINE_KINDS, PartLines, PlayedPart
from mockcheck.model.reading import LOAD_COMPONENTS, ReadingLoad
from tests.phrases import phrase
from tests.report.synthetic import VIOLIN, frames_timeline, part_of

SLOW = "C5:1 D5:1 E5:1 F5:1"


def load_of(bar: str, q: float = 60, instrument: str = "violin", key: int = 0) -> ReadingLoad:
    load = phrase(f"{instrument} 4/4 q={q} key={key} | {bar} |").reading
    assert load is not None
    return load


def index_of(bar: str, q: float = 60, instrument: str = "violin", key: int = 0) -> float:
    return float(load_of(bar, q, instrument, key).load[0])


def row(names: str, beats: str) -> str:
    return " ".join(f"{name}:{beats}" for name in names.split())


def test_harder_music_is_heavier_step_by_step() -> None:
    fast = row("C5 D5 E5 F5 G5 A5 G5 F5 E5 D5 C5 D5 E5 F5 E5 D5", "1/4")
    foreign = row("C5 D#5 E5 F#5 G#5 A5 G5 F#5 Eb5 D5 C#5 D5 E5 F5 Eb5 D5", "1/4")
    odd = " ".join(row(names, "1/7") for names in ("C7 B6 Ab6 G6 F#6 E6 Db6",) * 4)
    loads = [index_of(SLOW, 60), index_of(fast, 60), index_of(foreign, 60), index_of(odd, 60)]
    assert loads == sorted(loads)
    assert len(set(loads)) == 4


def test_a_bar_in_which_nothing_begins_is_no_load() -> None:
    load = load_of(f"{SLOW} | r:4 | {SLOW}")
    assert load.load[1] == 0
    assert load.load[0] > 0
    assert load.load[2] > 0
    assert all(load.component(name)[1] == 0 for name in LOAD_COMPONENTS)
    assert load.bar_index.tolist() == [0, 1, 2]


def test_an_octave_up_into_the_ledger_lines_is_heavier() -> None:
    assert index_of("C6:1 D6:1 E6:1 F6:1") > index_of(SLOW)
    assert load_of("C6:1 D6:1 E6:1 F6:1").ledger_lines[0] > 0


def test_leaps_and_mixed_divisions_add_to_the_load() -> None:
    assert index_of("C5:1 C6:1 C5:1 C6:1") > index_of("B5:1 C6:1 B5:1 C6:1")
    even = load_of("C5:1/2 D5:1/2 E5:1/2 F5:1/2 G5:1/2 F5:1/2 E5:1")
    mixed = load_of("C5:1/2 D5:1/2 E5:1/3 F5:1/3 G5:1/3 F5:1/2 E5:1/2 D5:1")
    assert mixed.rhythm[0] > even.rhythm[0]


NAMES = st.lists(st.sampled_from("C5 D5 E5 F5 G5 A5 B5".split()), min_size=4, max_size=4)


@settings(max_examples=15)
@given(NAMES, st.integers(50, 90), st.floats(1.05, 1.6))
def test_a_faster_tempo_is_never_lighter(names: list[str], q: int, faster: float) -> None:
    bar = row(" ".join(names), "1")
    assert index_of(bar, round(q * faster)) > index_of(bar, q)


@settings(max_examples=15)
@given(NAMES)
def test_halved_values_are_never_lighter(names: list[str]) -> None:
    moving = [*names, *names[::-1]]
    assert index_of(row(" ".join(moving), "1/2")) > index_of(row(" ".join(names), "1"))


@settings(max_examples=15)
@given(NAMES, st.integers(0, 3), st.sampled_from("#b"))
def test_one_accidental_more_is_never_lighter(names: list[str], place: int, sign: str) -> None:
    plain = ["C5", *names, "G5", "C5", "D5"]
    if plain.count(plain[place]) > 1:
        return
    altered = [*plain]
    altered[place] = f"{altered[place][0]}{sign}5"
    if altered[place] in {"E#5", "Fb5", "B#5", "Cb5"}:
        return
    before, after = (index_of(row(" ".join(n), "1/2")) for n in (plain, altered))
    assert after > before


@settings(max_examples=15)
@given(NAMES)
def test_an_octave_higher_is_never_lighter(names: list[str]) -> None:
    higher = [name.replace("5", "6") for name in names]
    assert index_of(row(" ".join(higher), "1")) >= index_of(row(" ".join(names), "1"))


def test_the_load_lies_between_nothing_and_one_and_is_made_of_its_parts() -> None:
    load = load_of(row("C7 Bb6 Ab6 G6 F#6 E6 Db6", "1/7") + " " + row("C7 Bb4 Ab6", "1"))
    assert (load.load >= 0).all()
    assert (load.load < 1).all()
    left = np.prod([1 - load.component(name) for name in LOAD_COMPONENTS], axis=0)
    assert np.allclose(load.load, 1 - left)
    for name in LOAD_COMPONENTS:
        assert (load.component(name) <= getattr(LOAD, f"{name}_weight")).all()


def test_what_the_hand_cannot_do_weighs_where_it_is() -> None:
    run = row("G3 D6 G3 D6 G3 D6 G3 D6 G3 D6 G3 D6 G3 D6 G3 D6", "1/4")
    load = load_of(f"{SLOW} | {run}", 140)
    assert load.headroom[1] > load.headroom[0]
    assert load.headroom[1] > LOAD.headroom_weight / 2


def test_divisions_seldom_printed_tell_more() -> None:
    # Of 70,494 beats of published quartets 18,828 are cut in two, 8,078 in four, 14 in five.
    assert division_bits(False, 1) < division_bits(False, 2) < division_bits(False, 4)
    assert division_bits(False, 4) < division_bits(False, 3) < division_bits(False, 5)
    assert division_bits(False, 2) == pytest.approx(-np.log2(18828 / 70494))
    assert division_bits(True, 3) < division_bits(True, 2)


@given(st.booleans(), st.integers(1, 32))
def test_half_the_value_never_tells_less(is_compound: bool, division: int) -> None:
    assert division_bits(is_compound, 2 * division) >= division_bits(is_compound, division)


def divided(part: PlayedPart, kind: str) -> PlayedPart:
    """The part with every second note on a lower line."""
    size = len(part.notes)
    lines = PartLines(
        np.arange(size) % 2,
        np.full(size, 4),
        np.full(size, LINE_KINDS.index(kind), np.int8),
        np.ones(size),
    )
    return replace(part, lines=lines)


def test_divided_players_read_the_heaviest_line_one_player_reads_all() -> None:
    music = "violin players=8 4/4 q=60 key=0 | C5+E5:1 D5+F5:1 E5+G5:1 F5+A5:1 |"
    part = phrase(music)
    both, one = (reading_load(divided(part, kind)) for kind in ("double stops", "divisi"))
    assert both is not None
    assert one is not None
    assert one.load[0] < both.load[0]


def test_without_bars_or_a_written_rhythm_there_is_no_load() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, 900)], timeline=frames_timeline())
    assert with_reading_load([part])[0].reading is None
    assert reading_load(replace(phrase(f"violin 4/4 q=60 | {SLOW} |"), written=None)) is None


def test_a_string_patch_of_the_whole_body_is_read_in_the_treble_clef() -> None:
    assert index_of(SLOW, instrument="Strings") > 0


@pytest.mark.slow
def test_works_taken_as_easy_lie_below_works_taken_as_hard(tmp_path: Path) -> None:
    # Seven works; `python -m tests.reading.compare_load` measures all of them.
    from tests.accuracy.corpus import fixture_quartets, music21_works
    from tests.reading.compare_load import share_in_order, work_load

    easy = ("corelli/opus3no1/1grave.xml", "mozart/k156/movement3.mxl", "bach/bwv171.6.mxl")
    works = [*music21_works(tmp_path, easy), *fixture_quartets()]
    loads = [load for work in works if (load := work_load(work.name, work.path)) is not None]
    right, pairs = share_in_order(loads)
    assert pairs >= 6
    assert right / pairs > 0.9
