"""The demo cue holds what its case.toml says, read with mido and pretty_midi alone."""

from __future__ import annotations

import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import mido
import pretty_midi
import pytest

DEMO = Path(__file__).parents[1] / "fixtures" / "demo"
FILE = DEMO / "harbour_at_dawn.mid"
CASE: dict[str, Any] = tomllib.loads((DEMO / "case.toml").read_text(encoding="utf-8"))
QUARTER = 480
PART = {
    "Violin 1": ("Violin 1",),
    "Violin 2": ("Violin 2",),
    "Viola": ("Viola leg", "Viola spicc"),
    "Cello": ("Cello",),
    "Double Bass": ("Double Bass",),
}
# Open strings: General MIDI numbers of the standard tunings (music21 instrument data). Tops: the
# highest section notes of Prout, The Orchestra, vol. 1 (violin), and of an arranging handbook.
LOWEST = {"Violin 1": 55, "Violin 2": 55, "Viola": 48, "Cello": 36, "Double Bass": 28}
HIGHEST = {"Violin 1": 100, "Violin 2": 100, "Viola": 88, "Cello": 81, "Double Bass": 59}
SWITCH_KEYS = {24, 26, 28, 29}
# Onsets are up to 6 ticks early or late, as a player's would be.
LOOSE = 8


@dataclass(frozen=True)
class Sounded:
    """One note: ticks and seconds of its onset and release."""

    onset: int
    release: int
    onset_s: float
    release_s: float
    pitch: int


@cache
def score() -> mido.MidiFile:
    return mido.MidiFile(FILE)


def timed(track: mido.MidiTrack) -> Iterator[tuple[int, Any]]:
    tick = 0
    for message in track:
        tick += message.time
        yield tick, message


def track(name: str) -> mido.MidiTrack:
    return next(row for row in score().tracks if row.name == name)


@cache
def second_at(tick: int) -> float:
    seconds, before, tempo = 0.0, 0, 500_000
    for at, message in timed(score().tracks[0]):
        if message.type == "set_tempo" and at < tick:
            seconds += mido.tick2second(at - before, QUARTER, tempo)
            before, tempo = at, message.tempo
    return seconds + float(mido.tick2second(tick - before, QUARTER, tempo))


@cache
def notes(name: str) -> tuple[Sounded, ...]:
    rows = []
    sounding: dict[int, int] = {}
    for tick, message in timed(track(name)):
        if message.type == "note_on" and message.velocity:
            assert message.note not in sounding
            sounding[message.note] = tick
        elif message.type in ("note_on", "note_off"):
            onset = sounding.pop(message.note)
            if message.note not in SWITCH_KEYS or name != "Violin 1":
                rows.append(Sounded(onset, tick, second_at(onset), second_at(tick), message.note))
    assert not sounding
    return tuple(sorted(rows, key=lambda row: (row.onset, row.pitch)))


def part_notes(part: str) -> list[Sounded]:
    rows = [row for name in PART[part] for row in notes(name)]
    return sorted(rows, key=lambda row: (row.onset, row.pitch))


def tick_of(bar: int, beat: float) -> int:
    # All bars are in 4/4 but bar 24; another test reads that from the file.
    return round((4 * (bar - 1) + beat - 1 - (bar > 24)) * QUARTER)


def problem(kind: str, part: str) -> dict[str, Any]:
    found = [row for row in CASE["problem"] if (row["kind"], row["part"]) == (kind, part)]
    assert len(found) == 1
    return dict(found[0])


def notes_of(row: dict[str, Any]) -> list[Sounded]:
    first = tick_of(row["bar"], row["beat"]) - LOOSE
    last = tick_of(row["end_bar"], row["end_beat"]) + LOOSE
    return [note for note in part_notes(row["part"]) if first <= note.onset <= last]


def rate(rows: list[Sounded]) -> float:
    return (len(rows) - 1) / (rows[-1].onset_s - rows[0].onset_s)


def values(name: str, control: int) -> list[tuple[int, int]]:
    return [
        (tick, message.value)
        for tick, message in timed(track(name))
        if message.type == "control_change" and message.control == control
    ]


def bends(name: str) -> list[tuple[int, int]]:
    return [(t, message.pitch) for t, message in timed(track(name)) if message.type == "pitchwheel"]


def test_the_script_writes_the_same_bytes_again(tmp_path: Path) -> None:
    script = shutil.copy(DEMO / "make_demo.py", tmp_path)
    subprocess.run([sys.executable, script], check=True, timeout=60)
    assert (tmp_path / FILE.name).read_bytes() == FILE.read_bytes()


def test_the_cue_is_a_format_1_file_of_a_hundred_seconds() -> None:
    file = score()
    assert (file.type, file.ticks_per_beat) == (1, QUARTER)
    assert 75 <= file.length <= 105
    assert FILE.stat().st_size < 200_000
    names = [row.name for row in file.tracks[1:]]
    assert names == [name for group in PART.values() for name in group] + ["Harp pre-record"]


def test_metre_key_tempo_and_marks_are_in_the_first_track() -> None:
    rows = list(timed(score().tracks[0]))
    metres = [(t, m.numerator, m.denominator) for t, m in rows if m.type == "time_signature"]
    assert metres == [(0, 4, 4), (23 * 4 * QUARTER, 3, 4), ((23 * 4 + 3) * QUARTER, 4, 4)]
    assert [m.key for _, m in rows if m.type == "key_signature"] == ["Em"]
    tempi = {t: round(mido.tempo2bpm(m.tempo)) for t, m in rows if m.type == "set_tempo"}
    assert [tempi[tick_of(bar, 1)] for bar in (1, 17, 33)] == [100, 125, 96]
    marks = [t for t, m in rows if m.type == "marker"]
    assert marks == [tick_of(bar, 1) for bar in (1, 9, 17, 29, 33)]
    assert {m.type for row in score().tracks[1:] for m in row if m.is_meta} == {
        "track_name",
        "end_of_track",
    }


def test_pretty_midi_reads_the_same_notes_at_the_same_seconds() -> None:
    theirs = pretty_midi.PrettyMIDI(str(FILE))
    for name in [name for group in PART.values() for name in group]:
        found = sorted(
            (note.pitch, note.start, note.end)
            for row in theirs.instruments
            if row.name == name
            for note in row.notes
            if note.pitch not in SWITCH_KEYS or name != "Violin 1"
        )
        ours = sorted((row.pitch, row.onset_s, row.release_s) for row in notes(name))
        assert [row[0] for row in found] == [row[0] for row in ours]
        for left, right in zip(found, ours, strict=True):
            assert left[1:] == pytest.approx(right[1:], abs=1e-6)


@pytest.mark.parametrize("name", [name for group in PART.values() for name in group])
def test_curves_are_dense_and_stay_in_range(name: str) -> None:
    for control, least in ((1, 1000), (11, 300)):
        curve = values(name, control)
        assert len(curve) > least
        assert all(0 <= value <= 127 for _, value in curve)
    # The cue ends as quietly as it began.
    assert values(name, 1)[-1][1] < 20


def test_violin_1_changes_stroke_by_four_keys_below_its_range() -> None:
    pressed = [m.note for _, m in timed(track("Violin 1")) if m.type == "note_on"]
    assert [pitch for pitch in pressed if pitch < 55] == [28, 24, 26, 24, 29]


def test_bass_is_plucked_from_bar_17_to_bar_28() -> None:
    programs = [
        (t, m.program) for t, m in timed(track("Double Bass")) if m.type == "program_change"
    ]
    # General MIDI: contrabass is program 44 and pizzicato strings 46, counted from 1.
    assert [program for _, program in programs] == [43, 45, 43]
    assert tick_of(16, 4) < programs[1][0] < tick_of(17, 1)
    assert tick_of(28, 3) < programs[2][0] < tick_of(29, 1)


def test_violin_2_announces_an_octave_of_bend_and_cello_a_tone() -> None:
    for name, semitones in (("Violin 2", 12), ("Cello", 2)):
        assert [values(name, control)[0][1] for control in (101, 100, 6)] == [0, 0, semitones]


def test_cello_has_one_portamento_by_switch() -> None:
    (on_tick, on), (off_tick, off) = values("Cello", 65)
    assert (on, off) == (127, 0)
    covered = [row.pitch for row in notes("Cello") if on_tick <= row.onset < off_tick]
    assert covered == [67]
    assert values("Cello", 5)[0][1] > 0


def test_viola_b2_is_the_only_note_below_an_open_string() -> None:
    low = {p: [n for n in part_notes(p) if n.pitch < LOWEST[p]] for p in PART}
    expected = notes_of(problem("note-below-open-string", "Viola"))
    assert low.pop("Viola") == expected
    assert [row.pitch for row in expected] == [47]
    assert not any(low.values())


def test_violin_1_g7_is_the_only_note_above_a_section_top() -> None:
    high = {p: [n for n in part_notes(p) if n.pitch > HIGHEST[p]] for p in PART}
    expected = notes_of(problem("note-above-range", "Violin 1"))
    assert high.pop("Violin 1") == expected
    assert [row.pitch for row in expected] == [103]
    assert not any(high.values())


def test_one_two_note_chord_lies_below_the_open_d_string() -> None:
    fault = problem("double-stop-on-one-string", "Violin 2")
    assert [row.pitch for row in notes_of(fault)] == fault["pitches"]
    chords = chords_of("Violin 2")
    assert [row for row in chords if row[1] < 62] == [tuple(fault["pitches"])]
    assert len(chords) == 4


def chords_of(part: str) -> list[tuple[int, ...]]:
    by_onset: dict[int, list[int]] = {}
    for row in part_notes(part):
        by_onset.setdefault(row.onset, []).append(row.pitch)
    return [tuple(pitches) for pitches in by_onset.values() if len(pitches) > 1]


def test_only_the_violins_have_chords_and_one_has_a_tenth_between_neighbours() -> None:
    fault = problem("chord-out-of-reach", "Violin 1")
    assert [row.pitch for row in notes_of(fault)] == fault["pitches"]
    assert fault["pitches"][1] - fault["pitches"][0] in (15, 16)
    assert chords_of("Violin 1") == [tuple(fault["pitches"])]
    assert not any(chords_of(part) for part in ("Viola", "Cello", "Double Bass"))


def test_notes_overlap_only_as_long_as_a_legato_join() -> None:
    for part in PART:
        for row, after in pairwise(part_notes(part)):
            if after.onset > row.onset:
                assert row.release - after.onset < 30


@pytest.mark.parametrize(
    ("kind", "part", "count", "per_second"),
    [
        ("run-too-fast", "Cello", 24, 25.0),
        ("run-too-fast", "Violin 1", 17, 35.4),
        ("repeated-notes-too-fast", "Viola", 16, 16.7),
        ("pizzicato-too-fast", "Double Bass", 8, 8.3),
    ],
)
def test_fast_places_have_the_rate_they_are_listed_for(
    kind: str, part: str, count: int, per_second: float
) -> None:
    fault = problem(kind, part)
    rows = notes_of(fault)
    assert len(rows) == count
    assert rate(rows) == pytest.approx(per_second, rel=0.02)
    if "pitches" in fault and kind == "repeated-notes-too-fast":
        assert {row.pitch for row in rows} == set(fault["pitches"])


def test_nothing_else_is_faster_than_semiquavers_at_125() -> None:
    fast_kinds = ("run-too-fast", "repeated-notes-too-fast")
    faults = [row for row in CASE["problem"] if row["kind"] in fast_kinds]
    for part in PART:
        listed = {n for row in faults if row["part"] == part for n in notes_of(row)}
        onsets = sorted({row.onset_s for row in part_notes(part) if row not in listed})
        # Four notes in a window: looseness of single onsets is no speed.
        assert all(b - a > 3 / 8.8 for a, b in zip(onsets, onsets[3:], strict=False))


def test_one_beat_holds_seventeen_notes() -> None:
    rows = notes_of(problem("odd-tuplet", "Violin 1"))
    assert len(rows) == 17
    assert rows == notes_of(problem("run-too-fast", "Violin 1"))


def test_c_natural_meets_d_sharp_in_semiquavers_of_bar_24_only() -> None:
    fault = problem("augmented-second-in-fast-notes", "Violin 1")
    meetings = [
        row.onset
        for part in PART
        for row, after in pairwise(part_notes(part))
        if {row.pitch % 12, after.pitch % 12} == {0, 3}
        and abs(row.pitch - after.pitch) == 3
        and after.onset_s - row.onset_s < 0.15
    ]
    assert len(meetings) == 3
    assert abs(meetings[0] - tick_of(fault["bar"], fault["beat"])) <= LOOSE
    assert {tick_of(24, 1) <= tick < tick_of(25, 1) for tick in meetings} == {True}


def test_nine_of_ten_joins_slide_in_the_overused_passage() -> None:
    rows = notes_of(problem("slides-overused", "Violin 2"))
    assert len(rows) == 11
    slides = 0
    for row, after in pairwise(rows):
        # 12 semitones are 8192 steps: the bend must arrive at the next note's pitch.
        arrival = round((after.pitch - row.pitch) / 12 * 8192)
        before = [value for tick, value in bends("Violin 2") if tick < after.onset][-1]
        slides += arrival != 0 and abs(before - arrival) <= 1
        assert [value for tick, value in bends("Violin 2") if tick <= after.onset][-1] == 0
    assert slides == 9


def test_outside_that_passage_violin_2_slides_once_and_else_only_vibrates() -> None:
    passage = problem("slides-overused", "Violin 2")
    first, last = tick_of(passage["bar"], 1), tick_of(passage["end_bar"] + 1, 1)
    wide = [tick for tick, value in bends("Violin 2") if abs(value) > 8192 * 0.2 / 12]
    outside = [tick for tick in wide if not first <= tick < last]
    assert {tick_of(5, 2) <= tick < tick_of(5, 3) for tick in outside} == {True}


def test_three_cello_notes_begin_with_the_bend_left_at_75_cents() -> None:
    fault = problem("bend-left-over", "Cello")
    rows = notes_of(fault)
    assert [row.pitch for row in rows] == fault["pitches"]
    flat = [
        row
        for row in notes("Cello")
        # Two semitones are 8192 steps: 75 cents are 3072 of them.
        if [value for tick, value in bends("Cello") if tick <= row.onset][-1] == -3072
    ]
    assert flat == rows


def test_held_cello_note_is_forte_and_longer_than_a_forte_bow() -> None:
    (held,) = notes_of(problem("bow-runs-out", "Cello"))
    assert held.pitch == 52
    # An orchestrator's table of bow lengths gives 3 s at mezzo forte and 1 s at forte.
    assert held.release_s - held.onset_s > 5
    inside = [value for tick, value in values("Cello", 1) if held.onset <= tick <= held.release]
    assert min(inside) > 90


def test_mute_goes_on_in_less_than_a_tenth_of_a_second() -> None:
    fault = problem("no-time-for-change", "Violin 1")
    start = tick_of(fault["bar"], fault["beat"])
    muted = next(row for row in notes("Violin 1") if row.onset >= start - LOOSE)
    last = [row for row in notes("Violin 1") if row.onset < muted.onset][-1]
    assert 0 <= muted.onset_s - last.release_s < 0.1
    pressed = [t for t, m in timed(track("Violin 1")) if m.type == "note_on" and m.note == 29]
    assert last.release <= pressed[0] < muted.onset


def test_every_listed_place_exists_and_most_bars_are_clean() -> None:
    # Each tuple has its own test above; a new fault needs one too.
    tested = {
        ("double-stop-on-one-string", "Violin 2"),
        ("note-below-open-string", "Viola"),
        ("slides-overused", "Violin 2"),
        ("pizzicato-too-fast", "Double Bass"),
        ("augmented-second-in-fast-notes", "Violin 1"),
        ("repeated-notes-too-fast", "Viola"),
        ("run-too-fast", "Cello"),
        ("run-too-fast", "Violin 1"),
        ("odd-tuplet", "Violin 1"),
        ("bow-runs-out", "Cello"),
        ("note-above-range", "Violin 1"),
        ("chord-out-of-reach", "Violin 1"),
        ("no-time-for-change", "Violin 1"),
        ("bend-left-over", "Cello"),
    }
    assert {(row["kind"], row["part"]) for row in CASE["problem"]} == tested
    severities = {row["severity"] for row in CASE["problem"]}
    assert severities == {"impossible", "risky", "awkward", "remark"}
    bars = {b for row in CASE["problem"] for b in range(row["bar"], row["end_bar"] + 1)}
    assert len(bars) <= CASE["bars"] * 0.4
    assert tick_of(CASE["bars"] + 1, 1) == max(t for t, _ in timed(score().tracks[0]))
