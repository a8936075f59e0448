"""`python -m tests.listening.real_files`: what is heard in real files against a person's judgement.

The judgement is fixtures/listening/real_midi_truth.toml, written before the product ran on any of
the files. The files stay outside the project, because their licences differ; the environment
variable MOCKCHECK_REAL_MIDI names their folder.
"""

from __future__ import annotations

import os
import sys
import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

import mockcheck
from mockcheck.errors import UnreadableInput
from mockcheck.model.played import PlayedPart, PlayedScore, Role

TRUTH = Path(__file__).parent.parent.parent / "fixtures" / "listening" / "real_midi_truth.toml"
FIELDS = (
    "for strings or not", "instrument", "solo or section", "one part", "switches",
    "stroke by zone", "stroke, the very word", "slides", "dynamics", "chords",
)  # fmt: skip
"""What is compared. A stroke agrees when most notes of the zone are heard as one of the words the
judgement allows; 'the very word' asks for the one it would write itself."""
SURE = ("certain", "likely")
"""Judgements that count; open ones are listed only."""
NOT_HEARD = "left out"
FEW_CHORDS, MANY_FULL_CHORDS = 0.02, 0.05
"""Shares of the onsets: below the first, chords are a slip; above the second, chords of three and
more are how the track is written. Not tuned: all limits of 1-10 % and 1-15 % do as well."""

Truth = Mapping[str, Any]


@dataclass(frozen=True)
class Compared:
    """One judgement beside what is heard.

    `notes` and `fitting` are set for a stroke: the notes of the zone, and those heard as one of the
    words allowed.
    """

    file: str
    place: str
    field: str
    sure: str
    truth: str
    heard: str
    agrees: bool
    notes: int = 0
    fitting: int = 0

    @property
    def counts(self) -> bool:
        """Whether the judgement was sure enough to measure anything by."""
        return self.sure in SURE


@dataclass(frozen=True)
class Row:
    """One review row that is heard: its part, and which of the part's notes are its own."""

    role: Role
    part: PlayedPart

    @property
    def own(self) -> NDArray[np.bool_]:
        return np.equal(self.part.track, self.role.index)


def load_truth() -> dict[str, Truth]:
    """The judgement of each file, by the file's name without ending."""
    table = tomllib.loads(TRUTH.read_text(encoding="utf-8"))
    return {name: entry for name, entry in table.items() if name != "corrected"}


def real_folder() -> Path | None:
    """The folder that MOCKCHECK_REAL_MIDI names."""
    folder = os.environ.get("MOCKCHECK_REAL_MIDI")
    return Path(folder) if folder else None


def compare_all(folder: Path) -> list[Compared]:
    """Listen to every file the judgement covers."""
    return [
        row
        for name, truth in load_truth().items()
        for row in compare_file(name, truth, hear(folder / f"{name}.mid"))
    ]


def hear(path: Path) -> PlayedScore | None:
    """What is heard without a brief; None where nothing is for strings or can be read."""
    try:
        return mockcheck.play(mockcheck.load(path))
    except UnreadableInput:
        return None


def compare_file(name: str, truth: Truth, played: PlayedScore | None) -> Iterator[Compared]:
    """Every judgement of one file beside what is heard there."""
    for silent in truth.get("no_notes", []):
        yield _seat(name, {"sure": "certain"}, _rows(played, [silent], None), silent)
    for left_out in truth.get("left_out", []):
        channels = left_out.get("channels")
        for track in left_out["tracks"]:
            yield _seat(name, left_out, _rows(played, [track], channels), track)
    found = [switch for part in played.parts for switch in part.switches] if played else []
    yield Compared(
        name, "file", "switches", truth["switches_sure"], truth["switches"],
        f"{len(found)} keys" if found else "none", (not found) == (truth["switches"] == "none"),
    )  # fmt: skip
    if "one_part" in truth:
        yield _one_part(name, truth["one_part"], played)
    for heard in truth.get("heard", []):
        yield from _compare_track(name, heard, _rows(played, _tracks(heard), heard.get("channels")))


def _tracks(heard: Truth) -> list[int]:
    if "track" in heard:
        return [heard["track"]]
    return _span(heard["tracks"])


def _span(tracks: Truth) -> list[int]:
    return list(range(tracks["first"], tracks["last"] + 1))


def _rows(
    played: PlayedScore | None, tracks: Sequence[int], channels: Sequence[int] | None
) -> list[Row]:
    if played is None:
        return []
    parts = played.part_of_role()
    return [
        Row(role, parts[role.index])
        for role in played.roles
        if role.index in parts and role.track_index in tracks
        if channels is None or set(channels) & set(role.channels)
    ]


def _seat(name: str, truth: Truth, rows: Sequence[Row], track: int) -> Compared:
    heard = sorted({row.part.instrument.id for row in rows})
    agrees = all(instrument == truth.get("also") for instrument in heard)
    place = _place([track], truth.get("channels"))
    words = ", ".join(heard) or NOT_HEARD
    return Compared(name, place, "for strings or not", truth["sure"], NOT_HEARD, words, agrees)


def _place(tracks: Sequence[int], channels: Sequence[int] | None) -> str:
    named = f"{tracks[0]}-{tracks[-1]}" if len(tracks) > 1 else str(tracks[0])
    return f"track {named}" + (f" ch {','.join(map(str, channels))}" if channels else "")


def _one_part(name: str, truth: Truth, played: PlayedScore | None) -> Compared:
    tracks = _span(truth)
    parts = sorted({row.part.name for row in _rows(played, tracks, None)})
    place, heard = _place(tracks, None), ", ".join(parts) or NOT_HEARD
    return Compared(name, place, "one part", truth["sure"], "one part", heard, len(parts) == 1)


def _compare_track(name: str, truth: Truth, rows: Sequence[Row]) -> Iterator[Compared]:
    place = _place(_tracks(truth), truth.get("channels"))
    if not rows and truth.get("also_left_out"):
        return
    yield Compared(
        name, place, "for strings or not", truth["sure"], "for strings",
        "for strings" if rows else NOT_HEARD, bool(rows),
    )  # fmt: skip
    instruments = [truth["instrument"], *truth.get("also_instrument", [])]
    heard = sorted({row.part.instrument.id for row in rows})
    yield Compared(
        name, place, "instrument", truth["sure"], " / ".join(instruments),
        ", ".join(heard) or NOT_HEARD, bool(rows) and set(heard) <= set(instruments),
    )  # fmt: skip
    yield _players(name, place, truth, rows)
    for zone in truth["zones"]:
        yield from _strokes(name, place, zone, rows)
    yield _slides(name, place, truth["slides"], rows)
    yield _dynamics(name, place, truth, rows)
    yield _chords(name, place, truth, rows)


def _players(name: str, place: str, truth: Truth, rows: Sequence[Row]) -> Compared:
    solo = {row.part.players == 1 for row in rows}
    heard = "section" if solo == {False} else "solo" if solo == {True} else NOT_HEARD
    sure, said = truth["players_sure"], truth["players"]
    return Compared(name, place, "solo or section", sure, said, heard, said == heard)


def _strokes(name: str, place: str, zone: Truth, rows: Sequence[Row]) -> Iterator[Compared]:
    words: Counter[str] = Counter()
    for row in rows:
        inside = np.flatnonzero(row.own & _in_bars(row.part, zone.get("bars")))
        words.update(row.part.articulation.name(int(note)) for note in inside)
    total = words.total()
    shares = [f"{word} {count / total:.0%}" for word, count in words.most_common(3)]
    heard, most = ", ".join(shares) or NOT_HEARD, max(words, key=lambda w: words[w], default="")
    if "bars" in zone:
        place = f"{place} bars {zone['bars'][0]}-{zone['bars'][1]}"
    written = [zone["stroke"]]
    for field, allowed in (
        ("stroke by zone", [*written, *zone.get("also", [])]),
        ("stroke, the very word", written),
    ):
        yield Compared(
            name, place, field, zone["sure"], " / ".join(allowed), heard, most in allowed,
            notes=total, fitting=sum(words[word] for word in allowed),
        )  # fmt: skip


def _in_bars(part: PlayedPart, bars: Sequence[int] | None) -> NDArray[np.bool_]:
    meter = part.timeline.meter
    if bars is None or meter is None:
        return np.ones(len(part.notes), bool)
    bar = meter.bar_index(part.notes.onset_ticks) + 1
    return (bar >= bars[0]) & (bar <= bars[1])


def _slides(name: str, place: str, truth: Truth, rows: Sequence[Row]) -> Compared:
    count = sum(slide.track == row.role.index for row in rows for slide in row.part.slides)
    low, high = truth["at_least"], truth["at_most"]
    said = str(low) if low == high else f"{low}-{high}"
    agrees = bool(rows) and low <= count <= high
    return Compared(name, place, "slides", truth["sure"], said, str(count), agrees)


def _dynamics(name: str, place: str, truth: Truth, rows: Sequence[Row]) -> Compared:
    """A controller carries them where loudness departs from velocity."""
    drawn = any(
        row.part.loudness is not None
        and not np.allclose(row.part.loudness[row.own], row.part.notes.velocity[row.own])
        for row in rows
    )
    said = truth["dynamics"]
    expected = any(word.startswith("cc") for word in said)
    heard = ("controller" if drawn else "velocity or none") if rows else NOT_HEARD
    agrees = bool(rows) and drawn == expected
    return Compared(name, place, "dynamics", truth["sure"], ", ".join(said), heard, agrees)


def _chords(name: str, place: str, truth: Truth, rows: Sequence[Row]) -> Compared:
    sizes = list(_struck(rows))
    any_chord = sum(size > 1 for size in sizes) / max(len(sizes), 1)
    full = sum(size > 2 for size in sizes) / max(len(sizes), 1)
    agrees = {
        "none": any_chord <= FEW_CHORDS,
        "two": any_chord > 0 and full <= MANY_FULL_CHORDS,
        "divide": full > MANY_FULL_CHORDS,
    }[truth["chords"]]
    heard = f"{any_chord:.0%} of onsets, three and more {full:.0%}" if rows else NOT_HEARD
    agrees = bool(rows) and agrees
    return Compared(name, place, "chords", truth["sure"], truth["chords"], heard, agrees)


def _struck(rows: Sequence[Row]) -> Iterator[int]:
    """How many notes of these rows, which may share a part, begin together at each onset."""
    for part in {row.part.name: row.part for row in rows}.values():
        own = np.isin(part.track, [row.role.index for row in rows])
        for place in range(len(part.sonorities)):
            members = part.sonorities.notes_at(place)
            newest = np.argsort(part.notes.onset_ticks[members], kind="stable")[::-1]
            struck = members[newest[: int(part.sonorities.struck[place])]]
            if own[struck].any():
                yield int(own[struck].sum())


def agreement(rows: Sequence[Compared]) -> dict[str, tuple[int, int]]:
    """For each field, how many sure judgements there are and with how many of them it agrees."""
    counted = [row for row in rows if row.counts]
    return {
        field: (
            sum(row.field == field for row in counted),
            sum(row.field == field and row.agrees for row in counted),
        )
        for field in FIELDS
    }


def fitting_notes(rows: Sequence[Compared]) -> tuple[int, int]:
    """Notes inside the judged zones, and those heard as a word the judgement allows there."""
    zones = [row for row in rows if row.counts and row.field == "stroke by zone"]
    return sum(row.notes for row in zones), sum(row.fitting for row in zones)


def tables(rows: Sequence[Compared]) -> str:
    """Agreement by field, then every disagreement, then what the judgement leaves open."""
    lines = ["| field | judgements | agree | share |", "| --- | --- | --- | --- |"]
    by_field = {**agreement(rows), "notes of the zones": fitting_notes(rows)}
    for field, (judged, agreed) in by_field.items():
        lines.append(f"| {field} | {judged} | {agreed} | {agreed / max(judged, 1):.1%} |")
    differ = [row for row in rows if row.counts and not row.agrees]
    left_open = [row for row in rows if not row.counts and row.field != "stroke, the very word"]
    for title, listed in (("Disagreements", differ), ("Left open, not counted", left_open)):
        lines += ["", f"{title}: {len(listed)}", ""]
        lines += ["| file | place | field | judged | heard |", "| --- | --- | --- | --- | --- |"]
        for row in listed:
            truth = f"{row.truth} ({row.sure})"
            lines.append(f"| {row.file} | {row.place} | {row.field} | {truth} | {row.heard} |")
    return "\n".join(lines) + "\n"


def main() -> None:
    """Print the tables."""
    folder = real_folder()
    if folder is None:
        sys.exit("MOCKCHECK_REAL_MIDI names no folder of real files")
    sys.stdout.write(tables(compare_all(folder)))


if __name__ == "__main__":
    main()
