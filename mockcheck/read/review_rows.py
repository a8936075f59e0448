"""The rows of the review: one for each track, or for each channel that is a player of its own."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mockcheck.model.notes import Notes
from mockcheck.model.score import Score, Track
from mockcheck.read.programs import program_says
from mockcheck.read.track_names import ENSEMBLE, read_name

_FEWEST_MPE_CHANNELS = 3
_FEWEST_MPE_NOTES_PER_CHANNEL = 4
_MOST_OVERLAP_IN_MPE = 0.02
_MOST_REGISTER_IN_MPE = 0.25


@dataclass(frozen=True)
class ReviewRow:
    """One row of the track list before anybody is seated at it.

    Parameters
    ----------
    index
        Row number, from 0.
    channels
        Channels 1..16 whose notes belong to it, rising.
    name
        What the track list shows.
    texts
        Names that may say who plays, the most telling first, each with where it stands.
    notes
        Its notes alone.
    """

    index: int
    track: Track
    channels: tuple[int, ...]
    name: str
    texts: tuple[tuple[str, str], ...]
    notes: Notes


def review_rows(score: Score) -> tuple[ReviewRow, ...]:
    """Whoever has a track of their own, or a channel of a shared one, is a player to review.

    Tracks without notes keep their row, so that row and track numbers agree where they can.
    """
    sounding = [track.index for track in score.tracks if len(track.notes)]
    rows: list[ReviewRow] = []
    for track in score.tracks:
        channels = _channels(track)
        if len(channels) > 1 and _is_shared(track, channels, score.smf_format, sounding):
            for channel in channels:
                rows.append(_channel_row(len(rows), track, channel))
        else:
            rows.append(_track_row(len(rows), track, channels))
    return tuple(rows)


def _channels(track: Track) -> tuple[int, ...]:
    return tuple(int(channel) for channel in np.unique(track.notes.channel))


def _track_row(index: int, track: Track, channels: tuple[int, ...]) -> ReviewRow:
    return ReviewRow(
        index=index,
        track=track,
        channels=channels or tuple(sorted(track.channels)),
        name=_shown_name(track) or f"track {track.index + 1}",
        texts=_texts(track),
        notes=track.notes,
    )


def _channel_row(index: int, track: Track, channel: int) -> ReviewRow:
    name = _shown_name(track) or f"track {track.index + 1}"
    says = read_name(track.name or "")
    # A name over several channels speaks for each of them only when it is one instrument's.
    is_theirs = says.instrument not in (None, ENSEMBLE) and not says.is_title
    is_theirs = is_theirs and not _programs_differ(track, _channels(track), is_one_instrument=True)
    return ReviewRow(
        index=index,
        track=track,
        channels=(channel,),
        name=f"{name}, channel {channel}",
        texts=_texts(track) if is_theirs else (),
        notes=track.notes.select(track.notes.channel == channel),
    )


def _shown_name(track: Track) -> str:
    return (track.name or "").strip(" \0\t\r\n")


def _texts(track: Track) -> tuple[tuple[str, str], ...]:
    sources = (
        ("name", track.name),
        ("instrument name", track.instrument_name),
        ("program name", track.program_name),
        ("device name", track.device_name),
    )
    return tuple((source, text) for source, text in sources if text)


def _is_shared(
    track: Track, channels: tuple[int, ...], smf_format: int, sounding: list[int]
) -> bool:
    """True when the channels of a track are players of their own."""
    if track.mpe is not None or _looks_like_mpe(track, channels):
        return False
    says = read_name(track.name or "")
    is_one_instrument = says.instrument not in (None, ENSEMBLE) and not says.is_doubtful
    if _programs_differ(track, channels, is_one_instrument):
        return True
    # Channels of one named instrument are its strokes.
    return smf_format == 0 or (sounding == [track.index] and not is_one_instrument)


def _programs_differ(track: Track, channels: tuple[int, ...], is_one_instrument: bool) -> bool:
    """True when two channels carry programs of different instruments.

    Under the name of one instrument, programs of other things are taken for its strokes.
    """
    said = [program_says(track.notes.select(track.notes.channel == c)) for c in channels]
    strings = {says.label for says in said if says is not None and says.instrument is not None}
    others = {says.label for says in said if says is not None and says.instrument is None}
    if len(strings - {ENSEMBLE}) > 1 or (strings and others):
        return True
    return len(others) > 1 and not is_one_instrument


def _looks_like_mpe(track: Track, channels: tuple[int, ...]) -> bool:
    """Notes dealt out over channels one by one, so that each can bend alone.

    Source: MIDI Polyphonic Expression 1.0, sections 2.2 and 2.3: every sounding note has a
    channel of its own, and bends are sent on it. Channels of different players differ in
    register, those of one MPE part do not.
    """
    notes = track.notes
    if len(channels) < _FEWEST_MPE_CHANNELS:
        return False
    if len(notes) < _FEWEST_MPE_NOTES_PER_CHANNEL * len(channels):
        return False
    bending = sum(len(track.curves(channel).bend_cents) > 0 for channel in channels)
    if 2 * bending < len(channels):
        return False
    overlaps = sum(_overlapping(notes.select(notes.channel == c)) for c in channels)
    is_one_by_one = overlaps <= _MOST_OVERLAP_IN_MPE * len(notes)
    return is_one_by_one and _share_of_register(notes, channels) <= _MOST_REGISTER_IN_MPE


def _overlapping(notes: Notes) -> int:
    return int(np.sum(notes.onset_ticks[1:] < np.maximum.accumulate(notes.release_ticks)[:-1]))


def _share_of_register(notes: Notes, channels: tuple[int, ...]) -> float:
    """Share of the variance of pitch that the channel explains, 0-1."""
    pitch = notes.pitch.astype(np.float64)
    total = float(np.sum((pitch - pitch.mean()) ** 2))
    between = 0.0
    for channel in channels:
        own = pitch[notes.channel == channel]
        between += len(own) * float(own.mean() - pitch.mean()) ** 2
    return between / total if total > 0 else 0.0
