"""Which noteless tracks speak for which tracks with notes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.score import ReadWarning
from mockcheck.read.parameters import read_parameters
from mockcheck.read.raw import NOTE_ON, PROGRAM, Messages, RawTrack, counted, join_messages
from mockcheck.read.text import track_label

_DEVICE_NAME = 0x09


@dataclass(frozen=True)
class Handover:
    """What is played on one track: its own messages, joined with those of noteless tracks.

    `sources` are the noteless tracks, lowest number first.
    """

    messages: Messages
    sources: tuple[int, ...]


def hand_over(tracks: Sequence[RawTrack]) -> tuple[list[Handover], list[ReadWarning]]:
    """Controllers may stand on a track of their own beside the notes.

    A port and a channel name an instrument, so a noteless track is given to the one track with
    notes on its port and channel. Where there are several, sequencers mean separate instruments
    on one channel, and only the set-up track speaks for all of them: the first noteless one that
    is silent once the music runs and is the file's first track or sends on several channels. Any
    other noteless track with a program is an instrument at rest: its program is not handed on.

    Source: common practice in exports; MIDI 1.0 Detailed Specification 4.2 for the channel.
    """
    given: dict[int, list[tuple[int, Messages]]] = {}
    warnings: list[ReadWarning] = []
    owners = _owners(tracks)
    noteless = [track for track in tracks if len(track.messages) and not track.has_notes]
    first_note = min(
        (int(t.messages.ticks[t.messages.is_note_on][0]) for t in tracks if t.has_notes),
        default=0,
    )
    setup = next((track for track in noteless if _is_setup(track, first_note)), None)
    for track in noteless:
        receivers: set[int] = set()
        contested = 0
        for playing, rows in _offers(track, owners, with_programs=track is setup):
            if track is setup or len(playing) == 1:
                receivers.update(playing)
                for owner in playing:
                    given.setdefault(owner, []).append((track.index, track.messages.select(rows)))
            else:
                contested += 1
        labels = [track_label(tracks[number]) for number in sorted(receivers)]
        if labels:
            warnings.append(_warn_of_gift(track, labels, is_setup=track is setup))
        elif contested and int(track.messages.ticks[-1]) > first_note:
            warnings.append(_warn_of_contest(track, contested))
    return [_join(track, given.get(track.index, [])) for track in tracks], warnings


def _offers(
    track: RawTrack, owners: dict[tuple[bytes, int], list[int]], *, with_programs: bool
) -> Iterator[tuple[list[int], NDArray[np.bool_]]]:
    """For each port and channel of a noteless track: who plays there, and the rows for them."""
    messages, output = track.messages, _output(track)
    zones = read_parameters(messages).zones
    for place in np.unique(messages.place).tolist():
        playing = owners.get((output, place), [])
        if zone := zones.get(place % 16 + 1):
            # An MPE manager sends to all its members.
            members = [place - place % 16 + channel - 1 for channel in zone.member_channels]
            found = (owners.get((output, member), []) for member in members)
            playing = sorted({*playing, *chain.from_iterable(found)})
        # A key up that closes nothing here must not close a note there.
        rows = (messages.place == place) & (messages.kind > NOTE_ON)
        if not with_programs:
            rows = rows & (messages.kind != PROGRAM)
        if playing and rows.any():
            yield playing, rows


def _output(track: RawTrack) -> bytes:
    """A device name sets the output of a track. Source: RP-019."""
    return next((meta.content for meta in track.metas_of(_DEVICE_NAME)), b"")


def _owners(tracks: Sequence[RawTrack]) -> dict[tuple[bytes, int], list[int]]:
    """Tracks with notes, by output, port and channel."""
    owners: dict[tuple[bytes, int], list[int]] = {}
    for track in tracks:
        played = track.messages.place[track.messages.is_note_on]
        for place in np.unique(played).tolist():
            owners.setdefault((_output(track), place), []).append(track.index)
    return owners


def _is_setup(track: RawTrack, first_note: int) -> bool:
    is_early = int(track.messages.ticks[-1]) <= first_note
    return is_early and (track.index == 0 or len(np.unique(track.messages.place)) > 1)


def _warn_of_gift(track: RawTrack, labels: list[str], *, is_setup: bool) -> ReadWarning:
    what = "settings" if is_setup else "controllers"
    text = (
        f"No notes stand in {track_label(track)}; its {what} were also given to"
        f" {', '.join(labels)} on the same channel. Leave this track out if that is wrong."
    )
    code = "setup-handed-over" if is_setup else "controllers-handed-over"
    return ReadWarning(code, text, track.index, int(track.messages.byte_offset[0]))


def _warn_of_contest(track: RawTrack, contested: int) -> ReadWarning:
    text = (
        f"Controllers but no notes stand in {track_label(track)}, and several tracks play on its"
        f" channel ({counted(contested, 'channel')}), so they were given to none. Write them into"
        " the track they belong to."
    )
    offset = int(track.messages.byte_offset[0])
    return ReadWarning("controllers-without-notes", text, track.index, offset)


def _join(track: RawTrack, given: list[tuple[int, Messages]]) -> Handover:
    """At one tick the noteless tracks come first, so that the track's own messages count."""
    if not given:
        return Handover(track.messages, ())
    joined = join_messages([*(messages for _, messages in given), track.messages])
    order = np.argsort(joined.ticks, kind="stable")
    return Handover(joined.select(order), tuple(sorted({source for source, _ in given})))
