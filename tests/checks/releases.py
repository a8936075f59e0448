"""Phrases whose notes end where a test says, reviewed through the real reading and listening."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass

import mido

from mockcheck.checks._registry import all_checks
from mockcheck.checks._runner import run_checks
from mockcheck.infer import play
from mockcheck.model.finding import Finding
from mockcheck.model.session import Session
from mockcheck.read import read_bytes
from mockcheck.read.roles import assign_roles
from tests.phrases import midi_bytes


@dataclass(frozen=True)
class Sounding:
    """One note of a track: its number, and its onset, release and the next onset, in ticks.

    Behind the last onset the next one is the release.
    """

    number: int
    onset: int
    release: int
    following: int


Release = Callable[[Sounding], float]
"""Where a note shall end, ticks."""


def touching(note: Sounding) -> float:
    """Every note sounds until the next begins, unless a rest of a fifth of it lies between."""
    length = note.release - note.onset
    return note.following if note.following - note.onset < 1.2 * length else note.release


def findings_with_releases(
    check_id: str, *parts: str, release: Release, session: Session | None = None
) -> list[Finding]:
    """Run one check over phrases whose notes end elsewhere; a crash inside it is raised."""
    file = mido.MidiFile(file=io.BytesIO(midi_bytes(*parts)))
    for track in file.tracks:
        _move_releases(track, release)
    out = io.BytesIO()
    file.save(file=out)
    score = read_bytes(out.getvalue(), "phrase.mid")
    session = session or Session()
    heard = play(score, session, assign_roles(score, session.tracks))
    return list(run_checks(heard, {check_id: all_checks()[check_id]}, raise_crashes=True).findings)


def _move_releases(track: mido.MidiTrack, release: Release) -> None:
    tick, begun, notes, others = 0, {}, [], []
    for message in track:
        tick += message.time
        if message.type == "note_on":
            begun[message.note] = (tick, message)
        elif message.type == "note_off":
            notes.append((*begun.pop(message.note), tick))
        else:
            others.append((tick, 0, message))
    notes.sort(key=lambda row: (row[0], row[1].note))
    onsets = sorted({onset for onset, _, _ in notes})
    rows = [row for row in others if row[2].type != "end_of_track"]
    for number, (onset, message, old) in enumerate(notes):
        following = next((later for later in onsets if later > onset), old)
        end = max(round(release(Sounding(number, onset, old, following))), onset + 1)
        rows.append((onset, 2, message))
        rows.append((end, 1, mido.Message("note_off", note=message.note)))
    track.clear()
    before = 0
    for at, _, message in sorted(rows, key=lambda row: row[:2]):
        track.append(message.copy(time=at - before))
        before = at
