"""How long, how soon and how hard each note is pressed by somebody who plays the parts in.

Share of the time to the next onset that a note sounds, mean and spread: the published table of
strokes that the project keeps (detache 0.80 +- 0.10, marcato 0.70 +- 0.15, staccato 0.45 +- 0.15,
spiccato 0.30 +- 0.12; legato runs over by 5 to 80 ms), after Bresin and Battel 2000 and Repp 1995
for the piano. What has no source is marked. Part of the spread belongs to the player, the rest
to each note, since players differ a lot (Bresin and Battel 2000).

Timing: a player's own deviation has 10 to 30 ms, half of it slow; between two players it is then
20 to 42 ms, as measured in trios (37 and 49 ms, Rasch 1979) and said of good ensembles (20 to
50 ms, Keller 2014). Errors of players go on from note to note (Hennig 2011).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from random import Random

from tests.listening.clock import Clock
from tests.listening.dynamics import Levels
from tests.listening.truth import TrueNote

SHARES = {
    "detache": (0.80, 0.10),
    "marcato": (0.70, 0.15),
    "staccato": (0.45, 0.15),
    "spiccato": (0.30, 0.12),
    "portato": (0.88, 0.06),  # common practice, no source
    "pizzicato": (0.50, 0.20),  # how keys are pressed for it; common practice, no source
    "col legno": (0.40, 0.15),  # likewise
    "harmonic": (0.92, 0.05),  # likewise
    "tremolo": (0.92, 0.05),  # one key held on a tremolo sound; likewise
    "trill": (0.92, 0.05),  # likewise
}
_SLUR_END = (0.85, 0.08)
_PLAYERS_PART = 0.5
_LEAST_SHARE, _MOST_SHARE = 0.08, 0.96
_OVERLAP_S = (0.005, 0.08, 0.03)
_HUMAN_S = (0.014, 0.030)
_SLOWLY, _CHORD_S = 0.9, 0.004
_MOST_OF_A_GAP = 0.25
_LIFT_S = 0.004
_SHORT = ("staccato", "spiccato", "pizzicato", "col legno", "marcato")


@dataclass(frozen=True)
class Pressed:
    """One key press in seconds, and the note it is for."""

    onset_s: float
    release_s: float
    pitch: int
    velocity: int
    note: TrueNote


@dataclass
class Player:
    """One player's habits: how far off the beat, how long each stroke, how hard the keys."""

    rng: Random
    is_human: bool
    levels: Levels
    speaks_by_velocity: bool

    def __post_init__(self) -> None:
        self._timing_s = self.rng.uniform(*_HUMAN_S) if self.is_human else 0.0
        self._slow = self.rng.gauss(0, 1)
        self._leaning = {
            stroke: self.rng.gauss(0, _PLAYERS_PART * spread)
            for stroke, (_, spread) in SHARES.items()
        }
        self._touch = self.rng.uniform(60, 90)

    def deviation_s(self) -> float:
        """How late the next onset comes."""
        self._slow = _SLOWLY * self._slow + (1 - _SLOWLY**2) ** 0.5 * self.rng.gauss(0, 1)
        return self._timing_s * (self._slow + self.rng.gauss(0, 1)) / 2**0.5

    def chord_s(self) -> float:
        """How far the keys of a chord are apart."""
        return abs(self.rng.gauss(0, _CHORD_S)) if self.is_human else 0.0

    def share(self, stroke: str, spread: tuple[float, float] | None = None) -> float:
        """How much of its time a note sounds."""
        mean, deviation = spread or SHARES[stroke]
        own = (1 - _PLAYERS_PART**2) ** 0.5 * deviation
        value = mean + self._leaning[stroke] + self.rng.gauss(0, own)
        return min(max(value, _LEAST_SHARE), _MOST_SHARE)

    def overlap_s(self, most_s: float) -> float:
        """How long a slurred note runs into the next."""
        return min(self.rng.triangular(*_OVERLAP_S), most_s)

    def velocity(self, note: TrueNote, second: float) -> int:
        """Loudness for short notes and where nothing else carries it, else the weight of a hand."""
        is_loudness = self.speaks_by_velocity or note.articulation in _SHORT
        value = self.levels.at(second) if is_loudness else self._touch
        value += self.rng.gauss(0, 4)
        if note.articulation == "marcato":
            # The published table has 12 above the neighbours.
            value += self.rng.uniform(13, 24)
        return min(max(round(value), 1), 127)


@dataclass(frozen=True)
class _Onset:
    """Notes of one part that are struck together, and when."""

    notes: tuple[TrueNote, ...]
    second: float


def perform(notes: Sequence[TrueNote], clock: Clock, player: Player) -> list[Pressed]:
    """The notes of one part as one player plays them, in order of time.

    A key is never pressed again before it is up, so every press can be read back.
    """
    onsets = _onsets(notes, clock, player)
    pressed: list[Pressed] = []
    for place, onset in enumerate(onsets):
        after = onsets[place + 1] if place + 1 < len(onsets) else None
        for note in onset.notes:
            pressed += _press(note, onset, after, clock, player)
    return keys_come_up(sorted(pressed, key=lambda press: (press.onset_s, press.pitch)))


def _onsets(notes: Sequence[TrueNote], clock: Clock, player: Player) -> list[_Onset]:
    groups = [tuple(group) for _, group in groupby(notes, key=lambda note: note.onset)]
    seconds = [clock.second_at(group[0].onset) for group in groups]
    onsets = []
    for place, (group, second) in enumerate(zip(groups, seconds, strict=True)):
        gaps = [second - seconds[place - 1]] if place else []
        gaps += [seconds[place + 1] - second] if place + 1 < len(groups) else []
        most_s = _MOST_OF_A_GAP * min(gaps, default=1.0)
        off_s = min(max(player.deviation_s(), -most_s), most_s)
        onsets.append(_Onset(group, max(second + off_s, 0.0)))
    return onsets


def _press(
    note: TrueNote, onset: _Onset, after: _Onset | None, clock: Clock, player: Player
) -> list[Pressed]:
    written_s = clock.second_at(note.onset + note.length) - clock.second_at(note.onset)
    if note.strokes_per_s > 0:
        return _drawn_out(note, onset.second, written_s, player)
    begin_s = onset.second + (player.chord_s() if len(onset.notes) > 1 else 0.0)
    # Whoever comes early with the next note lets go of this one in time.
    time_s = after.second - onset.second if after and _reaches(note, after) else written_s
    end_s = begin_s + time_s * _sounding_share(note, written_s, player)
    if _is_slurred_on(note, onset, after) and after is not None:
        is_same = any(other.pitch == note.pitch for other in after.notes)
        most_s = 0.4 * (after.second - onset.second)
        overlap_s = player.overlap_s(most_s)
        end_s = after.second + (-overlap_s if is_same else overlap_s)
    return [_pressed(note, begin_s, end_s, player)]


def _pressed(note: TrueNote, begin_s: float, end_s: float, player: Player) -> Pressed:
    velocity = player.velocity(note, begin_s)
    return Pressed(begin_s, max(end_s, begin_s + 0.01), note.pitch, velocity, note)


def _sounding_share(note: TrueNote, written_s: float, player: Player) -> float:
    if note.manner == "legato":
        return player.share("detache", _SLUR_END)
    if note.manner == "tremolo" and written_s <= 1 / 7:
        return player.share("tremolo", (0.75, 0.12))
    return player.share(note.manner)


def _reaches(note: TrueNote, after: _Onset) -> bool:
    """Whether a note lasts just until the next onset."""
    gap = after.notes[0].onset - note.onset
    return 0.9 * gap <= note.length <= 1.1 * gap


def _is_slurred_on(note: TrueNote, onset: _Onset, after: _Onset | None) -> bool:
    """Whether the note leads on under its slur; one held against moving notes does not."""
    if after is None or note.manner != "legato" or note.slur < 0:
        return False
    if after.notes[0].slur != note.slur:
        return False
    gap = after.notes[0].onset - onset.notes[0].onset
    return gap <= note.length * 1.1 and note.length <= 1.5 * gap


def _drawn_out(note: TrueNote, begin_s: float, written_s: float, player: Player) -> list[Pressed]:
    """A tremolo or a trill stroke by stroke, ending with the written length."""
    if note.manner == "trill":
        share = (1.0, 0.06)
        pitches = (note.pitch, note.pitch + player.rng.choice((1, 2)))
    else:
        share = (0.75, 0.12)
        pitches = (note.pitch, note.pitch)
    rate = note.strokes_per_s
    count = max(round(0.95 * written_s * rate), 1)
    starts = [begin_s + n / rate for n in range(count)]
    if player.is_human:
        starts = [
            start + player.rng.gauss(0, 0.06 / rate) * (n > 0) for n, start in enumerate(starts)
        ]
    return [
        _pressed(
            replace(note, pitch=pitches[n % 2]),
            start,
            start + min(max(player.rng.gauss(*share), 0.4), 1.15) / rate,
            player,
        )
        for n, start in enumerate(starts)
    ]


def keys_come_up(pressed: Sequence[Pressed]) -> list[Pressed]:
    """A key that is to be struck again comes up a little before."""
    next_onset_s: dict[int, float] = {}
    freed = []
    for press in reversed(pressed):
        until_s = next_onset_s.get(press.pitch, press.release_s + 1) - _LIFT_S
        if until_s - press.onset_s < _LIFT_S:
            continue  # two lines of one player meet on one key
        freed.append(replace(press, release_s=min(press.release_s, until_s)))
        next_onset_s[press.pitch] = press.onset_s
    return freed[::-1]
