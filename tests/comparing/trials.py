"""One edit of one excerpt, reviewed before and after, and which findings truly are the same."""

from __future__ import annotations

import tempfile
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from random import Random

import mockcheck
from mockcheck.model.finding import Finding
from mockcheck.model.review import Review
from tests.accuracy.corpus import Work
from tests.accuracy.faults.kinds import make_fault
from tests.accuracy.metamorphic import MIXTURE
from tests.accuracy.midi_music import Music, Note, write_music
from tests.accuracy.recall import Place, clean_music
from tests.comparing.edits import EDITS, Edited, Origin, replaced_by, untouched

SEED = "mockcheck comparing 1"
EXCERPT_BARS = 36
FEWEST_FAULTS, MOST_FAULTS = 4, 10
SAME_FROM = 0.5
"""Share of all notes of two findings that they must have in common to be the same."""
FIXED = "a fault fixed"
KINDS = (*EDITS, FIXED, "several")


@dataclass(frozen=True)
class Trial:
    """An edit with both reviews; `truth` gives for each new finding the row of the old one."""

    kind: str
    words: str
    before: Music
    edited: Edited
    old: Review
    new: Review

    @cached_property
    def truth(self) -> dict[int, int]:
        """Pairs of new and old findings: the same check on mostly the same notes."""
        old = [self._origins(finding, is_new=False) for finding in self.old.findings]
        new = [self._origins(finding, is_new=True) for finding in self.new.findings]
        scored = []
        for row, (finding, notes) in enumerate(zip(self.new.findings, new, strict=True)):
            for other, (before, its) in enumerate(zip(self.old.findings, old, strict=True)):
                share = len(notes & its) / max(len(notes | its), 1)
                if finding.check == before.check and share >= SAME_FROM:
                    scored.append((-share, row, other))
        pairs: dict[int, int] = {}
        for _, row, other in sorted(scored):
            if row not in pairs and other not in pairs.values():
                pairs[row] = other
        return pairs

    def notes_of(self, finding: Finding, *, is_new: bool) -> list[tuple[Origin, Note]]:
        """The notes that begin between the ends of a finding, and what each of them was."""
        review, music = (self.new, self.edited.music) if is_new else (self.old, self.before)
        part = music.part(review.tracks[finding.track].name)
        onsets = [note.onset for note in part.notes]
        first = bisect_left(onsets, finding.start.tick)
        last = bisect_left(onsets, max(finding.end.tick, finding.start.tick + 1))
        # A slide can lie between two onsets; it belongs to the note that sounds.
        rows = range(first, last) if first < last else range(max(first - 1, 0), first)
        origins = self.edited.origins[part.name] if is_new else ()
        return [(origins[row] if is_new else (part.name, row), part.notes[row]) for row in rows]

    def _origins(self, finding: Finding, *, is_new: bool) -> set[tuple[str, int]]:
        """The old notes of a finding; notes that came in count, each for itself."""
        notes = self.notes_of(finding, is_new=is_new)
        return {origin or (f"came in, {note.pitch}", note.onset) for origin, note in notes}


def _review(music: Music, players: int | None) -> Review:
    brief = {} if players is None else {"tracks": [{"match": "*", "players": players}]}
    with tempfile.TemporaryDirectory() as folder:
        return mockcheck.review(write_music(music, Path(folder) / "music.mid"), brief)


def draw_trial(works: Sequence[Work], number: int) -> Trial:
    """A faulty excerpt before and after one edit, or two of different kinds."""
    chance = Random(f"{SEED} {number}")
    # Neighbours share their kind, so that either half of the trials has all kinds.
    kind = KINDS[number // 2 % len(KINDS)]
    place = _place(works, chance)
    clean = clean_music(place)
    players = chance.choice((None, 1))
    bars = sorted(
        chance.sample(range(2, EXCERPT_BARS - 2), chance.randint(FEWEST_FAULTS, MOST_FAULTS))
    )
    faults = [(chance.choice(MIXTURE), bar) for bar in bars]
    music = _with_faults(clean, faults, number)
    edited = untouched(music)
    if kind == FIXED or (kind == "several" and chance.random() < 0.5):
        gone = chance.choice(faults)
        fewer = [fault for fault in faults if fault is not gone]
        edited = replaced_by(music, _with_faults(clean, fewer, number), f"fixed {gone}")
    names = [kind] if kind in EDITS else []
    if kind == "several":
        names = chance.sample(list(EDITS), 2)
    for name in names:
        edited = EDITS[name](edited, chance)
    words = f"{place.name}: {edited.words.strip('; ')}"
    reviews = (_review(music, players), _review(edited.music, players))
    return Trial(kind, words, music, edited, *reviews)


def _place(works: Sequence[Work], chance: Random) -> Place:
    while True:
        work = chance.choices(works, [work.notes for work in works])[0]
        whole = clean_music(Place(work, 1, is_whole=True))
        last = whole.bar_at(whole.end - 1)
        place = Place(work, chance.randint(1, last - EXCERPT_BARS), EXCERPT_BARS)
        if all(len(part.notes) > EXCERPT_BARS for part in clean_music(place).parts):
            return place


def _with_faults(clean: Music, faults: Sequence[tuple[str, int]], number: int) -> Music:
    music = clean
    for kind, bar in faults:
        fault = make_fault(kind, music, (bar, bar), Random(f"{SEED} {kind} {bar} {number}"))
        music = music if fault is None else fault.music
    return music
