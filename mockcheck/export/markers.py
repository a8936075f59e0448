"""A MIDI file of markers, to be imported on top of the project: what was found, and where."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from mockcheck.export._ascii import to_ascii
from mockcheck.model.finding import Finding
from mockcheck.model.review import Review
from mockcheck.model.score import Score
from mockcheck.model.time import Timeline
from mockcheck.model.words import shortened

if TYPE_CHECKING:
    import mido

LONGEST_TEXT = 120
"""Characters in a marker; what does not fit is counted at its end."""
LONGEST_PART = 24
"""Characters of a part's name in it."""

_PATTERNS = 2
"""The format whose tracks have each a time of their own."""
_FRAME_RATES = ((24, 24.0), (25, 25.0), (29, 30000 / 1001), (30, 30.0))
"""As a division counts them, and frames a second; an equal one where several fit.

Source: Standard MIDI Files 1.0, Header Chunks.
"""
_MICROSECONDS = 1_000_000


def marker_file(review: Review) -> mido.MidiFile:
    """Tempo, bars and markers of a review, and nothing else.

    Returns
    -------
    A file with the division and the tempo and metre map of the one reviewed, and one marker for
    each bar with findings: at the tick where the first of them begins, worst named first, in plain
    ASCII of at most `LONGEST_TEXT` characters. A finding alone in its bar so has a marker of its
    own at its tick. What the brief accepts has none.

    Where the file names no tempo there is none here either, unless the brief names it: importing
    markers must not change the tempo of a project. Where it names no metre there is the 4/4 that
    such a file means. Frames (SMPTE) have neither tempo nor bars: markers are then merged by the
    second. Of a file of patterns (format 2) each has a track with its own tempo and markers.

    Source: Standard MIDI Files 1.0: Set Tempo, Time Signature, Marker.
    Not modelled: clocks in a click of the time signatures; they are the usual ones.
    """
    import mido

    score = review.played.score
    open_ones = [finding for finding in review.findings if finding.accepted is None]
    is_patterns = score.smf_format == _PATTERNS
    midi = mido.MidiFile(type=_PATTERNS if is_patterns else 1, ticks_per_beat=_division(score))
    if not is_patterns:
        midi.tracks.append(_track(review, score.timeline, open_ones))
        return midi
    chunk_of = {role.index: role.track_index for role in review.played.roles}
    for track in score.tracks:
        own = [finding for finding in open_ones if chunk_of[finding.track] == track.index]
        midi.tracks.append(_track(review, track.timeline, own))
    return midi


def _division(score: Score) -> int:
    """The division as the header writes it; frames a second stand there as a negative number."""
    if score.ticks_per_quarter is not None:
        return score.ticks_per_quarter
    assert score.ticks_per_second is not None, "a file counts quarters or frames"
    for frames, per_second in _FRAME_RATES:
        ticks = score.ticks_per_second / per_second
        if abs(ticks - round(ticks)) < 1e-6 and 1 <= round(ticks) <= 255:
            return -256 * frames + round(ticks)
    message = "a division in frames is always a whole number of ticks of one of four rates"
    raise AssertionError(message)


def _track(review: Review, timeline: Timeline, findings: Sequence[Finding]) -> mido.MidiTrack:
    import mido

    events = [*_tempos(review, timeline), *_metres(timeline)]
    for own in _by_bar(findings):
        text = _text(review, own)
        events.append((own[0].start.tick, mido.MetaMessage("marker", text=text)))
    track, before = mido.MidiTrack(), 0
    for tick, message in sorted(events, key=lambda event: event[0]):
        track.append(message.copy(time=tick - before))
        before = tick
    track.append(mido.MetaMessage("end_of_track"))
    return track


def _tempos(review: Review, timeline: Timeline) -> list[tuple[int, mido.MetaMessage]]:
    import mido

    tempo = timeline.tempo
    if not tempo.bpm or (tempo.assumed and review.played.session.tempo_bpm is None):
        return []
    per_quarter = [round(60 * _MICROSECONDS / bpm) for bpm in tempo.bpm]
    return [
        (tick, mido.MetaMessage("set_tempo", tempo=microseconds))
        for tick, microseconds in zip(tempo.ticks.tolist(), per_quarter, strict=True)
    ]


def _metres(timeline: Timeline) -> list[tuple[int, mido.MetaMessage]]:
    import mido

    meter = timeline.meter
    if meter is None:
        return []
    columns = (meter.ticks.tolist(), meter.numerators.tolist(), meter.denominators.tolist())
    return [
        (tick, mido.MetaMessage("time_signature", numerator=beats, denominator=value))
        for tick, beats, value in zip(*columns, strict=True)
    ]


def _by_bar(findings: Iterable[Finding]) -> list[list[Finding]]:
    """Findings of one bar, in order of time; of one second where there are no bars."""
    bars: dict[int, list[Finding]] = {}
    for finding in sorted(findings, key=lambda finding: finding.start.tick):
        place = finding.start
        bar = place.bar if place.bar is not None else int(place.time_s)
        bars.setdefault(bar, []).append(finding)
    return list(bars.values())


def _text(review: Review, findings: Sequence[Finding]) -> str:
    if len(findings) == 1:
        (finding,) = findings
        text = f"{finding.severity.label}, {_part(review, finding)}: {to_ascii(finding.message)}"
        return shortened(text, LONGEST_TEXT)
    return _summary(review, findings)


def _summary(review: Review, findings: Sequence[Finding]) -> str:
    """'4 findings: impossible, Viola: note below open string (2); risky, ...; and 1 more'."""
    worst_first = sorted(findings, key=lambda finding: -finding.severity)
    kinds = Counter(
        f"{f.severity.label}, {_part(review, f)}: {f.check.replace('-', ' ')}" for f in worst_first
    )
    text, left = f"{len(findings)} findings: ", len(findings)
    for number, (words, count) in enumerate(kinds.items()):
        item = ("; " if number else "") + words + (f" ({count})" if count > 1 else "")
        rest = f"; and {left - count} more" if left > count else ""
        if len(text) + len(item) + len(rest) > LONGEST_TEXT:
            return f"{text}; and {left} more"
        text, left = text + item, left - count
    return text


def _part(review: Review, finding: Finding) -> str:
    """The part's name; its instrument where the name has no letter left in ASCII."""
    name = to_ascii(finding.part)
    if not any(sign.isalpha() for sign in name):
        part = review.played.part_of_role()[finding.track]
        name = f"{part.instrument.id} {name}".rstrip()
    return shortened(name, LONGEST_PART)
