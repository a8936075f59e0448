import bisect
import io
import os
from collections import defaultdict, deque
from itertools import pairwise
from pathlib import Path
from typing import Any

import mido
import numpy as np
import pretty_midi
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from mockcheck.errors import UnreadableInput
from mockcheck.model.score import Score
from mockcheck.read import load, read_bytes
from tests.read.building import mido_bytes, off, on, score_of, smf, track

# Each expected value here is worked out from what mido, an independent reader, finds in the
# bytes; pairing is a plain queue for each key, as MIDI 1.0 Detailed Specification 4.2 allows.

REAL = os.environ.get("MOCKCHECK_REAL_MIDI")
DELTAS = st.one_of(st.integers(0, 3), st.integers(0, 2000), st.integers(0, 2**21))
CHANNELS = st.integers(0, 15)
BYTES = st.integers(0, 127)
Row = tuple[Any, ...]


def message_strategy() -> st.SearchStrategy[mido.Message]:
    few_keys = st.integers(60, 63)
    few_channels = st.sampled_from((0, 1, 9))
    return st.one_of(
        st.builds(
            mido.Message,
            st.just("note_on"),
            note=few_keys,
            velocity=st.one_of(st.just(0), BYTES),
            channel=few_channels,
            time=DELTAS,
        ),
        st.builds(
            mido.Message, st.just("note_off"), note=few_keys, channel=few_channels, time=DELTAS
        ),
        st.builds(
            mido.Message,
            st.just("control_change"),
            control=st.integers(0, 119),
            value=BYTES,
            channel=CHANNELS,
            time=DELTAS,
        ),
        st.builds(
            mido.Message,
            st.just("pitchwheel"),
            pitch=st.integers(-8192, 8191),
            channel=CHANNELS,
            time=DELTAS,
        ),
        st.builds(
            mido.Message, st.just("program_change"), program=BYTES, channel=CHANNELS, time=DELTAS
        ),
        st.builds(mido.Message, st.just("aftertouch"), value=BYTES, channel=CHANNELS, time=DELTAS),
        st.builds(
            mido.Message,
            st.just("polytouch"),
            note=BYTES,
            value=BYTES,
            channel=CHANNELS,
            time=DELTAS,
        ),
        st.builds(mido.Message, st.just("sysex"), data=st.lists(BYTES, max_size=200), time=DELTAS),
    )


def meta_strategy() -> st.SearchStrategy[mido.MetaMessage]:
    return st.one_of(
        st.builds(
            mido.MetaMessage, st.just("set_tempo"), tempo=st.integers(1000, 2**24 - 1), time=DELTAS
        ),
        st.builds(
            mido.MetaMessage, st.just("text"), text=st.text("MTrk\x00\x7f", max_size=9), time=DELTAS
        ),
        st.builds(
            mido.MetaMessage,
            st.just("time_signature"),
            numerator=st.integers(1, 32),
            denominator=st.sampled_from((1, 2, 4, 8, 16, 32)),
            time=DELTAS,
        ),
    )


FILES = st.tuples(
    st.integers(1, 32767),
    st.lists(
        st.lists(st.one_of(message_strategy(), meta_strategy()), max_size=40).map(mido.MidiTrack),
        min_size=1,
        max_size=4,
    ),
)


def with_ticks(messages: mido.MidiTrack) -> list[tuple[int, Any]]:
    tick = 0
    rows = []
    for message in messages:
        tick += message.time
        rows.append((tick, message))
    return rows


def expected_notes(messages: mido.MidiTrack) -> list[Row]:
    """(onset, pitch, channel, velocity, release) in order of onset, pitch and file."""
    waiting: dict[tuple[int, int], deque[list[int]]] = defaultdict(deque)
    notes: list[list[int]] = []
    end = 0
    for tick, message in with_ticks(messages):
        end = tick
        if message.type not in {"note_on", "note_off"}:
            continue
        queue = waiting[message.channel, message.note]
        if message.type == "note_on" and message.velocity:
            note = [tick, message.note, message.channel + 1, message.velocity, -1]
            queue.append(note)
            notes.append(note)
        elif queue:
            queue.popleft()[4] = tick
    for note in notes:
        note[4] = end if note[4] < 0 else note[4]
    return sorted((tuple(note) for note in notes), key=lambda note: note[:2])


def our_notes(score: Score, index: int) -> list[Row]:
    notes = score.tracks[index].notes
    columns = (notes.onset_ticks, notes.pitch, notes.channel, notes.velocity, notes.release_ticks)
    return list(zip(*(column.tolist() for column in columns), strict=True))


def expected_controllers(messages: mido.MidiTrack) -> dict[tuple[int, int], list[Row]]:
    found = defaultdict(list)
    for tick, message in with_ticks(messages):
        if message.type == "control_change":
            found[message.channel + 1, message.control].append((tick, message.value))
    return dict(found)


def our_controllers(score: Score, index: int) -> dict[tuple[int, int], list[Row]]:
    return {
        (channel, number): list(zip(curve.ticks.tolist(), curve.values.tolist(), strict=True))
        for channel, curves in score.tracks[index].channels.items()
        for number, curve in curves.controllers.items()
    }


def expected_tempos(file: mido.MidiFile) -> list[tuple[int, int]]:
    """One tempo a tick, the first track's last one; 120 from the start."""
    by_tick: dict[int, tuple[int, int]] = {0: (len(file.tracks), 500_000)}
    for index, messages in enumerate(file.tracks):
        for tick, message in with_ticks(messages):
            if message.type == "set_tempo" and by_tick.get(tick, (index, 0))[0] >= index:
                by_tick[tick] = (index, message.tempo)
    return sorted((tick, tempo) for tick, (_, tempo) in by_tick.items())


def second_of(tick: int, tempos: list[tuple[int, int]], ticks_per_quarter: int) -> float:
    last = bisect.bisect(tempos, (tick, 2**25)) - 1
    seconds = sum(
        mido.tick2second(after[0] - before[0], ticks_per_quarter, before[1])
        for before, after in pairwise(tempos[: last + 1])
    )
    start, tempo = tempos[last]
    return float(seconds + mido.tick2second(tick - start, ticks_per_quarter, tempo))


def assert_same_as_mido(score: Score, file: mido.MidiFile) -> None:
    tempos = expected_tempos(file)
    assert len(score.tracks) == len(file.tracks)
    assert score.event_count == sum(len(messages) for messages in file.tracks)
    if file.type != 2:
        assert score.tempo_map.ticks.tolist() == [tick for tick, _ in tempos]
        assert score.tempo_map.bpm == tuple(60e6 / tempo for _, tempo in tempos)
    for index, messages in enumerate(file.tracks):
        assert our_notes(score, index) == expected_notes(messages)
        if file.type != 2:
            notes = score.tracks[index].notes
            onsets = notes.onset_ticks.tolist()
            seconds = [second_of(tick, tempos, file.ticks_per_beat) for tick in onsets]
            np.testing.assert_allclose(notes.onset_s, seconds, rtol=1e-12, atol=1e-9)


@settings(max_examples=150, suppress_health_check=list(HealthCheck))
@given(FILES)
def test_any_file_that_mido_writes_reads_as_mido_reads_it(
    file: tuple[int, list[mido.MidiTrack]],
) -> None:
    division, tracks = file
    data = mido_bytes(tracks, division=division)
    score = read_bytes(data, "random.mid")
    reread = mido.MidiFile(file=io.BytesIO(data))
    assert_same_as_mido(score, reread)
    for index, messages in enumerate(reread.tracks):
        if score.tracks[index].controller_source is None:
            assert our_controllers(score, index) == expected_controllers(messages)


@settings(max_examples=100)
@given(st.integers(0, 2**32), st.lists(st.integers(0x80, 0xEF), min_size=1, max_size=60))
def test_running_status_says_the_same_as_full_status(seed: int, statuses: list[int]) -> None:
    # SMF 1.0, Track Chunks: a status byte may be left out when it repeats.
    rng = np.random.default_rng(seed)
    full, short, last = bytearray(), bytearray(), -1
    for status in sorted(statuses) if seed % 2 else statuses:
        size = 1 if status >> 4 in (0xC, 0xD) else 2
        content = rng.integers(0, 128, size + 1).astype(np.uint8).tobytes()
        content = content[:1] + content[1:].replace(b"\x79", b"\x01")
        full += content[:1] + bytes((status,)) + content[1:]
        short += content[:1] + (b"" if status == last else bytes((status,))) + content[1:]
        last = status
    scores = [score_of(track(bytes(body)), smf_format=0) for body in (full, short)]
    assert our_notes(scores[0], 0) == our_notes(scores[1], 0)
    assert our_controllers(scores[0], 0) == our_controllers(scores[1], 0)
    assert scores[0].event_count == scores[1].event_count


@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.integers(0, 900), st.integers(1, 900)), min_size=1, max_size=30),
    st.lists(st.tuples(st.integers(1, 3000), st.integers(100_000, 2_000_000)), max_size=8),
)
def test_seconds_are_those_of_pretty_midi(
    notes: list[tuple[int, int]], tempos: list[tuple[int, int]]
) -> None:
    # pretty_midi is right where no key is struck twice, no note is empty, and tempo stands in the
    # first track alone.
    conductor = mido.MidiTrack(
        mido.MetaMessage("set_tempo", tempo=tempo, time=delta) for delta, tempo in tempos
    )
    line = mido.MidiTrack()
    for row, (rest, length) in enumerate(notes):
        key = 40 + row % 50
        line.append(mido.Message("note_on", note=key, velocity=64, time=rest))
        line.append(mido.Message("note_off", note=key, time=length))
    data = mido_bytes([conductor, line])
    theirs = pretty_midi.PrettyMIDI(io.BytesIO(data)).instruments[0].notes
    ours = read_bytes(data, "line.mid").tracks[1].notes
    assert ours.pitch.tolist() == [note.pitch for note in theirs]
    np.testing.assert_allclose(ours.onset_s, [note.start for note in theirs], rtol=0, atol=1e-6)
    np.testing.assert_allclose(ours.release_s, [note.end for note in theirs], rtol=0, atol=1e-6)


def test_unlike_pretty_midi_two_strokes_on_one_key_keep_two_releases() -> None:
    # MIDI 1.0 Detailed Specification 4.2 asks for one note off for every note on; pretty_midi
    # ends both notes at the first.
    events = (on(0, 60), on(240, 60), off(240, 60), off(240, 60))
    data = smf(track(*events), smf_format=0)
    theirs = pretty_midi.PrettyMIDI(io.BytesIO(data)).instruments[0].notes
    assert sorted({note.end for note in theirs}) == [0.5]
    assert score_of(track(*events)).tracks[1].notes.release_s.tolist() == [0.5, 0.75]


@pytest.mark.skipif(not REAL, reason="MOCKCHECK_REAL_MIDI names no folder of real files")
def test_real_files_read_as_mido_reads_them() -> None:
    paths = sorted(path for path in Path(REAL or "").rglob("*") if path.suffix in {".mid", ".rmi"})
    assert paths
    compared = 0
    for path in paths:
        file = read_with_mido(path)
        score = read_or_refuse(path)
        if score and file and not has_mode_messages(file):
            assert_same_as_mido(score, file)
            compared += 1
    assert compared > len(paths) / 2


def read_or_refuse(path: Path) -> Score | None:
    """The score, or None where the file is refused; any other error fails the test."""
    try:
        return load(path)
    except UnreadableInput:
        return None


def read_with_mido(path: Path) -> mido.MidiFile | None:
    """The file, or None where mido gives up; what it raises has no common base but Exception."""
    try:
        return mido.MidiFile(path)
    except Exception:  # noqa: BLE001 - see above
        return None


def has_mode_messages(file: mido.MidiFile) -> bool:
    """All notes off and its kin, which end notes, but not in the plain queue used here."""
    return any(
        message.type == "control_change" and message.control in (120, 123, 124, 125, 126, 127)
        for messages in file.tracks
        for message in messages
    )
