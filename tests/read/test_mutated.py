import os
import random
import resource
import time

import mido
import pytest

from mockcheck.errors import UserError
from mockcheck.model.score import Score
from mockcheck.read import read_bytes
from tests.read.building import mido_bytes
from tests.read.mutating import assert_sound, mutate, sources

COUNT = int(os.environ.get("MOCKCHECK_MUTATIONS", "300"))
LONGEST_S = 2.0
MOST_EXTRA_MEMORY_KB = 500_000


def outcome(data: bytes) -> Score | UserError:
    try:
        return read_bytes(data, "damaged.mid")
    except UserError as error:
        return error


def test_every_damaged_file_gives_a_score_or_a_clear_error() -> None:
    rng = random.Random(1996)
    files = sources()
    before_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    slowest = 0.0
    scores = 0
    for number in range(COUNT):
        data = mutate(files[number % len(files)], rng)
        begin = time.perf_counter()
        result = outcome(data)
        slowest = max(slowest, time.perf_counter() - begin)
        if isinstance(result, UserError):
            assert str(result).startswith("damaged.mid, byte ")
        else:
            scores += 1
            assert_sound(result, len(data))
    assert slowest < LONGEST_S
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before_kb < MOST_EXTRA_MEMORY_KB
    assert scores > COUNT / 2


@pytest.mark.parametrize("seed", range(5))
def test_a_file_cut_anywhere_keeps_the_notes_before_the_cut(seed: int) -> None:
    # Standard MIDI Files 1.0, Track Chunks: events stand one behind the other, so a cut cannot
    # touch what is in front of it.
    rng = random.Random(seed)
    notes = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=500_000)])
    for _ in range(40):
        key = rng.randrange(40, 100)
        notes.append(mido.Message("note_on", note=key, velocity=80, time=rng.randrange(300)))
        notes.append(mido.Message("note_off", note=key, time=rng.randrange(1, 300)))
    whole_bytes = mido_bytes([notes], smf_format=0)
    whole = read_bytes(whole_bytes, "whole.mid").tracks[0].notes
    for cut in range(40, len(whole_bytes), 7):
        part = read_bytes(whole_bytes[:cut], "cut.mid").tracks[0]
        complete = part.notes.select(~part.notes.hanging)
        count = len(complete)
        assert part.incomplete
        assert complete.pitch.tolist() == whole.pitch[:count].tolist()
        assert complete.release_ticks.tolist() == whole.release_ticks[:count].tolist()
        assert len(whole_bytes) - cut > 8 * (len(whole) - count) - 20
