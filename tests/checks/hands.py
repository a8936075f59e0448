"""A phrase as somebody plays it in: notes a little early or late, keys pressed unevenly."""

from __future__ import annotations

import io
from random import Random

import mido

from mockcheck.infer import play
from mockcheck.model.finding import Finding
from mockcheck.model.played import PlayedScore
from mockcheck.model.session import Session
from mockcheck.read import read_bytes
from mockcheck.read.roles import assign_roles
from tests.phrases import midi_bytes

Event = tuple[int, int, mido.Message | mido.MetaMessage]


def by_hand(
    *parts: str,
    late_ms: float = 0.0,
    touch: float = 0.0,
    tracks: tuple[int, ...] | None = None,
    seed: int = 1,
) -> PlayedScore:
    """Phrases played, each note off by a normal error in time (ms) and in velocity (steps).

    `tracks` names the phrases, from 0, that a hand plays; the others stay as written.
    """
    rng = Random(seed)
    file = mido.MidiFile(file=io.BytesIO(midi_bytes(*parts)))
    tempo = next(message.tempo for message in file.tracks[0] if message.type == "set_tempo")
    ticks_per_ms = 1000 * file.ticks_per_beat / tempo
    for number, track in enumerate(file.tracks[1:]):
        if tracks is None or number in tracks:
            _play_in(track, rng, late_ms * ticks_per_ms, touch)
    out = io.BytesIO()
    file.save(file=out)
    score = read_bytes(out.getvalue(), "by_hand.mid")
    session = Session()
    return play(score, session, assign_roles(score, ()))


def found_in(check_id: str, score: PlayedScore) -> list[Finding]:
    """Run one check over a score; a crash inside it is raised."""
    from mockcheck.checks._registry import all_checks
    from mockcheck.checks._runner import run_checks

    chosen = {check_id: all_checks()[check_id]}
    return list(run_checks(score, chosen, raise_crashes=True).findings)


def _play_in(track: mido.MidiTrack, rng: Random, late_ticks: float, touch: float) -> None:
    events: list[Event] = []
    held: dict[int, int] = {}
    tick = 0
    for message in track:
        tick += message.time
        at = tick
        if message.type == "note_on":
            held[message.note] = round(rng.gauss(0, late_ticks))
            at += held[message.note]
            velocity = round(message.velocity + rng.gauss(0, touch))
            message = message.copy(velocity=min(max(velocity, 1), 127))  # noqa: PLW2901  # played
        elif message.type == "note_off":
            at += held.pop(message.note)
        if message.type != "end_of_track":
            events.append((max(at, 0), len(events), message))
    before = 0
    track.clear()
    for at, _, message in sorted(events, key=lambda event: event[:2]):
        track.append(message.copy(time=at - before))
        before = at
