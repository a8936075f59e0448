"""What in the notes of a track looks like a slip of the writer, and is kept as it stands."""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.notes import Notes
from mockcheck.model.score import ReadWarning, Track
from mockcheck.model.time import TempoMap
from mockcheck.read.raw import RawTrack, counted

LONG_GAP_S = 3600.0
"""Longer than any rest in a score. Our choice, no source."""

_DRUM_CHANNEL = 10
_BOWED_PROGRAMS = frozenset({40, 41, 42, 43, 44, 45, 48, 49, 50, 51})
"""Violin to pizzicato and the string ensembles. Source: General MIDI System Level 1, sound set."""

_STRING_WORDS = re.compile(
    r"string|viol|fiddle|cell[oi]|contrabass|double ?bass|streich|geige|bratsche|kontraba(ss|ß)"
    r"|archi|cordes|\b(vl[ans]?|vn[s]?|vc[s]?|vla[s]?|cb)\b",
    re.IGNORECASE,
)
"""Words that name bowed strings in English, German, Italian and French, and usual short forms."""


_TEXTS = {
    "zero-length-notes": (
        "note",
        "Kept {} of length 0, with key down and key up at one tick. Lengthen or delete such notes"
        " in the sequencer.",
    ),
    "same-key-overlap": (
        "note",
        "Found {} struck while the same key was still down. The file does not say which key up is"
        " whose, so the first struck was released first. Shorten the note before.",
    ),
    "hanging-notes": (
        "note",
        "Found {} without a key up, held to the end of the track. End such notes in the sequencer.",
    ),
    "note-off-without-note": (
        "key up",
        "Ignored {} for which no key was down. If notes are missing, export the file from further"
        " ahead.",
    ),
    "bend-left-over": (
        "note",
        "Found {} beginning with a bend left over from the note before. Set the bend back to the"
        " middle where that is not meant.",
    ),
}
"""What is counted, and what to say of it, by warning code."""


def find_oddities(
    track: Track, note_offsets: NDArray[np.int64], stray_offsets: NDArray[np.int64]
) -> list[ReadWarning]:
    """Notes that a player would ask about: empty, doubled, endless, or out of tune at the start.

    Parameters
    ----------
    track
        The track as it was read.
    note_offsets
        Byte offset of the note on of each note, shape (n,).
    stray_offsets
        Byte offsets of key ups for which no key was down.

    Each kind is reported once for a track, at its first place.
    """
    notes = track.notes
    found = {
        "zero-length-notes": note_offsets[notes.release_ticks == notes.onset_ticks],
        "same-key-overlap": note_offsets[_overlaps_same_key(notes)],
        "hanging-notes": note_offsets[notes.hanging],
        "note-off-without-note": stray_offsets,
        "bend-left-over": note_offsets[_begins_bent(track)],
    }
    warnings = []
    for code, offsets in found.items():
        if len(offsets):
            what, text = _TEXTS[code]
            message = text.format(counted(len(offsets), what))
            warnings.append(ReadWarning(code, message, track.index, int(offsets.min())))
    if _is_strings_on_drum_channel(track):
        text = (
            "Channel 10 is percussion in General MIDI, but the name or program speaks of strings;"
            " the notes were kept as strings. Move the track to another channel."
        )
        on_drums = note_offsets[notes.channel == _DRUM_CHANNEL]
        warnings.append(ReadWarning("channel-10", text, track.index, int(on_drums[0])))
    return warnings


def find_long_gap(raw: RawTrack, tempo: TempoMap) -> list[ReadWarning]:
    """An hour without any event is no music; it looks like a negative time written unsigned."""
    gaps = np.diff(raw.event_ticks, prepend=0)
    longest_s = float(gaps.max(initial=0)) * float(tempo.seconds_per_tick.max())
    if longest_s <= LONG_GAP_S:
        return []
    long = np.diff(tempo.seconds_at(raw.event_ticks), prepend=0.0) > LONG_GAP_S
    if not long.any():
        return []
    text = (
        f"Found {counted(int(long.sum()), 'gap')} of more than an hour between two events, which"
        " is hard to believe. The time was read as it stands; check the places of what follows."
    )
    offset = int(raw.event_offsets[np.argmax(long)])
    return [ReadWarning("long-gap", text, raw.index, offset)]


def _overlaps_same_key(notes: Notes) -> NDArray[np.bool_]:
    """Notes that begin before the release of an older one on their channel and key."""
    found = np.zeros(len(notes), np.bool_)
    key = notes.channel.astype(np.int64) * 128 + notes.pitch
    order = np.lexsort((notes.event_index, key))
    is_same = np.diff(key[order]) == 0
    is_early = notes.onset_ticks[order][1:] < notes.release_ticks[order][:-1]
    found[order[1:][is_same & is_early]] = True
    return found


def _begins_bent(track: Track) -> NDArray[np.bool_]:
    """Notes whose bend was sent earlier, while another note sounded on the channel.

    In an MPE zone a bend belongs to the note that follows it, so nothing is left over there.
    """
    notes = track.notes
    found = np.zeros(len(notes), np.bool_)
    for channel, curves in track.channels.items():
        bends = curves.bend_cents
        rows = np.flatnonzero(notes.channel == channel)
        if not len(bends) or not len(rows) or track.mpe is not None:
            continue
        onsets, releases = notes.onset_ticks[rows], np.sort(notes.release_ticks[rows])
        latest = np.searchsorted(bends.ticks, onsets, side="right") - 1
        sent = bends.ticks[latest]
        sounding = np.searchsorted(onsets, sent, side="right")
        sounding -= np.searchsorted(releases, sent, side="right")
        is_bent = (latest >= 0) & (bends.values[latest] != 0)
        found[rows] = is_bent & (sent < onsets) & (sounding > 0)
    return found


def _is_strings_on_drum_channel(track: Track) -> bool:
    on_drums = track.notes.channel == _DRUM_CHANNEL
    names = f"{track.name or ''} {track.instrument_name or ''}"
    speaks = _STRING_WORDS.search(names) is not None
    programs = set(track.notes.program[on_drums].tolist())
    return bool(on_drums.any()) and (speaks or bool(programs & _BOWED_PROGRAMS))
