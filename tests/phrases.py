"""Music as text, for tests: `violin 4/4 q=96 | G3:1 A3:1 G3+A3:2 |`.

Header: instrument (a track name), metre, tempo; then optional `players=2`, `level=solo`,
`style=romantic`, `program=45`, `key=-3` (a signature, flats below 0). Bars: `pitch:beats` (a beat
is a quarter), `+` stacks pitches, `r` rests, `>` after a note slides into the next by bend,
`(` ... `)` slurs (small overlaps), `cc11@2=40` sets a controller at that beat of the bar,
`bend@1.5=700` a bend in cents, `v60` the velocity from here on (80 before). `.` after a note halves
its sounding length. Notes sound for nine tenths of their value otherwise.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, field

import mido

from mockcheck.infer import play
from mockcheck.model.finding import Finding
from mockcheck.model.played import PlayedPart, PlayedScore
from mockcheck.model.session import Level, Session, Style
from mockcheck.read import read_bytes
from mockcheck.read.roles import assign_roles
from mockcheck.units import pitch_from_name

TICKS_PER_QUARTER = 480
BEND_RANGE_SEMITONES = 12
SLUR_OVERLAP_TICKS = 12
_NOTE = re.compile(r"^(?P<open>\(?)(?P<pitches>[^:]+):(?P<beats>[0-9./]+?)(?P<marks>[>.)]*)$")
_KEY_NAMES = "Cb Gb Db Ab Eb Bb F C G D A E B F# C#".split()
_VELOCITY = re.compile(r"^v(\d+)$")
_EVENT = re.compile(r"^(?P<name>cc\d+|bend)@(?P<beat>[0-9.]+)=(?P<value>-?\d+)$")


@dataclass
class _Writer:
    events: list[tuple[int, int, mido.Message]] = field(default_factory=list)
    tick: int = 0
    is_slurred: bool = False
    velocity: int = 80

    def add(self, tick: float, order: int, message: mido.Message) -> None:
        self.events.append((round(tick), order, message))

    def bend(self, tick: float, cents: float) -> None:
        value = round(cents / (100 * BEND_RANGE_SEMITONES) * 8192)
        self.add(tick, 1, mido.Message("pitchwheel", pitch=max(-8192, min(8191, value))))


def _write_note(writer: _Writer, match: re.Match[str], next_pitch: int | None) -> None:
    length = TICKS_PER_QUARTER * _beats(match["beats"])
    if match["open"]:
        writer.is_slurred = True
    marks = match["marks"]
    start = writer.tick
    if match["pitches"] != "r":
        pitches = [pitch_from_name(name) for name in match["pitches"].split("+")]
        goes_on = writer.is_slurred and ")" not in marks
        release = start + (
            length / 2 if "." in marks else length + SLUR_OVERLAP_TICKS if goes_on else 0.9 * length
        )
        for pitch in pitches:
            writer.add(start, 2, mido.Message("note_on", note=pitch, velocity=writer.velocity))
            writer.add(release, 0, mido.Message("note_off", note=pitch))
        if ">" in marks and next_pitch is not None:
            travel = 100 * (next_pitch - pitches[-1])
            for step in range(17):
                writer.bend(start + length * (0.6 + 0.4 * step / 17), travel * step / 16)
            writer.bend(start + length, 0)
    if ")" in marks:
        writer.is_slurred = False
    writer.tick = round(start + length)


def _beats(text: str) -> float:
    numerator, _, denominator = text.partition("/")
    return float(numerator) / float(denominator or 1)


def _write_bars(writer: _Writer, bars: str, bar_ticks: int) -> None:
    tokens = bars.split()
    notes = [match for token in tokens if (match := _NOTE.match(token))]
    following = iter([*notes[1:], None])
    bar_start = 0
    for token in tokens:
        if token == "|":
            bar_start += bar_ticks if writer.tick > bar_start else 0
        elif velocity := _VELOCITY.match(token):
            writer.velocity = int(velocity[1])
        elif event := _EVENT.match(token):
            tick = bar_start + (float(event["beat"]) - 1) * TICKS_PER_QUARTER
            if event["name"] == "bend":
                writer.bend(tick, int(event["value"]))
            else:
                writer.add(
                    tick,
                    1,
                    mido.Message(
                        "control_change",
                        control=int(event["name"][2:]),
                        value=int(event["value"]),
                    ),
                )
        else:
            match = _NOTE.match(token)
            assert match, f"phrase: cannot read '{token}'"
            after = next(following)
            next_pitch = None
            if after is not None and after["pitches"] != "r":
                next_pitch = pitch_from_name(after["pitches"].split("+")[-1])
            _write_note(writer, match, next_pitch)


def _header(text: str) -> tuple[str, dict[str, str]]:
    words = text.split()
    options = {"metre": "4/4", "q": "120"}
    name = []
    for word in words:
        if re.match(r"^\d+/\d+$", word):
            options["metre"] = word
        elif "=" in word:
            key, _, value = word.partition("=")
            options[key] = value
        else:
            name.append(word)
    return " ".join(name), options


def _track(text: str) -> tuple[mido.MidiTrack, dict[str, str], str]:
    head, _, bars = text.partition("|")
    name, options = _header(head)
    numerator, denominator = (int(n) for n in options["metre"].split("/"))
    writer = _Writer()
    for control, value in ((101, 0), (100, 0), (6, BEND_RANGE_SEMITONES)):
        writer.add(0, -1, mido.Message("control_change", control=control, value=value))
    if "program" in options:
        writer.add(0, -1, mido.Message("program_change", program=int(options["program"])))
    _write_bars(writer, bars, 4 * TICKS_PER_QUARTER * numerator // denominator)
    track = mido.MidiTrack([mido.MetaMessage("track_name", name=name)])
    before = 0
    for tick, _, message in sorted(writer.events, key=lambda row: row[:2]):
        track.append(message.copy(time=tick - before))
        before = tick
    return track, options, name


def midi_bytes(*parts: str) -> bytes:
    """Each phrase as a track of one format 1 file; metre and tempo are the first one's."""
    tracks = [_track(text) for text in parts]
    options = tracks[0][1]
    numerator, denominator = (int(n) for n in options["metre"].split("/"))
    conductor = mido.MidiTrack(
        [
            mido.MetaMessage("set_tempo", tempo=round(60e6 / float(options["q"]))),
            mido.MetaMessage("time_signature", numerator=numerator, denominator=denominator),
        ]
    )
    if "key" in options:
        key = _KEY_NAMES[int(options["key"]) + 7]
        conductor.append(mido.MetaMessage("key_signature", key=key))
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS_PER_QUARTER)
    file.tracks = [conductor, *(track for track, _, _ in tracks)]
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def played(*parts: str, session: Session | None = None) -> PlayedScore:
    """Phrases as players would play them, through the real reading and listening."""
    options = [_track(text)[1] for text in parts]
    if session is None:
        session = Session(
            level=Level(options[0].get("level", "sight")),
            style=Style(options[0].get("style", "modern")),
        )
    score = read_bytes(midi_bytes(*parts), "phrase.mid")
    roles = assign_roles(score, session.tracks)
    names = {role.index: role.part for role in roles}
    players = {
        names[row + 1]: int(option["players"])
        for row, option in enumerate(options)
        if "players" in option
    }
    session = Session(**{**vars(session), "players": {**session.players, **players}})
    return play(score, session, roles)


def phrase(text: str, session: Session | None = None) -> PlayedPart:
    """One phrase as a played part."""
    return played(text, session=session).parts[0]


def findings(check_id: str, *parts: str, session: Session | None = None) -> list[Finding]:
    """Run one check over phrases; a crash inside it is raised."""
    from mockcheck.checks._registry import all_checks
    from mockcheck.checks._runner import run_checks

    chosen = {check_id: all_checks()[check_id]}
    score = played(*parts, session=session)
    return list(run_checks(score, chosen, raise_crashes=True).findings)
