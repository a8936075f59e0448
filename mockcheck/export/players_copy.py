"""A copy of the mock-up that players could play: the findings' cures, where they need no composer.

Left out, divided or set back is only what a finding names; no note is invented.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from mockcheck.errors import UnreadableInput
from mockcheck.export._bends import TakenOut, is_melody, kept_regions, straighten
from mockcheck.export._divided import DividedPassage, divide_chords
from mockcheck.export._lines import letter, split_tracks
from mockcheck.export._slides import Choice, choose_slides
from mockcheck.export._source import Chunk, open_source, pair
from mockcheck.export._thinned import ThinRun, thin_runs
from mockcheck.model.finding import Finding, Severity
from mockcheck.model.played import PlayedPart, Role, Slide
from mockcheck.model.review import Review
from mockcheck.model.time import Location

if TYPE_CHECKING:
    import mido

LEFT_OVER = "bend-left-over"
_PATTERNS = 2
"""The format whose tracks are independent: a track more would be a pattern more."""


@dataclass(frozen=True)
class Change:
    """One thing that was altered, or could not be.

    Parameters
    ----------
    part, place
        Where.
    what
        What was done, in words.
    check, finding
        Check id and finding id that asked for it; both empty for pitch nobody was told about.
    before, after
        The notes concerned as they were and as they are.
    """

    part: str
    place: Location
    what: str
    check: str
    finding: str
    before: str
    after: str


@dataclass(frozen=True)
class PlayersCopy:
    """The copy and what is different in it.

    Parameters
    ----------
    midi
        Ready to save.
    changes
        In order of time; what had to be left as it is stands among them.
    renamed
        Names of the tracks that a divided track became, by its old name; a brief that names the
        old one has to name these.
    """

    midi: mido.MidiFile
    changes: tuple[Change, ...]
    renamed: Mapping[str, tuple[str, ...]]


def players_copy(review: Review, content: bytes) -> PlayersCopy:
    """Thin runs, divide chords, take out slides and bends, as the findings suggest.

    Parameters
    ----------
    review
        The review of the file; what its brief accepts is not touched.
    content
        The bytes of the same file.

    Returns
    -------
    A copy in which every note that no finding concerns has its tick, length, key and velocity, as
    have tempo, bars, keys, texts, controllers, switches and all other tracks. A part that divides
    has a track for each line; line a has everything that is not divided. Slides are kept by
    `_slides.choose_slides`, bends by `_bends.kept_regions`.

    Raises
    ------
    UnreadableInput
        The bytes are not those of the file that was reviewed.

    Not modelled: curves that belong to notes left out, and slides that a switch asks for.
    """
    score = review.played.score
    if hashlib.sha256(content).hexdigest() != score.sha256:
        message = f"{score.file}: it has changed since it was reviewed. Review it again first."
        raise UnreadableInput(message)
    midi, chunks = open_source(content, score.file)
    work = _Work(review, chunks)
    for part in review.played.parts:
        work.alter(part)
    work.leave_the_rest()
    renamed: dict[str, tuple[str, ...]] = {}
    for index, chunk in enumerate(chunks):
        lines = {
            r.index: (r, work.lines[r.index]) for r in work.rows(index) if r.index in work.lines
        }
        if lines:
            tracks, names = split_tracks(chunk, lines, is_alone=len(work.rows(index)) == 1)
            renamed |= names
            midi.tracks += tracks
        else:
            midi.tracks.append(chunk.track())
    if renamed and midi.type == 0:
        midi.type = 1
    changes = sorted(work.changes, key=lambda c: (c.place.time_s, c.part, c.check))
    return PlayersCopy(midi, tuple(changes), renamed)


@dataclass
class _Work:
    """What is done so far."""

    review: Review
    chunks: list[Chunk]
    changes: list[Change] = field(default_factory=list)
    lines: dict[int, dict[int, int]] = field(default_factory=dict)
    done: set[str] = field(default_factory=set)

    def rows(self, chunk: int) -> list[Role]:
        """Rows of the track list that a chunk holds."""
        return [role for role in self.review.played.roles if role.track_index == chunk]

    def alter(self, part: PlayedPart) -> None:
        """Everything that one part needs."""
        for role in part.roles:
            chunk = self.chunks[role.track_index]
            if not chunk.off_of:
                pair(chunk, self.review.played.score.tracks[role.track_index].notes)
        for run in thin_runs(self.review, part):
            self._thin(part, run)
        if self.review.played.score.smf_format != _PATTERNS:
            for passage in divide_chords(self.review, part):
                self._divide(part, passage)
        self._straighten(part, choose_slides(self.review, part))

    def leave_the_rest(self) -> None:
        """What nobody can play and a copy cannot cure."""
        parts = {part.name: part for part in self.review.played.parts}
        for finding in self.review.findings:
            is_open = finding.accepted is None and finding.severity is Severity.IMPOSSIBLE
            if is_open and finding.id not in self.done:
                part = parts[finding.part]
                notes = " ".join(part.pitch_name(pitch) for pitch in finding.pitches)
                self._say(
                    finding,
                    f"left as it is, for you to decide: {_as_clause(finding.suggestion)}",
                    notes,
                    notes,
                )

    def _thin(self, part: PlayedPart, run: ThinRun) -> None:
        for note in run.left_out:
            self._chunk_of(part, note).take_out(int(part.notes.event_index[note]))
        for note, (onset, release) in run.moved.items():
            self._chunk_of(part, note).move(int(part.notes.event_index[note]), onset, release)
        kept, gone = len(run.after), len(run.before) - len(run.after)
        spaced = ", the others evenly spaced" if run.moved else ""
        what = f"{gone} of {kept + gone} notes left out{spaced}"
        self._say(run.finding, what, _names(part, run.before), _names(part, run.after))
        self._share_done(part, run)

    def _share_done(self, part: PlayedPart, run: ThinRun) -> None:
        """Findings on stretches of the same run are dealt with by it."""
        begin, end = (int(part.notes.onset_ticks[n]) for n in (run.before[0], run.before[-1]))
        for finding in self.review.findings:
            is_same = finding.check == run.finding.check and finding.part == part.name
            if is_same and begin <= finding.start.tick <= end:
                self.done.add(finding.id)

    def _divide(self, part: PlayedPart, passage: DividedPassage) -> None:
        for note, number in passage.line.items():
            row = int(part.track[note])
            music = part.notes.event_index[part.track == row].tolist()
            line = self.lines.setdefault(row, dict.fromkeys(music, 0))
            line[int(part.notes.event_index[note])] = number
        count = max(passage.line.values()) + 1
        before = ", ".join(
            "+".join(part.pitch_name(part.notes.pitch[note]) for note in notes)
            for notes in passage.chords
        )
        own = [
            sorted({n for notes in passage.chords for n in notes if passage.line[n] == number})
            for number in range(count)
        ]
        after = "; ".join(f"{letter(n)}: {_names(part, notes)}" for n, notes in enumerate(own))
        self._say(passage.finding, f"divided in {count}, a track each", before, after)

    def _straighten(self, part: PlayedPart, choices: Sequence[Choice]) -> None:
        dropped = [s for choice in choices for s in choice.dropped if _can_go(s)]
        taken = {
            role.index: [
                bend
                for channel in role.channels
                for bend in self._straighten_channel(part, role, channel, dropped)
            ]
            for role in part.roles
        }
        for choice in choices:
            self._say_slides(part, choice)
        rest = [b for r in part.roles for b in self._say_bends(part, r, taken[r.index], dropped)]
        if rest:
            cents = max((b.cents for b in rest), key=abs)
            place = part.locate_onset(min(b.tick for b in rest))
            what = "bends that are no slide and no vibrato set back to the middle"
            row = Change(part.name, place, what, "", "", f"up to {_off(cents)}", "in tune")
            self.changes.append(row)

    def _straighten_channel(
        self, part: PlayedPart, role: Role, channel: int, dropped: Sequence[Slide]
    ) -> list[TakenOut]:
        track = self.review.played.score.tracks[role.track_index]
        accepted = [
            finding
            for finding in self.review.findings
            if (finding.check, finding.track) == (LEFT_OVER, role.index) and finding.accepted
        ]
        regions = kept_regions(part, role, dropped, accepted)
        chunk = self.chunks[role.track_index]
        return straighten(chunk, channel, track, regions)

    def _say_slides(self, part: PlayedPart, choice: Choice) -> None:
        gone = [slide for slide in choice.dropped if _can_go(slide)]
        rest = [slide for slide in choice.dropped if not _can_go(slide)]
        kept = [one.slide for one in choice.kept]
        every = sorted([*kept, *choice.dropped], key=lambda slide: slide.onset_ticks)
        left = sorted([*kept, *rest], key=lambda slide: slide.onset_ticks)
        before, after = _slide_names(part, every), _slide_names(part, left)
        if gone:
            why = ", ".join(dict.fromkeys(one.reason for one in choice.kept))
            what = f"{len(gone)} of {len(every)} slides taken out; kept is the one {why}"
            if len(kept) > 1:
                what = f"{len(gone)} of {len(every)} slides taken out; kept are those {why}"
            self._say(choice.finding, what, before, after)
        if rest:
            what = (
                f"{len(rest)} slides left as they are: the sampler makes them; take them out there"
            )
            self._say(choice.finding, what, _slide_names(part, rest), _slide_names(part, rest))

    def _say_bends(
        self, part: PlayedPart, role: Role, taken: list[TakenOut], dropped: Sequence[Slide]
    ) -> list[TakenOut]:
        """Bends left over, a line for each finding; returns the bends that no finding names."""
        spans = [_reach(part, slide) for slide in dropped if slide.track == role.index]
        rest = [b for b in taken if not any(a <= b.tick <= z for a, z in spans)]
        for finding in self.review.findings:
            if (finding.check, finding.track) != (LEFT_OVER, role.index) or finding.accepted:
                continue
            standing = [b for b in rest if b.tick < finding.end.tick]
            own = [b for b in standing if b.tick > finding.start.tick] or standing[-1:]
            if own:
                notes = " ".join(part.pitch_name(pitch) for pitch in finding.pitches)
                cents = max((b.cents for b in own), key=abs)
                self._say(finding, "bend set back to the middle", f"{notes} {_off(cents)}", notes)
                rest = [b for b in rest if b not in own]
        return rest

    def _say(self, finding: Finding, what: str, before: str, after: str) -> None:
        self.done.add(finding.id)
        row = Change(finding.part, finding.start, what, finding.check, finding.id, before, after)
        self.changes.append(row)

    def _chunk_of(self, part: PlayedPart, note: int) -> Chunk:
        row = int(part.track[note])
        return self.chunks[next(r.track_index for r in part.roles if r.index == row)]


def _can_go(slide: Slide) -> bool:
    """Only a drawn bend can be taken out, and only where the key it leads to is there."""
    return slide.source == "bend" and not is_melody(slide)


def _reach(part: PlayedPart, slide: Slide) -> tuple[int, int]:
    """From the note that a slide leaves to the end of the one it leads to, ticks."""
    notes = [note for note in (slide.from_note, slide.to_note) if note >= 0]
    begins = [int(part.notes.onset_ticks[note]) for note in notes]
    ends = [int(part.notes.release_ticks[note]) for note in notes]
    return min([slide.onset_ticks, *begins]), max([slide.release_ticks, *ends])


def _names(part: PlayedPart, notes: Sequence[int]) -> str:
    return " ".join(part.pitch_name(part.notes.pitch[note]) for note in notes)


def _slide_names(part: PlayedPart, slides: Sequence[Slide]) -> str:
    ends = ((part.pitch_name(s.from_pitch), part.pitch_name(s.to_pitch)) for s in slides)
    return ", ".join(f"{first} to {last}" for first, last in ends)


def _off(cents: float) -> str:
    return f"{abs(cents):.0f} cents {'sharp' if cents > 0 else 'flat'}"


def _as_clause(suggestion: str) -> str:
    return f"{suggestion[:1].lower()}{suggestion[1:].rstrip('.')}"
