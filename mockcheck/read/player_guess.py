"""Who plays a row: name, program and notes weighed against each other."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from mockcheck.instruments import instrument, vocabulary
from mockcheck.read.note_profile import NoteProfile, note_profile
from mockcheck.read.programs import ProgramSays, program_says
from mockcheck.read.review_rows import ReviewRow
from mockcheck.read.track_names import ENSEMBLE, TrackName, read_name

# How much each piece of evidence counts, in log-odds; the confidence is the logistic function of
# their sum. Our weighting, no source: a plain name alone gives 0.93, a program alone 0.77.
_SOURCE_WEIGHTS = {
    "name": 2.6,
    "instrument name": 2.0,
    "program name": 1.8,
    "device name": 1.0,
}
_WEIGHTS = {
    "doubtful name": -1.8,
    "a work's title": -1.0,
    "bowing word": 0.6,
    "program": 1.2,
    "synthetic program": -0.6,
    "program agrees": 1.0,
    "program allows": 0.4,
    "program differs": -1.2,
    "percussion channel": -0.7,
    "percussion": 2.0,
    "nothing known": 0.0,
    "chosen by the notes": -0.8,
    "notes fit": 0.5,
    "notes stray": -0.6,
    "notes do not fit": -1.8,
}
_NOTES_FIT, _NOTES_STRAY = 0.95, 0.6
_CLEAR_REGISTER = 0.85
MOST_FROM_NOTES = 0.4
_LEAST_FROM_NOTES = 0.6
_NAME_IT = "name it in the brief if strings play it"


@dataclass(frozen=True)
class PlayerGuess:
    """Who plays a row, how sure that is, and why; `left_out` is the reason when nobody does.

    `name` is what the row's name says about section, desk and stroke.
    """

    instrument: str | None
    name: TrackName
    is_solo: bool
    confidence: float
    evidence: str
    left_out: str | None = None


@dataclass(frozen=True)
class _Row:
    """A row with all that is known of it."""

    row: ReviewRow
    source: str
    name: TrackName
    program: ProgramSays | None
    profile: NoteProfile

    @property
    def has_notes(self) -> bool:
        return len(self.row.notes) > 0

    @property
    def is_percussion(self) -> bool:
        return self.row.channels == (vocabulary().percussion_channel,)


@dataclass
class _Scale:
    """Evidence collected so far: the sum of weights, and the words for it."""

    weight: float
    words: list[str] = field(default_factory=list)

    def add(self, key: str, words: str = "") -> None:
        self.weight += _WEIGHTS[key]
        if words:
            self.words.append(words)

    @property
    def confidence(self) -> float:
        return round(1.0 / (1.0 + math.exp(-self.weight)), 2)


def guess_players(rows: tuple[ReviewRow, ...]) -> tuple[PlayerGuess, ...]:
    """A name counts more than a program, a program more than the notes.

    Parameters
    ----------
    rows
        All rows of the file, since one row's name can settle another's ('Bass').

    Returns
    -------
    One guess for each row. Source: common practice, no source.
    """
    known = [_gather(row) for row in rows]
    others = frozenset(row.name.other for row in known if row.name.other)
    has_strings = any(_speaks_for_strings(row) for row in known) or _has_string_title(rows)
    return tuple(_guess(row, others, has_strings) for row in known)


def _gather(row: ReviewRow) -> _Row:
    said = [(source, read_name(text)) for source, text in row.texts]
    said = said or [("name", TrackName(is_placeholder=True))]
    telling = [pair for pair in said if pair[1].instrument or pair[1].other]
    telling += [pair for pair in said if pair[1].has_bowing_word]
    source, name = (telling or said)[0]
    own = said[0][1]
    if own.manner and not name.manner:
        # The track name gives the stroke, another event the instrument.
        name = replace(name, articulation=own.articulation, manner=own.manner)
    return _Row(row, source, name, program_says(row.notes), note_profile(row.notes))


def _speaks_for_strings(row: _Row) -> bool:
    has_name = row.name.instrument is not None and not row.name.is_doubtful
    has_program = row.program is not None and row.program.instrument is not None
    return has_name or (has_program and not row.is_percussion)


def _has_string_title(rows: tuple[ReviewRow, ...]) -> bool:
    titles = {row.track.name for row in rows if row.track.name}
    return any(read_name(title).instrument == ENSEMBLE for title in titles)


def _guess(row: _Row, others: frozenset[str], has_strings: bool) -> PlayerGuess:
    if not row.has_notes:
        return PlayerGuess(None, row.name, row.name.is_solo, 1.0, "no notes", "no notes")
    if _names_other(row):
        reason = f"the {row.source} says {row.name.other}"
        return _left_out(row, reason, _SOURCE_WEIGHTS[row.source])
    if row.name.instrument is not None and _is_settled(row, others, has_strings):
        return _by_name(row)
    if row.name.has_bowing_word and not _is_other_program(row):
        return _by_bowing_word(row)
    if row.program is not None:
        return _by_program(row)
    if row.is_percussion:
        return _left_out(row, "percussion channel", _WEIGHTS["percussion"])
    return _by_notes(row, has_strings)


def _left_out(row: _Row, reason: str, weight: float) -> PlayerGuess:
    confidence = _Scale(weight).confidence
    return PlayerGuess(None, row.name, row.name.is_solo, confidence, reason, reason)


def _names_other(row: _Row) -> bool:
    """True when the name is another instrument's; beside strings the program decides."""
    name = row.name
    if name.other is None:
        return False
    if name.instrument is None:
        gives_way = name.other in vocabulary().gives_way_to_program
        return not (gives_way and row.program is not None)
    if row.program is not None:
        return row.program.instrument is None
    return name.ends_on_other


def _is_other_program(row: _Row) -> bool:
    return row.program is not None and row.program.instrument is None


def _is_settled(row: _Row, others: frozenset[str], has_strings: bool) -> bool:
    """True unless a word such as 'Bass' stands without support."""
    if not row.name.is_doubtful:
        return True
    if row.program is not None:
        return row.program.instrument in (_kind(row.name.instrument), ENSEMBLE)
    return has_strings and not row.name.not_beside & others


def _by_name(row: _Row) -> PlayerGuess:
    who = row.name.instrument
    assert who is not None  # the caller saw one
    said = "Solo " if row.name.is_solo else ""
    said += vocabulary().namings[who].part + (f" {row.name.section}" if row.name.section else "")
    scale = _Scale(_SOURCE_WEIGHTS[row.source], [f"the {row.source} says {said}"])
    if row.name.is_doubtful:
        scale.add("doubtful name")
    if row.name.is_title:
        scale.add("a work's title")
    _weigh_program(scale, row, who)
    return _seat(row, who, scale)


def _weigh_program(scale: _Scale, row: _Row, who: str) -> None:
    says = row.program
    if says is None or (row.is_percussion and says.instrument is None):
        return
    if says.instrument == _kind(who):
        scale.add("program agrees", "the program agrees")
    elif says.instrument == ENSEMBLE:
        scale.add("program allows", f"the program says {says.name}")
    else:
        scale.add("program differs", f"the program says {says.name}")


def _by_bowing_word(row: _Row) -> PlayerGuess:
    """A stroke in the name ('Pizz') and perhaps a program, but no instrument in the name."""
    scale = _Scale(
        _WEIGHTS["bowing word"], [f"the {row.source} says {row.name.manner or 'strings'}"]
    )
    says = row.program
    if says is None:
        return _choose_by_notes(row, scale)
    scale.add("program", f"the program says {says.name}")
    if says.instrument == ENSEMBLE and says.stroke:
        return _choose_by_notes(row, scale)
    return _seat(row, says.instrument or ENSEMBLE, scale)


def _by_program(row: _Row) -> PlayerGuess:
    says = row.program
    assert says is not None  # the caller saw one
    if says.instrument is None or _is_drum_set(row, says):
        reason = f"program {says.program} {says.name}"
        if row.is_percussion:
            return _left_out(row, "percussion channel", _WEIGHTS["percussion"])
        return _left_out(row, reason, _WEIGHTS["program"])
    scale = _Scale(0.0)
    scale.add("program", f"the program says {says.name}")
    if says.is_synthetic:
        scale.add("synthetic program")
    if row.name.is_doubtful:
        scale.words.append(f"the {row.source} might mean {row.name.instrument}")
    elif row.name.is_placeholder:
        scale.words.append("the track has no name of its own")
    else:
        scale.words.append("the name says nothing about who plays")
    if says.stroke:
        return _choose_by_notes(row, scale)
    return _seat(row, says.instrument, scale, is_solo=says.is_solo)


def _is_drum_set(row: _Row, says: ProgramSays) -> bool:
    """On the percussion channel some program numbers are drum sets (General MIDI Level 2).

    Drum keys start at 35, under the violin, so that violin notes alone betray a violin.
    """
    if not row.is_percussion or says.program not in vocabulary().drum_set_programs:
        return False
    is_player = says.instrument not in (None, ENSEMBLE)
    return not is_player or row.profile.share_inside(instrument(says.label)) < _NOTES_FIT


def _by_notes(row: _Row, has_strings: bool) -> PlayerGuess:
    who, clearness = row.profile.likeliest()
    if row.name.is_doubtful:
        reason = f"the {row.source} may or may not mean {row.name.instrument}"
    elif not row.name.is_placeholder:
        reason = "the name names no instrument and there is no program"
    elif not has_strings:
        reason = "nothing in the file says strings"
    elif who == ENSEMBLE or clearness < _LEAST_FROM_NOTES:
        reason = "neither name nor program, and the notes do not tell"
    else:
        evidence = f"only the notes speak: they lie where a {who} plays"
        confidence = round(MOST_FROM_NOTES * clearness, 2)
        return PlayerGuess(who, row.name, row.name.is_solo, confidence, evidence)
    return _left_out(row, f"{reason}; {_NAME_IT}", _WEIGHTS["nothing known"])


def _choose_by_notes(row: _Row, scale: _Scale) -> PlayerGuess:
    """Which instrument a section patch is, where its notes single one out."""
    who, clearness = row.profile.likeliest()
    if who == ENSEMBLE or clearness < _CLEAR_REGISTER:
        return _seat(row, ENSEMBLE, scale)
    scale.add("chosen by the notes", f"only the range says {who}")
    return _seat(row, who, scale)


def _seat(row: _Row, who: str, scale: _Scale, is_solo: bool = False) -> PlayerGuess:
    if row.is_percussion:
        scale.add("percussion channel", "on the percussion channel")
    inside = row.profile.share_inside(instrument(who))
    if inside >= _NOTES_FIT:
        scale.add("notes fit")
    else:
        outside = f"{100 * (1 - inside):.0f} % of the notes lie outside its range"
        scale.add("notes stray" if inside >= _NOTES_STRAY else "notes do not fit", outside)
    return PlayerGuess(
        instrument=who,
        name=row.name,
        is_solo=(row.name.is_solo or is_solo) and who != ENSEMBLE,
        confidence=scale.confidence,
        evidence=", ".join(scale.words),
    )


def _kind(who: str | None) -> str | None:
    """The common kind of a variant: 'double bass' for the one with five strings."""
    return who if who is None else vocabulary().namings[who].variant_of or who
