"""Lines with slides drawn by the bend, and with movements of the bend that are no slides.

A slide stands on the note it leaves, on the note it reaches, or half on each. Portamento takes 80
to 250 ms (typical of the published tables the project keeps), glissando more than half a second,
counted from a tenth to nine tenths of the way, which is what is heard as moving.
Beside them: vibrato, drift, corrections of the pitch, bends left over, and joins faster than the
60 ms below which measured joins of violinists are ordinary.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from random import Random

from tests.listening.bending import Glide, NoteBend, Steps, Vibrato, draw_bends, whole_s
from tests.listening.clock import Clock
from tests.listening.midi_file import Chunk
from tests.listening.truth import Distractor, TrueSlide

RANGES = (1, 2, 12, 24, 48)
MPE_RANGE = 48
_PORTAMENTO_S, _GLISSANDO_S = (0.08, 0.25), (0.55, 1.2)
_SCOOP_S, _FALL_S, _QUICK_S = (0.08, 0.2), (0.15, 0.4), (0.015, 0.05)
_STEEPNESS = (5.0, 8.0)
_LEAST_CENTS = 100
_WIDEST_SEMITONES = 12
_MOST_OF_A_NOTE = 0.55
_MEMBERS = tuple(range(1, 16))


@dataclass(frozen=True)
class LineNote:
    """One note of a line in seconds; `is_joined` when it leads on to the next without a rest."""

    onset_s: float
    release_s: float
    pitch: int
    velocity: int
    is_joined: bool


@dataclass
class Slid:
    """The bends of a line and the truth about them, in seconds and by note number."""

    bends: list[NoteBend]
    slides: list[tuple[float, float, float, float, str, int]] = field(default_factory=list)
    distractors: list[tuple[float, float, str]] = field(default_factory=list)


class Sliding:
    """Deals out movements over a line."""

    def __init__(self, notes: Sequence[LineNote], range_semitones: int, rng: Random) -> None:
        self.notes = notes
        self.most_cents = 100.0 * range_semitones
        self.rng = rng
        ends = [note.onset_s for note in notes[1:]] + [float("inf")]
        self.slid = Slid(
            [
                NoteBend(note.onset_s, end if note.is_joined else note.release_s)
                for note, end in zip(notes, ends, strict=True)
            ]
        )
        self._taken = [False] * len(notes)

    def deal(self) -> Slid:
        """Every note and join gets at most one movement, and perhaps vibrato besides."""
        for place, note in enumerate(self.notes):
            chance = self.rng.random()
            if note.is_joined and place + 1 < len(self.notes):
                if chance < 0.3:
                    self._slide(place)
                elif chance < 0.4:
                    self._quick_join(place)
            elif chance < 0.3:
                self._fall(place)
            if place and not self.notes[place - 1].is_joined and self.rng.random() < 0.3:
                self._scoop(place)
        for place in range(len(self.notes)):
            self._colour(place)
        return self.slid

    def _length_s(self, place: int) -> float:
        return self.notes[place].release_s - self.notes[place].onset_s

    def _duration_s(self, place: int, limits: tuple[float, float]) -> tuple[float, float] | None:
        """Time of a whole movement and its steepness; it leaves the note some time of its own."""
        steepness = self.rng.uniform(*_STEEPNESS)
        least_s, most_s = (whole_s(limit_s, steepness) for limit_s in limits)
        most_s = min(most_s, _MOST_OF_A_NOTE * self._length_s(place))
        return (self.rng.uniform(least_s, most_s), steepness) if most_s > least_s else None

    def _move(self, place: int, glide: Glide) -> None:
        self.slid.bends[place].moves.append(glide)
        self._taken[place] = True

    def _slide(self, place: int) -> None:
        one, two = self.notes[place], self.notes[place + 1]
        cents = 100.0 * (two.pitch - one.pitch)
        way = self.rng.choice(("leaving", "arriving", "halves"))
        reach = self.most_cents * (2 if way == "halves" else 1)
        kind = "glissando" if self.rng.random() < 0.3 else "portamento"
        shorter = min((place, place + 1), key=self._length_s)
        carrier = {"leaving": place, "arriving": place + 1}.get(way, shorter)
        limits = _GLISSANDO_S if kind == "glissando" else _PORTAMENTO_S
        duration = self._duration_s(carrier, limits)
        fits = _LEAST_CENTS <= abs(cents) <= min(reach, 100 * _WIDEST_SEMITONES)
        if duration is None or not fits or self._taken[place]:
            return
        duration_s, steepness = duration
        share = {"leaving": 1.0, "arriving": 0.0}.get(way, 0.5)
        # Drawn by hand, it arrives at the next note or a little before.
        late_s = self.rng.uniform(0.004, 0.015) if way == "leaving" else 0.0
        begin_s = two.onset_s - late_s - share * duration_s
        end_s = begin_s + duration_s
        inflection = 0.5 if way == "halves" else self.rng.uniform(0.4, 0.6)
        if way != "arriving":
            self._move(place, Glide(begin_s, end_s, 0, cents, inflection, steepness))
        if way != "leaving":
            self._move(place + 1, Glide(begin_s, end_s, -cents, 0, inflection, steepness))
        self._taken[place] = self._taken[place + 1] = True
        self.slid.slides.append((begin_s, end_s, one.pitch, two.pitch, kind, place + 1))

    def _quick_join(self, place: int) -> None:
        one, two = self.notes[place], self.notes[place + 1]
        cents = 100.0 * (two.pitch - one.pitch)
        if not 0 < abs(cents) <= self.most_cents or self._taken[place]:
            return
        if self._length_s(place + 1) < 0.15:
            return
        end_s = two.onset_s + self.rng.uniform(*_QUICK_S)
        self._move(place + 1, Glide(two.onset_s, end_s, -cents, 0))
        self.slid.distractors.append((two.onset_s, end_s, "quick join"))

    def _scoop(self, place: int) -> None:
        duration = self._duration_s(place, _SCOOP_S)
        if duration is None or self._taken[place]:
            return
        duration_s, steepness = duration
        note = self.notes[place]
        cents = self.rng.uniform(min(120.0, self.most_cents), min(300.0, self.most_cents))
        end_s = note.onset_s + duration_s
        self._move(place, Glide(note.onset_s, end_s, -cents, 0, steepness=steepness))
        low = note.pitch - cents / 100
        self.slid.slides.append((note.onset_s, end_s, low, note.pitch, "scoop", place))

    def _fall(self, place: int) -> None:
        duration = self._duration_s(place, _FALL_S)
        if duration is None or self._taken[place]:
            return
        duration_s, steepness = duration
        note = self.notes[place]
        cents = self.rng.uniform(min(200.0, self.most_cents), min(700.0, self.most_cents))
        begin_s = note.release_s - duration_s
        end_s = note.release_s - 0.005
        self._move(place, Glide(begin_s, end_s, 0, -cents, steepness=steepness))
        low = note.pitch - cents / 100
        self.slid.slides.append((begin_s, note.release_s, note.pitch, low, "fall", -1))

    def _colour(self, place: int) -> None:
        """What is no slide: on the notes between slides, vibrato on sliding ones too."""
        note, length_s = self.notes[place], self._length_s(place)
        chance = self.rng.random()
        if length_s >= 0.5 and chance < (0.35 if self._taken[place] else 0.5):
            return self._vibrato(place)
        if self._taken[place]:
            return None
        bend = self.slid.bends[place]
        if length_s >= 1.0 and chance < 0.65:
            cents = self.rng.choice((-1, 1)) * self.rng.uniform(15, 30)
            bend.moves.append(Glide(note.onset_s, note.release_s, 0, cents))
            self.slid.distractors.append((note.onset_s, note.release_s, "drift"))
        elif length_s >= 0.3 and chance < 0.75:
            count = 8
            cents_of = tuple(self.rng.uniform(-15, 15) for _ in range(count))
            step_s = self.rng.uniform(0.06, 0.15)
            bend.moves.append(Steps(note.onset_s, note.release_s, step_s, cents_of))
            self.slid.distractors.append((note.onset_s, note.release_s, "wiggle"))
        elif chance > 0.88:
            bend.offset_cents = self.rng.choice((-1, 1)) * self.rng.uniform(15, 70)
            self.slid.distractors.append((note.onset_s, note.release_s, "left over"))
        return None

    def _vibrato(self, place: int) -> None:
        note, bend = self.notes[place], self.slid.bends[place]
        begin_s = note.onset_s + self.rng.uniform(0.0, 0.2)
        end_s = note.release_s
        for move in bend.moves:
            if isinstance(move, Glide) and move.begin_s <= note.onset_s:
                begin_s = max(begin_s, move.end_s)
            elif isinstance(move, Glide):
                end_s = min(end_s, move.begin_s)
        if end_s - begin_s < 0.35:
            return
        rate = self.rng.uniform(4, 8)
        # It stops where it crosses the pitch: a finger does not jump.
        end_s = begin_s + int(2 * rate * (end_s - begin_s)) / (2 * rate)
        bend.moves.append(Vibrato(begin_s, end_s, rate, self.rng.uniform(20, 70)))
        self.slid.distractors.append((begin_s, end_s, "vibrato"))


def write_slid_line(
    chunk: Chunk, notes: Sequence[LineNote], slid: Slid, range_semitones: int, clock: Clock,
    rng: Random, *, is_mpe: bool,
) -> None:  # fmt: skip
    """Notes and bends, all on one channel, or under MPE each note on the next member channel."""
    if is_mpe:
        # Registered parameter 6 on the manager opens the zone; the range holds for all members.
        for controller, value in ((101, 0), (100, 6), (6, len(_MEMBERS))):
            chunk.control(0, controller, value, 0)
        chunk.bend_range(range_semitones, _MEMBERS[0])
    else:
        chunk.bend_range(range_semitones, 0)
    latest: dict[int, int] = {}
    for place, (note, bend) in enumerate(zip(notes, slid.bends, strict=True)):
        channel = _MEMBERS[place % len(_MEMBERS)] if is_mpe else 0
        onset, release = clock.tick_at(note.onset_s), clock.tick_at(note.release_s)
        chunk.note(note.pitch, onset, release, note.velocity, channel)
        latest[channel] = draw_bends(
            chunk, bend, range_semitones, clock, channel, rng, latest.get(channel, 8192)
        )


def true_slides(
    slid: Slid, notes: Sequence[LineNote], track: int, clock: Clock
) -> tuple[list[TrueSlide], list[Distractor]]:
    """The truth in ticks."""
    slides = [
        TrueSlide(
            track=track,
            onset=clock.tick_at(begin_s),
            release=clock.tick_at(end_s),
            from_pitch=low,
            to_pitch=high,
            kind=kind,
            carrier="bend",
            to_onset=clock.tick_at(notes[to].onset_s) if to >= 0 else -1,
        )
        for begin_s, end_s, low, high, kind, to in slid.slides
    ]
    distractors = [
        Distractor(track, clock.tick_at(begin_s), clock.tick_at(end_s), kind)
        for begin_s, end_s, kind in slid.distractors
    ]
    return slides, distractors
