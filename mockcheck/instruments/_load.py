"""From the TOML files of this folder to records; every number and word is in the files."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from mockcheck.model.instrument import Instrument

if TYPE_CHECKING:
    from pydantic import BaseModel

    from mockcheck.instruments import _schema

    Model = TypeVar("Model", bound=BaseModel)

FOLDER = Path(__file__).parent
_SCORE_ORDER = ("violin", "viola", "cello", "double bass")
_SOURCED = ("open_strings", "string_length_mm", "comfortable_top", "section_top", "solo_top")


@dataclass(frozen=True)
class Naming:
    """How track lists, programs and register point to one instrument.

    Parameters
    ----------
    part
        What its part is called: 'Double Bass', for a variant too.
    variant_of
        The common kind, for an instrument that only `marks` in a name tell from it.
    names, solo_names, with_number, marks
        Words as written: plain names; names of one player; letters that mean it only with a
        number behind ('V1'); what tells a variant.
    doubtful
        Words that may mean it, each with what must not stand in the same file.
    programs
        General MIDI programs, counted from 0; `solo_programs` and `synthetic_programs` are some
        of them; `stroke_programs` are further ones, keyed by articulation.
    usual_pitch, usual_spread_semitones
        Where the middle of its parts lies, MIDI pitch, and how far that varies.
    """

    part: str
    variant_of: str | None
    names: tuple[str, ...]
    solo_names: tuple[str, ...]
    with_number: tuple[str, ...]
    marks: tuple[str, ...]
    doubtful: Mapping[str, frozenset[str]]
    programs: frozenset[int]
    solo_programs: frozenset[int]
    synthetic_programs: frozenset[int]
    stroke_programs: Mapping[str, int]
    usual_pitch: float
    usual_spread_semitones: float


@dataclass(frozen=True)
class Vocabulary:
    """What players, strokes, other instruments and programs are called, words as written.

    `namings` is keyed by instrument id, the other mappings by the word the report uses.
    `ordinals` and `roman` are keyed by number. Instruments in `gives_way_to_strings` lose against
    a string word in the same name, those in `gives_way_to_program` against a string program.
    """

    namings: Mapping[str, Naming]
    strokes: Mapping[str, tuple[str, ...]]
    colours: Mapping[str, tuple[str, ...]]
    manners: Mapping[str, tuple[str, ...]]
    only_strings: tuple[str, ...]
    other_instruments: Mapping[str, tuple[str, ...]]
    gives_way_to_strings: frozenset[str]
    gives_way_to_program: frozenset[str]
    solo: tuple[str, ...]
    divided: tuple[str, ...]
    desk: tuple[str, ...]
    joined: tuple[str, ...]
    passed_over: tuple[str, ...]
    placeholders: tuple[str, ...]
    titles: tuple[str, ...]
    ordinals: Mapping[int, tuple[str, ...]]
    roman: Mapping[int, str]
    program_names: tuple[str, ...]
    percussion_channel: int
    drum_set_programs: frozenset[int]


def load_instruments(folder: Path = FOLDER) -> dict[str, Instrument]:
    """Every instrument of a folder, in score order, the ensemble last.

    Raises ValueError that lists everything wrong with a file, or two files of one id.
    """
    return {
        file.id: Instrument(
            id=file.id,
            open_strings=tuple(file.open_strings.value),
            string_length_mm=float(file.string_length_mm.value),
            comfortable_top=file.comfortable_top.value,
            section_top=file.section_top.value,
            solo_top=file.solo_top.value,
            sources={field: getattr(file, field).source for field in _SOURCED},
            is_ensemble=file.is_ensemble,
        )
        for file in _instrument_files(folder)
    }


def load_vocabulary(folder: Path = FOLDER) -> Vocabulary:
    """Every word of a folder.

    Raises ValueError that lists everything wrong with a file.
    """
    from mockcheck.instruments import _schema

    words = _read(folder / "_track_words.toml", _schema.TrackWords)
    ways = _read(folder / "_articulations.toml", _schema.Articulations)
    others = _read(folder / "_other_instruments.toml", _schema.OtherInstruments)
    midi = _read(folder / "_general_midi.toml", _schema.GeneralMidiNames)
    return Vocabulary(
        namings={file.id: _naming(file) for file in _instrument_files(folder)},
        strokes=_tuples(ways.strokes),
        colours=_tuples(ways.colours),
        manners=_tuples(ways.manners),
        only_strings=tuple(ways.only_strings),
        other_instruments=_tuples(others.names),
        gives_way_to_strings=frozenset(others.gives_way_to_strings),
        gives_way_to_program=frozenset(others.gives_way_to_program),
        solo=tuple(words.solo),
        divided=tuple(words.divided),
        desk=tuple(words.desk),
        joined=tuple(words.joined),
        passed_over=tuple(words.passed_over),
        placeholders=tuple(words.placeholders),
        titles=tuple(words.titles),
        ordinals={int(number): tuple(found) for number, found in words.ordinals.items()},
        roman={int(number): numeral for number, numeral in words.roman.items()},
        program_names=tuple(midi.names),
        percussion_channel=midi.percussion_channel,
        drum_set_programs=frozenset(midi.drum_set_programs),
    )


def _naming(file: _schema.InstrumentFile) -> Naming:
    names = file.names
    return Naming(
        part=file.part,
        variant_of=file.variant_of,
        names=(*names.english, *names.italian, *names.german, *names.french, *names.further),
        solo_names=tuple(names.solo),
        with_number=tuple(names.with_number),
        marks=tuple(names.marks),
        doubtful={word: frozenset(d.not_beside) for d in file.doubtful for word in d.words},
        programs=frozenset(file.general_midi.programs),
        solo_programs=frozenset(file.general_midi.solo_programs),
        synthetic_programs=frozenset(file.general_midi.synthetic_programs),
        stroke_programs=file.general_midi.stroke_programs,
        usual_pitch=file.usual_pitch.value,
        usual_spread_semitones=file.usual_spread_semitones.value,
    )


def _instrument_files(folder: Path) -> list[_schema.InstrumentFile]:
    from mockcheck.instruments import _schema

    found: dict[str, _schema.InstrumentFile] = {}
    for path in sorted(folder.glob("[!_]*.toml")):
        file = _read(path, _schema.InstrumentFile)
        if file.id in found:
            message = f"{path}: a second file with the id '{file.id}'"
            raise ValueError(message)
        found[file.id] = file
    return sorted(found.values(), key=_score_place)


def _score_place(file: _schema.InstrumentFile) -> tuple[bool, int, str]:
    kind = file.variant_of or file.id
    place = _SCORE_ORDER.index(kind) if kind in _SCORE_ORDER else len(_SCORE_ORDER)
    return file.is_ensemble, place, file.id


def _read(path: Path, model: type[Model]) -> Model:
    from pydantic import ValidationError

    try:
        return model.model_validate(tomllib.loads(path.read_text(encoding="utf-8")))
    except ValidationError as error:
        lines = [f"{'.'.join(map(str, e['loc'])) or 'file'}: {e['msg']}" for e in error.errors()]
        raise ValueError("\n".join([f"{path}:", *lines])) from None


def _tuples(lists: Mapping[str, list[str]]) -> dict[str, tuple[str, ...]]:
    return {key: tuple(words) for key, words in lists.items()}
