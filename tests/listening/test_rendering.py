from __future__ import annotations

import ast
from collections import Counter
from dataclasses import replace
from pathlib import Path

import mido
import pytest

from tests.listening.habits import HABITS, HIGHEST, LOWEST
from tests.listening.names import part_key
from tests.listening.printed import Sheet
from tests.listening.read_back import ReadChunk, read_chunks
from tests.listening.rendering import SILENT, TIMING_ONLY, render
from tests.listening.truth import ARTICULATIONS, TIMING_TELLS, Rendering, TruthRow

MEASURING = {
    "__main__", "articulation_figures", "chorales", "figures", "hearing", "slide_figures",
    "switch_finding", "voices",
}  # fmt: skip
NOT_GENERATED = {"real_files"}


def rows_of(rendering: Rendering, track: int) -> list[TruthRow]:
    return sorted((row for row in rendering.rows if row.track == track), key=lambda row: row.onset)


def keys_of(rendering: Rendering, track: int) -> dict[int, str]:
    return {
        switch.trigger[1]: switch.articulation
        for switch in rendering.switches
        if switch.track == track and switch.trigger[0] == "key"
    }


@pytest.mark.parametrize("is_human", [True, False])
@pytest.mark.parametrize("habit", HABITS)
def test_the_file_holds_exactly_the_true_notes_and_the_switches(
    sheet: Sheet, tmp_path: Path, habit: str, is_human: bool
) -> None:
    rendering = render(sheet, habit, is_human, tmp_path)
    chunks = read_chunks(rendering.path)
    assert len(rendering.rows) > 500
    for track, chunk in enumerate(chunks):
        keys = keys_of(rendering, track)
        music = [press for press in chunk.presses if press[2] not in keys]
        wanted = [
            (row.onset, row.release, row.pitch, row.velocity) for row in rows_of(rendering, track)
        ]
        assert sorted(music) == sorted(wanted)
        pressed = Counter(press[2] for press in chunk.presses if press[2] in keys)
        true = (
            {s.trigger[1]: s.presses for s in rendering.switches if s.track == track}
            if keys
            else {}
        )
        assert pressed == Counter(true)


@pytest.mark.parametrize("habit", ["latching keys", "held keys"])
def test_switch_keys_lie_outside_the_range_and_outside_the_music(
    sheet: Sheet, tmp_path: Path, habit: str
) -> None:
    for seed in range(4):
        rendering = render(sheet, habit, True, tmp_path, seed)
        for switch in rendering.switches:
            part = sheet.parts[switch.track - 1]
            key = switch.trigger[1]
            assert key < LOWEST[part.instrument] or key > HIGHEST[part.instrument]
            assert key not in {row.pitch for row in rows_of(rendering, switch.track)}


def in_force_at_notes(
    chunk: ReadChunk, rendering: Rendering, track: int
) -> list[tuple[str | None, str]]:
    """What the latest switch before each note stands for, and what is true."""
    named = {s.trigger: s.articulation for s in rendering.switches if s.track == track}
    kind = next(iter(named))[0]
    keys = {trigger[1] for trigger in named} if kind == "key" else set()
    zones = {trigger[1:]: name for trigger, name in named.items()}
    true = {(row.onset, row.pitch): row.articulation for row in rows_of(rendering, track)}
    current, result = None, []
    for tick, message in chunk.sequence:
        if message.type == "note_on" and message.note in keys:
            current = named["key", message.note, -1]
        elif message.type == "program_change" and kind == "program":
            current = named["program", message.program, -1]
        elif message.type == "control_change" and kind == "controller":
            near = [n for (number, v), n in zones.items()
                    if number == message.control and abs(v - message.value) <= 4]  # fmt: skip
            current = near[0] if near else current
        elif message.type == "note_on":
            result.append((current, true[tick, message.note]))
    return result


@pytest.mark.parametrize("is_human", [True, False])
@pytest.mark.parametrize("habit", ["latching keys", "controller", "programs"])
def test_at_every_note_the_latest_switch_is_that_of_its_articulation(
    sheet: Sheet, tmp_path: Path, habit: str, is_human: bool
) -> None:
    rendering = render(sheet, habit, is_human, tmp_path)
    for track, chunk in enumerate(read_chunks(rendering.path)[1:], start=1):
        heard = in_force_at_notes(chunk, rendering, track)
        assert heard
        assert all(one == other for one, other in heard)


def test_a_held_key_is_down_at_the_notes_it_is_for_and_at_no_others(
    sheet: Sheet, tmp_path: Path
) -> None:
    rendering = render(sheet, "held keys", True, tmp_path)
    for track, chunk in enumerate(read_chunks(rendering.path)[1:], start=1):
        keys = keys_of(rendering, track)
        held = [press for press in chunk.presses if press[2] in keys]
        for row in rows_of(rendering, track):
            down = {keys[key] for onset, release, key, _ in held if onset <= row.onset < release}
            assert down == ({row.articulation} - {"detache"})


def test_each_channel_and_each_named_track_has_its_own_articulation(
    sheet: Sheet, tmp_path: Path
) -> None:
    rendering = render(sheet, "channels", True, tmp_path)
    channel_of = {(s.track, s.articulation): s.trigger[1] for s in rendering.switches}
    chunks = read_chunks(rendering.path)
    for row in rendering.rows:
        channel = chunks[row.track].channel_of[row.onset, row.pitch] + 1
        assert channel == channel_of[row.track, row.articulation]
    rendering = render(sheet, "tracks", True, tmp_path)
    for track in range(1, len(read_chunks(rendering.path))):
        own = rows_of(rendering, track)
        if own[0].evidence == "name":
            assert len({row.articulation for row in own}) == 1
        else:
            assert {row.articulation for row in own} <= {"legato", "detache"}


@pytest.mark.slow
def test_the_same_seed_gives_the_same_bytes_and_another_seed_others(
    sheet: Sheet, tmp_path: Path
) -> None:
    for habit in HABITS:
        first = render(sheet, habit, True, tmp_path)
        written = first.path.read_bytes()
        again = render(sheet, habit, True, tmp_path)
        assert again == first
        assert again.path.read_bytes() == written
        other = render(sheet, habit, True, tmp_path, seed=5)
        assert other.path.read_bytes() != written


def test_the_brief_names_every_switch_once_and_in_its_own_words(
    sheet: Sheet, tmp_path: Path
) -> None:
    for habit in set(HABITS) - {"tracks", *SILENT}:
        rendering = render(sheet, habit, True, tmp_path)
        assert rendering.brief is not None
        named = [
            (table["match"], switch["articulation"])
            for table in rendering.brief["tracks"]
            for switch in table["switches"]
        ]
        names = {n: chunk.name for n, chunk in enumerate(read_chunks(rendering.path))}
        assert named == [(names[s.track], s.articulation) for s in rendering.switches]


def test_only_the_plan_gives_what_print_has_no_mark_for(sheet: Sheet, tmp_path: Path) -> None:
    full = {row.articulation for row in render(sheet, "programs", True, tmp_path).rows}
    timing = {row.articulation for row in render(sheet, TIMING_ONLY, True, tmp_path).rows}
    assert "pizzicato" in full
    assert len(full - set(TIMING_TELLS)) >= 5
    assert full <= set(ARTICULATIONS)
    assert timing <= {*TIMING_TELLS, "portato"}


def test_without_human_timing_onsets_stand_on_the_grid_of_the_print(
    sheet: Sheet, tmp_path: Path
) -> None:
    printed = {
        (track, note.onset)
        for track, part in enumerate(sheet.parts, start=1)
        for note in part.notes
    }

    def share_on_grid(is_human: bool) -> float:
        rows = [
            row
            for row in render(sheet, "latching keys", is_human, tmp_path).rows
            if row.articulation not in ("tremolo", "trill")
        ]
        return sum((row.track, row.onset) in printed for row in rows) / len(rows)

    assert share_on_grid(False) == 1.0
    assert share_on_grid(True) < 0.2


def test_every_part_name_has_a_row_of_track_names(sheet: Sheet) -> None:
    assert [part_key(part.name) for part in sheet.parts] == [
        "violin 1", "violin 2", "viola", "cello",
    ]  # fmt: skip


def test_the_generator_knows_nothing_of_the_product() -> None:
    for module in Path(__file__).parent.glob("*.py"):
        if module.stem in MEASURING | NOT_GENERATED or module.stem.startswith(("test_", "conf")):
            continue
        tree = ast.parse(module.read_text(encoding="utf-8"))
        names = {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
        names |= {
            alias.name for node in ast.walk(tree) if isinstance(node, ast.Import)
            for alias in node.names
        }  # fmt: skip
        assert not [name for name in names if name.partition(".")[0] == "mockcheck"], module.stem


def test_a_part_that_is_cut_away_leaves_the_others_as_they_were(
    sheet: Sheet, tmp_path: Path
) -> None:
    whole = render(sheet, TIMING_ONLY, True, tmp_path)
    less = render(replace(sheet, parts=sheet.parts[:2]), TIMING_ONLY, True, tmp_path)
    assert [row for row in whole.rows if row.track <= 2] == list(less.rows)
    assert len(mido.MidiFile(less.path).tracks) == 3
