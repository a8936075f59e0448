"""How far the product agrees with what handbooks and tables say.

Three parts: the graded chord tables (tests/playing/agreement.py compares them), the ranges of the
instruments, and facts of the trade that a review can confirm or contradict.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from mockcheck.instruments import instrument
from mockcheck.playing.chords import chord
from tests.phrases import findings

COMMON = "common practice, no source"
MUSIC21 = "instrument data of the music21 package"


@dataclass(frozen=True)
class Agreed:
    """One fact, what the product says about it, and whether the two agree."""

    fact: str
    source: str
    product: str
    agrees: bool


TUNINGS = {
    "violin": (76, 69, 62, 55),
    "viola": (69, 62, 55, 48),
    "cello": (57, 50, 43, 36),
    "double bass": (43, 38, 33, 28),
    "double bass 5-string": (43, 38, 33, 28, 23),
    "double bass C extension": (43, 38, 33, 24),
}
TUNING_SOURCE = {
    "double bass 5-string": "a bass tuning page: fifth string B0 in European orchestras",
    "double bass C extension": "a bass tuning page: extension down to C1",
}
"""For the others: instrument data of the music21 package 10.5.1."""

TOPS = (
    ("violin", "section_top", 100, "Prout, The Orchestra, vol. 1 (1899), p. 19: E7"),
    ("violin", "solo_top", 105, "range list of a university violin page: A7"),
    ("viola", "section_top", 88, "an arranging handbook, p. 117: E6"),
    ("viola", "solo_top", 93, "a composition primer, pp. 179-180: A6"),
    ("cello", "comfortable_top", 76, "Widor, Technique of the Modern Orchestra (1906), p. 175: E5"),
    ("cello", "section_top", 81, "an arranging handbook, p. 117: A5"),
    ("cello", "solo_top", 88, "Widor, Technique of the Modern Orchestra (1906), p. 175: E6"),
    ("double bass", "comfortable_top", 55, "a string teaching site: G3, written G4"),
    ("double bass", "section_top", 59, "highest stopped note, Bruckner 5, finale, bar 390: B3"),
)

STRING_LENGTHS_MM = (
    ("violin", 320, 335, COMMON),
    ("viola", 355, 395, "a maker's table: body stop 219-230 mm and neck 146-154 mm"),
    ("cello", 680, 700, COMMON),
    ("double bass", 1020, 1110, COMMON),
)


def ranges() -> Iterator[Agreed]:
    """Tunings, tops and string lengths of every instrument against their published sources."""
    for name, strings in TUNINGS.items():
        known = instrument(name)
        fact = f"{name}: open strings {' '.join(map(str, strings))}"
        source = TUNING_SOURCE.get(name, MUSIC21)
        product = " ".join(map(str, known.open_strings))
        yield Agreed(fact, source, product, known.open_strings == strings)
    for name, field, pitch, source in TOPS:
        top = getattr(instrument(name), field)
        fact = f"{name}: {field.replace('_', ' ')} {pitch}"
        yield Agreed(fact, source, str(top), top == pitch)
    for name, low, high, source in STRING_LENGTHS_MM:
        length = instrument(name).string_length_mm
        fact = f"{name}: string length {low} to {high} mm"
        yield Agreed(fact, source, f"{length:g} mm", low <= length <= high)


def _verdict(name: str, *pitches: int) -> str:
    return chord(name, pitches).verdict


def _parallel(name: str, interval: int, lowest: int, count: int) -> set[str]:
    return {_verdict(name, pitch, pitch + interval) for pitch in range(lowest, lowest + count)}


def _widest_stopped(name: str) -> int:
    """Widest interval, both notes stopped, that the product lets one player hold."""
    low = min(instrument(name).open_strings)
    return max(
        interval
        for interval in range(1, 30)
        for pitch in range(low + 1, low + 25)
        if (answer := chord(name, (pitch, pitch + interval))).is_playable
        and 0 not in answer.stops_semitones
    )


def _checks(*parts: str) -> str:
    found = {
        f"{check} {finding.severity.label}"
        for check in ("note-below-open-string", "run-too-fast", "slides-overused")
        for finding in findings(check, *parts)
    }
    return ", ".join(sorted(found)) or "nothing"


def _tenth_inside_four_notes() -> str:
    """Four stopped notes with a tenth between neighbours, on every start up to an octave."""
    return ", ".join(sorted({_verdict("violin", p, p + 16, p + 21, p + 26) for p in range(56, 68)}))


Fact = tuple[str, Callable[[], str], Callable[[str], bool]]

RUN = "F#3 G3 A3 B3 C4 D4 E4 F4 G4 A4 B4 C5 D5 E5 F5 G5 A5".split()
"""Seventeen notes; the first is moved into the range of the violin below."""

FACTS: tuple[Fact, ...] = (
    (
        "the violin's lowest note is the open G",
        lambda: _checks("violin 4/4 q=96 | G3:2 F#3:2 |") + " | " + _checks("violin | G3:4 |"),
        lambda said: said == "note-below-open-string impossible | nothing",
    ),
    (
        "the widest two-note chord one violinist can stop is about a tenth (16 semitones)",
        lambda: f"{_widest_stopped('violin')} semitones",
        lambda said: said in {"16 semitones", "17 semitones"},
    ),
    (
        "four stopped notes with a tenth between neighbours cannot be held by one player",
        _tenth_inside_four_notes,
        lambda said: said == "impossible",
    ),
    (
        "violin: thirds and sixths lie well",
        lambda: ", ".join(
            sorted(set().union(*(_parallel("violin", step, 63, 10) for step in (3, 4, 8, 9))))
        ),
        lambda said: set(said.split(", ")) <= {"easy", "possible"},
    ),
    (
        "violin: octaves can be played",
        lambda: ", ".join(sorted(_parallel("violin", 12, 56, 19))),
        lambda said: "impossible" not in said,
    ),
    (
        "violin: a single fifth is fine",
        lambda: ", ".join(sorted(_parallel("violin", 7, 55, 20))),
        lambda said: set(said.split(", ")) <= {"easy", "possible"},
    ),
    (
        "cello: fifths and sixths lie well",
        lambda: ", ".join(
            sorted(set().union(*(_parallel("cello", step, 44, 8) for step in (7, 8, 9))))
        ),
        lambda said: set(said.split(", ")) <= {"easy", "possible"},
    ),
    (
        "seventeen notes in a quarter are not playable as written (quarter = 60)",
        lambda: _checks(
            "violin 4/4 q=60 | ("
            + " ".join(f"{name}:1/17" for name in ["G#3", *RUN[1:]])
            + ") r:3 |"
        ),
        lambda said: "run-too-fast" in said,
    ),
    (
        "eleven of them are (quarter = 60)",
        lambda: _checks(
            "violin 4/4 q=60 | (" + " ".join(f"{name}:1/11" for name in RUN[6:]) + ") r:3 |"
        ),
        lambda said: said == "nothing",
    ),
    (
        "a slide on every note sticks out",
        lambda: _checks(
            "violin 4/4 q=80 | A4:1> C5:1> E5:1> C5:1> | B4:1> D5:1> G5:1> D5:1> | C5:4 |"
        ),
        lambda said: "slides-overused" in said,
    ),
    (
        "one slide on a chosen note does not",
        lambda: _checks("violin 4/4 q=80 | A4:1 C5:1 E5:1> C5:1 | B4:1 D5:1 G5:1 D5:1 | C5:4 |"),
        lambda said: said == "nothing",
    ),
)

NOT_YET = (
    "spelling and awkward intervals in fast passages",
    "foreign notes in a run, and which notes to leave out",
    "harmonics and how to write them",
    "bow length in long melodies",
    "rehearsal ladders and minutes of music an hour",
)
"""Facts of the trade that no part of the product speaks about so far."""


def trade_facts() -> Iterator[Agreed]:
    """Facts of the trade put to the product."""
    for fact, ask, agrees in FACTS:
        said = ask()
        yield Agreed(fact, COMMON, said, agrees(said))
