import io
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import mido
import numpy as np
import pretty_midi
import pytest

from mockcheck.export.practice import ACCENT_KEY, BEAT_KEY, CLICK_CHANNEL, practice_files
from mockcheck.model.review import Review
from mockcheck.plan.rehearsal import Exercise, Rehearsal, plan_rehearsal
from tests.plan.cues import TICKS_PER_QUARTER, bars_of, demo, music_with, review_music, review_of

CASES: dict[str, Callable[[], Review]] = {
    "demo": demo,
    "4/4": lambda: review_of(bars_of("rest run calm calm")),
    "two sections": lambda: review_of(
        bars_of("rest run calm"), bars_of("rest run calm", name="Violin 2")
    ),
    "6/8": lambda: review_music(music_with([(1, 6, 8)], [3], 6)),
    "5/8": lambda: review_music(music_with([(1, 5, 8)], [3], 6)),
    "3/4 to 4/4": lambda: review_music(music_with([(1, 3, 4), (4, 4, 4)], [3, 4], 7)),
    "4/4 to 5/8 to 6/8": lambda: review_music(
        music_with([(1, 4, 4), (4, 5, 8), (5, 6, 8)], [3, 4, 5], 8)
    ),
    "pick-up": lambda: review_music(music_with([(1, 1, 4), (2, 4, 4)], [1, 2], 6)),
    "tempo changes": lambda: review_music(
        music_with([(1, 4, 4)], [3, 4], 7, ((0, 500_000), (4321, 731_707), (6000, 400_001)))
    ),
}

EARLY_TICKS = 10


@dataclass(frozen=True)
class Pass:
    """One practice file beside the exercise it is for."""

    review: Review
    exercise: Exercise
    share: float
    midi: mido.MidiFile

    @property
    def count_in_ticks(self) -> int:
        return self.exercise.ladder.clicks.count_in_ticks

    def source_s(self, ticks: list[int]) -> list[float]:
        """Seconds in the source from the spot's first bar line, in the source's tempo."""
        tempo = self.review.played.score.tempo_map
        start = self.exercise.spot.start_ticks
        return [tempo.second_at(tick) - tempo.second_at(start) for tick in ticks]


def passes(name: str, *, subdivide: bool = False) -> list[Pass]:
    review = CASES[name]()
    plan = plan_rehearsal(review)
    assert plan.exercises
    made = list(practice_files(plan, subdivide=subdivide))
    wanted = [(e, rung) for e in plan.exercises for rung in e.ladder.rungs]
    assert len(made) == len(wanted)
    return [
        Pass(review, exercise, rung.share, saved(file.midi))
        for file, (exercise, rung) in zip(made, wanted, strict=True)
    ]


def saved(midi: mido.MidiFile) -> mido.MidiFile:
    buffer = io.BytesIO()
    midi.save(file=buffer)
    buffer.seek(0)
    return mido.MidiFile(file=buffer)


def as_pretty(midi: mido.MidiFile, folder: Path) -> pretty_midi.PrettyMIDI:
    path = folder / "pass.mid"
    midi.save(path)
    return pretty_midi.PrettyMIDI(str(path))


def notes_of(track: mido.MidiTrack) -> Counter[tuple[int, int, int, int]]:
    """Onset, release (ticks), key and velocity; the key pressed first is released first."""
    down: dict[int, list[tuple[int, int]]] = {}
    notes: Counter[tuple[int, int, int, int]] = Counter()
    tick = 0
    for message in track:
        tick += message.time
        if message.type == "note_on" and message.velocity:
            down.setdefault(message.note, []).append((tick, message.velocity))
        elif message.type in ("note_on", "note_off"):
            onset, velocity = down[message.note].pop(0)
            notes[onset, tick, message.note, velocity] += 1
    assert not any(down.values())
    return notes


def bars_with_beats(one: Pass) -> list[tuple[int, int, int]]:
    """First tick, numerator and denominator of each bar of the spot, by the signatures alone."""
    meter = one.review.played.score.meter_map
    assert meter is not None
    spot = one.exercise.spot
    rows = zip(
        meter.ticks.tolist(), meter.numerators.tolist(), meter.denominators.tolist(), strict=True
    )
    signatures = list(rows)
    bars, tick = [], 0
    for place, (start, numerator, denominator) in enumerate(signatures):
        end = signatures[place + 1][0] if place + 1 < len(signatures) else spot.end_ticks
        tick = start
        while tick < end:
            bars.append((tick, numerator, denominator))
            tick += 4 * TICKS_PER_QUARTER * numerator // denominator
    return [bar for bar in bars if spot.start_ticks <= bar[0] < spot.end_ticks]


def beat_quarters(numerator: int, denominator: int) -> Fraction:
    """The beat that is counted: three quavers in 6/8, a quaver in 5/8, else a quarter."""
    if denominator == 8:
        return Fraction(3, 2) if numerator % 3 == 0 else Fraction(1, 2)
    return Fraction(1)


def expected_clicks_s(one: Pass) -> tuple[list[float], list[float]]:
    """Seconds of all clicks and of the accents, worked out from signatures and tempos."""
    bars = bars_with_beats(one)
    tempo = one.review.played.score.tempo_map
    start = one.exercise.spot.start_ticks
    second_bar = bars[1] if len(bars) > 1 else bars[0]
    own = 4 * TICKS_PER_QUARTER * bars[0][1] // bars[0][2]
    full = 4 * TICKS_PER_QUARTER * second_bar[1] // second_bar[2]
    is_pick_up = start == 0 and own < full
    counted = second_bar if is_pick_up else bars[0]
    unit = int(beat_quarters(counted[1], counted[2]) * TICKS_PER_QUARTER)
    bar_ticks = 4 * TICKS_PER_QUARTER * counted[1] // counted[2]
    length = 2 * bar_ticks - (own if is_pick_up else 0)
    tick_s = tempo.second_at(start + 1) - tempo.second_at(start)
    clicks = [tick * tick_s / one.share for tick in range(0, length, unit)]
    accents = [0.0, bar_ticks * tick_s / one.share]
    count_in_s = length * tick_s / one.share
    for tick, numerator, denominator in bars:
        step = int(beat_quarters(numerator, denominator) * TICKS_PER_QUARTER)
        end = tick + 4 * TICKS_PER_QUARTER * numerator // denominator
        beats = one.source_s(list(range(tick, end, step)))
        clicks += [count_in_s + second / one.share for second in beats]
        if not (is_pick_up and tick == start):
            accents.append(count_in_s + beats[0] / one.share)
    return clicks, accents


@pytest.mark.parametrize("name", CASES)
def test_a_click_on_every_beat_at_the_tempo_of_the_pass(name: str, tmp_path: Path) -> None:
    for one in passes(name):
        music = as_pretty(one.midi, tmp_path)
        (click,) = [i for i in music.instruments if i.is_drum]
        found = sorted(note.start for note in click.notes)
        accents = sorted(note.start for note in click.notes if note.pitch == ACCENT_KEY)
        clicks, wanted_accents = expected_clicks_s(one)
        assert found == pytest.approx(clicks, abs=1e-3)
        assert accents == pytest.approx(wanted_accents, abs=1e-3)


@pytest.mark.parametrize("name", CASES)
def test_the_notes_are_those_of_the_bars_tick_by_tick(name: str) -> None:
    for one in passes(name):
        spot = one.exercise.spot
        parts = {part.name: part for part in one.review.played.parts}
        for part in spot.parts:
            source = parts[part.part].notes
            # Some notes of the demo are played a few ticks before the bar line they are meant for.
            meant = source.onset_ticks + EARLY_TICKS
            inside = (meant >= spot.start_ticks) & (meant < spot.end_ticks)
            shift = one.count_in_ticks - spot.start_ticks
            wanted = Counter(
                (note.onset_ticks + shift, note.release_ticks + shift, note.pitch, note.velocity)
                for note in map(source.note, np.flatnonzero(inside).tolist())
            )
            tracks = [track for track in one.midi.tracks[2:] if track.name == part.part]
            found = sum((notes_of(track) for track in tracks), Counter())
            assert found == wanted
            assert wanted


@pytest.mark.parametrize("name", CASES)
def test_the_notes_come_at_the_seconds_of_the_pass(name: str, tmp_path: Path) -> None:
    for one in passes(name):
        music = as_pretty(one.midi, tmp_path)
        for instrument in music.instruments:
            if instrument.is_drum:
                continue
            track = next(t for t in one.midi.tracks if t.name == instrument.name)
            onsets = sorted(onset for onset, *_ in notes_of(track).elements())
            rung = next(r for r in one.exercise.ladder.rungs if r.share == one.share)
            source = one.source_s(
                [onset - one.count_in_ticks + one.exercise.spot.start_ticks for onset in onsets]
            )
            wanted = [rung.count_in_s + second / one.share for second in source]
            found = sorted(note.start for note in instrument.notes)
            assert found == pytest.approx(wanted, abs=1e-3)


@pytest.mark.parametrize("name", CASES)
def test_it_lasts_as_long_as_the_sheet_says(name: str) -> None:
    for one in passes(name):
        rung = next(r for r in one.exercise.ladder.rungs if r.share == one.share)
        clicks = one.midi.tracks[1]
        assert clicks.name == "Click"
        end_ticks = sum(message.time for message in clicks)
        spot = one.exercise.spot
        assert end_ticks == one.count_in_ticks + spot.end_ticks - spot.start_ticks
        only_clicks = mido.MidiFile(type=1, ticks_per_beat=one.midi.ticks_per_beat)
        only_clicks.tracks = one.midi.tracks[:2]
        assert only_clicks.length == pytest.approx(rung.seconds, abs=1e-3)


@pytest.mark.parametrize("name", CASES)
def test_bar_lines_of_the_file_are_those_of_the_accents(name: str, tmp_path: Path) -> None:
    # A sequencer that reads the signatures draws its bar lines where the accents are.
    for one in passes(name):
        music = as_pretty(one.midi, tmp_path)
        click = next(i for i in music.instruments if i.is_drum)
        accents = [note.start for note in click.notes if note.pitch == ACCENT_KEY]
        starts = music.get_downbeats()
        for accent in accents:
            assert np.abs(starts - accent).min() < 1e-3


def test_subdivision_adds_soft_clicks_between_the_beats_and_moves_none() -> None:
    for name, parts in (("4/4", 2), ("6/8", 3), ("5/8", 2)):
        for plain, divided in zip(passes(name), passes(name, subdivide=True), strict=True):
            before = notes_of(plain.midi.tracks[1])
            after = notes_of(divided.midi.tracks[1])
            added = after - before
            assert after == before + added
            assert sum(after.values()) == parts * sum(before.values())
            loudest = max(velocity for *_, velocity in added)
            assert loudest < min(velocity for *_, velocity in before)
            onsets = sorted(onset for onset, *_ in after)
            assert len(set(np.diff(onsets).tolist())) == 1


def test_clicks_have_their_own_track_and_channel() -> None:
    for one in passes("two sections"):
        assert one.midi.type == 1
        channels = [{m.channel for m in track if m.type == "note_on"} for track in one.midi.tracks]
        assert channels[0] == set()
        assert channels[1] == {CLICK_CHANNEL}
        assert len(channels) == 4
        assert channels[2].isdisjoint(channels[3] | {CLICK_CHANNEL})
        assert {m.note for m in one.midi.tracks[1] if m.type == "note_on"} == {ACCENT_KEY, BEAT_KEY}


def test_layers_with_the_same_key_stay_apart() -> None:
    brief = {"tracks": [{"match": "*", "part": "Violin 1"}]}
    layered = review_of(
        bars_of("rest run calm", name="Violin 1 a"),
        bars_of("rest run calm", name="Violin 1 b"),
        brief=brief,
    )
    (midi, *_) = [file.midi for file in practice_files(plan_rehearsal(layered))]
    assert [track.name for track in midi.tracks[2:]] == ["Violin 1", "Violin 1"]
    first, second = (notes_of(track) for track in midi.tracks[2:])
    assert first == second


def test_names_are_legal_everywhere_and_sort_in_order_of_work() -> None:
    names = [file.name for file in practice_files(plan_rehearsal(demo()))]
    assert names == sorted(names)
    assert len(set(names)) == len(names)
    assert all(name.replace("-", "").isalnum() and name.isascii() for name in names)


def test_a_name_that_no_midi_file_can_hold_is_spelled_out() -> None:
    review = review_of(
        bars_of("rest run calm"), brief={"tracks": [{"match": "*", "part": "Скрипка"}]}
    )
    plan: Rehearsal = plan_rehearsal(review)
    midi = saved(next(practice_files(plan)).midi)
    assert midi.tracks[2].name.isascii()
    assert midi.tracks[2].name


def test_a_note_without_length_is_released_after_it_is_struck() -> None:
    review = review_of(bars_of("rest run calm"))
    (part,) = review.played.parts
    notes = replace(part.notes, release_ticks=part.notes.onset_ticks.copy())
    short = replace(review.played, parts=(replace(part, notes=notes),))
    for file in practice_files(plan_rehearsal(replace(review, played=short))):
        found = notes_of(saved(file.midi).tracks[2])
        assert found
        assert all(onset == release for onset, release, *_ in found)
