"""What is true of a rendering: how each note is meant, and what stands for it in the file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

ARTICULATIONS = (
    "legato", "detache", "portato", "marcato", "staccato", "spiccato", "tremolo", "trill",
    "pizzicato", "col legno", "harmonic", "con sordino", "sul ponticello", "sul tasto",
)  # fmt: skip
TIMING_TELLS = ("legato", "detache", "staccato", "spiccato", "tremolo", "trill")
"""What lengths, gaps and repetitions can tell apart. They cannot tell portato from detache, nor
marcato from loud detache, nor see plucking, wood, harmonics, mutes or the place of the bow."""


@dataclass(frozen=True)
class TrueNote:
    """One note as the players mean it, before anybody plays it.

    Parameters
    ----------
    onset, length
        As written, ticks.
    articulation
        One of ARTICULATIONS.
    also
        Other names that are as right: on the border between two strokes a reader may say either.
    manner
        How the note is drawn where the articulation is a colour: 'legato' under a mute. Else the
        articulation.
    strokes_per_s
        Rate of a tremolo or a trill that is played stroke by stroke; 0 for one key press.
    slur
        Notes with one number share a bow; -1 for none.
    phrase, line
        Numbers of the phrase, and of the line within the part, both from 0.
    timing_tells
        False where lengths, gaps and repetitions do not show the articulation.
    """

    onset: int
    length: int
    pitch: int
    articulation: str
    manner: str
    also: tuple[str, ...] = ()
    strokes_per_s: float = 0.0
    slur: int = -1
    phrase: int = 0
    line: int = 0
    timing_tells: bool = True


@dataclass(frozen=True)
class TruthRow:
    """One key press in the file that is music.

    `track` is the MTrk chunk from 0. `evidence` says what the file itself holds for the
    articulation: 'switch', 'name' (of the track), 'general midi' or 'timing'. `lines` are those the
    note belongs to, two where lines meet in unison. `timing_tells` is True where lengths, gaps and
    repetitions show the articulation: not for a tremolo held on one key. `level` is the loudness
    meant, 1-127.
    """

    part: str
    track: int
    onset: int
    release: int
    pitch: int
    velocity: int
    articulation: str
    also: tuple[str, ...] = ()
    evidence: str = "timing"
    slur: int = -1
    lines: tuple[int, ...] = (0,)
    timing_tells: bool = True
    level: float = 80.0


Trigger = tuple[str, int, int]
"""What is thrown: ('key', pitch, -1), ('controller', number, value), ('program', from 0, -1) or
('channel', from 1, -1)."""


@dataclass(frozen=True)
class TrueSwitch:
    """One switch of one track, what it stands for, and how often it is thrown."""

    track: int
    trigger: Trigger
    articulation: str
    presses: int


@dataclass(frozen=True)
class TrueSlide:
    """One slide: ticks and pitches at both ends, kind, and what carries it.

    `to_onset` is the onset of the note it leads to, -1 for a fall. `carrier` is 'bend' or
    'portamento'.
    """

    track: int
    onset: int
    release: int
    from_pitch: float
    to_pitch: float
    kind: str
    carrier: str
    to_onset: int


@dataclass(frozen=True)
class Distractor:
    """A movement of the bend that is no slide: vibrato, drift, left over, quick join, wiggle."""

    track: int
    onset: int
    release: int
    kind: str


@dataclass(frozen=True)
class Rendering:
    """One file and the truth about it.

    `habit` is how the writer carries articulation, `is_human` whether time was shaken; `brief`
    names every switch, `players` how many play each part. `carriers` is the controller that carries
    the loudness of each track, None for velocity.
    """

    work: str
    habit: str
    is_human: bool
    path: Path
    rows: tuple[TruthRow, ...]
    switches: tuple[TrueSwitch, ...] = ()
    slides: tuple[TrueSlide, ...] = ()
    distractors: tuple[Distractor, ...] = ()
    brief: Mapping[str, Any] | None = None
    players: Mapping[str, int] = field(default_factory=dict)
    carriers: Mapping[int, int | None] = field(default_factory=dict)
