"""One workable way to finger the notes of a finding, drawn to scale on the strings.

The nut is on the left and string I on top, as the board looks to whoever bends over it. Distances
are true, so that a stretch shrinks up the neck as it does under the hand.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from mockcheck.model.finding import Finding
from mockcheck.model.played import PlayedPart
from mockcheck.playing.demands import finger_name
from mockcheck.playing.fingerboard import Fingerboard, fingerboard
from mockcheck.report._page_roll import concerned
from mockcheck.report._page_svg import drawing, px, tag, words

FAMILIES_DRAWN = ("chords", "speed", "slides")
_MOST_STOPS = 24
_WIDTH_PX, _LEFT_PX, _RIGHT_PX = 720, 74, 40
_TOP_PX, _STRING_PX, _FOOT_PX = 26, 34, 34
_RADIUS_PX = 10
_NAME_ROOM_PX = 30
_LEAST_SHOWN_SEMITONES = 5
_RULER_MM = (10, 20, 50, 100, 200)
_FEWEST_RULER_STEPS = 4
_THUMB, _OPEN, _UNKNOWN = -1, 0, -2


@dataclass(frozen=True, order=True)
class _Stop:
    """One finger on one string; `finger` is -2 where only the place is known."""

    string_index: int
    stop_semitones: int
    finger: int
    pitch: int


@dataclass(frozen=True)
class Board:
    """The drawing, and a line on what it shows."""

    svg: Markup
    caption: str


def draw_board(part: PlayedPart, finding: Finding) -> Board | None:
    """Fingers on the strings; None where nothing is to be shown, or the strings are not known.

    Notes that the search could not place are drawn hollow on every string that has them, as far
    up as a hand in the lowest position would look for them.
    """
    if finding.family not in FAMILIES_DRAWN or part.instrument.is_ensemble:
        return None
    if not part.instrument.open_strings:
        return None
    board = fingerboard(part.instrument)
    rows = concerned(part, finding)
    placed = _placed(part, rows)
    if finding.family == "chords" and len({stop.pitch for stop in placed}) < len(
        set(finding.pitches)
    ):
        # A chord that is held only in part is not held.
        placed = []
    stops = placed or _places(part, board, rows)
    if not stops:
        return None
    told = stops[:_MOST_STOPS]
    caption = (
        "One workable fingering; numbers are fingers, 0 is the open string, T the thumb."
        if placed
        else "No one hand was found for these notes; hollow marks show where each of them lies."
    )
    if len(stops) > len(told):
        caption += f" The first {len(told)} places of {len(stops)}."
    said = "; ".join(_said(part, board, stop) for stop in told)
    return Board(_drawn(part, board, told, f"{caption} {said}"), caption)


def _placed(part: PlayedPart, rows: np.ndarray[tuple[int, ...], np.dtype[np.int64]]) -> list[_Stop]:
    if part.fingering is None:
        return []
    found: dict[_Stop, None] = {}
    for row in rows.tolist():
        string = int(part.fingering.string_index[row])
        if string >= 0:
            stop = int(part.fingering.stop_semitones[row])
            pitch = int(part.notes.pitch[row])
            found[_Stop(string, stop, int(part.fingering.finger[row]), pitch)] = None
    return list(found)


def _places(
    part: PlayedPart, board: Fingerboard, rows: np.ndarray[tuple[int, ...], np.dtype[np.int64]]
) -> list[_Stop]:
    """Where each pitch lies on the strings, for want of a hand that takes them."""
    pitches = sorted({int(pitch) for pitch in part.notes.pitch[rows]})
    return [
        _Stop(string, pitch - opened, _UNKNOWN, pitch)
        for pitch in pitches
        for string, opened in enumerate(board.open_strings)
        if board.has_on_string(string, pitch) and pitch - opened <= 12
    ]


def _said(part: PlayedPart, board: Fingerboard, stop: _Stop) -> str:
    string = f"{board.string_letter(stop.string_index)} string"
    name = part.pitch_name(stop.pitch)
    if stop.stop_semitones == 0:
        return f"{name} on the open {string}"
    if stop.finger == _UNKNOWN:
        return f"{name} on the {string}"
    if stop.finger == _THUMB:
        return f"{name} with the thumb on the {string}"
    if stop.finger == _OPEN:
        return f"{name} on the {string}"
    return f"{name} with the {finger_name(stop.finger)} finger on the {string}"


def _drawn(part: PlayedPart, board: Fingerboard, stops: list[_Stop], label: str) -> Markup:
    highest = max(*(stop.stop_semitones for stop in stops), _LEAST_SHOWN_SEMITONES)
    shown_mm = board.places_mm[min(highest + 1, len(board.places_mm) - 1)]
    per_mm = (_WIDTH_PX - _LEFT_PX - _RIGHT_PX) / shown_mm
    last = _TOP_PX + _STRING_PX * (len(board.open_strings) - 1)
    body = [
        *_strings(board),
        tag("path", d=f"M{_LEFT_PX} {_TOP_PX - 8}V{last + 8}", class_="nut"),
    ]
    body += _ruler(shown_mm, per_mm, last + 18)
    body += _fingers(part, board, stops, per_mm)
    return drawing(_WIDTH_PX, last + 18 + _FOOT_PX, body, label)


def _strings(board: Fingerboard) -> Iterator[str]:
    for string in range(len(board.open_strings)):
        y = _TOP_PX + _STRING_PX * string
        yield tag("path", d=f"M{_LEFT_PX} {y}H{_WIDTH_PX - 12}", class_=f"gut g{min(string, 4)}")
        yield words(f"{board.string_letter(string)} string", _LEFT_PX - 18, y + 4, class_="side")


def _ruler(shown_mm: float, per_mm: float, y: float) -> Iterator[str]:
    step = max(step for step in _RULER_MM if step * _FEWEST_RULER_STEPS <= max(shown_mm, 40))
    marks = range(0, int(shown_mm) + 1, step)
    path = "".join(f"M{px(_LEFT_PX + mm * per_mm)} {px(y)}v5" for mm in marks)
    yield tag(
        "path", d=f"M{_LEFT_PX} {px(y)}H{px(_LEFT_PX + shown_mm * per_mm)}{path}", class_="bar"
    )
    for mm in marks:
        text = f"{mm} mm" if mm else "nut"
        yield words(text, _LEFT_PX + mm * per_mm, y + 20, class_="small", text_anchor="middle")


def _fingers(
    part: PlayedPart, board: Fingerboard, stops: list[_Stop], per_mm: float
) -> Iterator[str]:
    taken: dict[int, float] = {}
    names: list[str] = []
    for stop in sorted(stops):
        x = _LEFT_PX + board.places_mm[stop.stop_semitones] * per_mm
        y = _TOP_PX + _STRING_PX * stop.string_index
        is_hollow = stop.finger == _UNKNOWN
        yield tag("circle", cx=x, cy=y, r=_RADIUS_PX, class_="stop hollow" if is_hollow else "stop")
        if not is_hollow:
            finger = "T" if stop.finger == _THUMB else str(stop.finger)
            yield words(finger, x, y + 4, class_="finger")
        if x - taken.get(stop.string_index, -_NAME_ROOM_PX) >= _NAME_ROOM_PX:
            name = part.pitch_name(stop.pitch)
            names.append(words(name, x + 8, y - 9, class_="small haloed"))
            taken[stop.string_index] = x
    # Last, so that no mark covers a name.
    yield from names
