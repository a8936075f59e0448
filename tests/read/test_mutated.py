import os
import random
import resource
import time
from pathlib import Path

import mido
import pytest

from mockcheck.errors import UserError
from mockcheck.model.score import Score
from mockcheck.read import read_bytes
from tests.read.building import (
    TEMPO_120,
    bend,
    control,
    meta,
    mido_bytes,
    off,
    on,
    program,
    smf,
    track,
)

QUIRKS = Path(__file__).parents[2] / "fixtures" / "quirks"
COUNT = int(os.environ.get("MOCKCHECK_MUTATIONS", "300"))
LONGEST_S = 2.0
MOST_EXTRA_MEMORY_KB = 500_000


def sources() -> list[bytes]:
    curves = [control(3, 1, value) + bend(2, 64 * value) for value in range(40)]
    strings = smf(
        track(TEMPO_120, meta(0x58, b"\x03\x02\x18\x08"), meta(6, b"Letter A", 480)),
        track(meta(3, b"Violin"), program(0, 40), on(0, 67), *curves, off(60, 67), on(0, 69)),
        track(
            meta(0x21, b"\x01"), control(0, 64, 127), on(9, 48, 3), on(1, 55, 3), off(500, 48, 3)
        ),
    )
    files = [strings, *(path.read_bytes() for path in sorted(QUIRKS.glob("*.[mr]*")))]
    return [data for data in files if len(data) > 14]


def mutate(data: bytes, rng: random.Random) -> bytes:
    out = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 3, 8, 30))):
        at = rng.randrange(len(out)) if out else 0
        kind = rng.randrange(8)
        if kind == 0:
            out[at : at + 1] = rng.randbytes(1)
        elif kind == 1:
            out[at : at + 1] = bytes(byte ^ 1 << rng.randrange(8) for byte in out[at : at + 1])
        elif kind == 2:
            out[at : at + rng.randrange(1, 5)] = b""
        elif kind == 3:
            out[at:at] = rng.randbytes(rng.randrange(1, 6))
        elif kind == 4:
            out[at : at + 4] = rng.choice((b"\xff\xff\xff\xff", bytes(4), b"\x7f\xff\xff\xff"))
        elif kind == 5:
            out[at:at] = out[at : at + rng.randrange(1, 60)]
        elif kind == 6:
            out[at:at] = rng.choice((b"MTrk", b"MThd", b"\xff\x2f\x00", b"\xf0", b"\xff\x03"))
        elif len(out) > 20:
            del out[max(14, at) :]
    return bytes(out)


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
            for track in result.tracks:
                assert (track.notes.release_ticks >= track.notes.onset_ticks).all()
                assert (track.notes.sound_end_s >= track.notes.release_s).all()
                assert (track.notes.pitch < 128).all()
            kinds = [(warning.code, warning.track) for warning in result.warnings]
            assert len(kinds) == len(set(kinds))
            for warning in result.warnings:
                assert warning.byte_offset is None or 0 <= warning.byte_offset <= len(data)
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
