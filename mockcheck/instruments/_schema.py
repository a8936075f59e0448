"""What the TOML files may hold; anything else in them is refused. Imported only while loading."""

from __future__ import annotations

from typing import Annotated, Generic, TypeVar

from pydantic import BaseModel, ConfigDict, Field, model_validator

T = TypeVar("T")
Words = list[Annotated[str, Field(min_length=1)]]
Pitch = Annotated[int, Field(ge=0, le=127)]
Program = Annotated[int, Field(ge=0, le=127)]


class _Strict(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


class Sourced(_Strict, Generic[T]):
    """One number and where it comes from."""

    value: T
    source: Annotated[str, Field(min_length=10)]


class GeneralMidi(_Strict):
    """Programs, counted from 0, that mean this instrument."""

    programs: list[Program]
    solo_programs: list[Program] = []
    synthetic_programs: list[Program] = []
    stroke_programs: dict[str, Program] = {}
    source: Annotated[str, Field(min_length=10)]


class Names(_Strict):
    """What track lists call it. `marks` tell a variant from the common kind."""

    english: Words = []
    italian: Words = []
    german: Words = []
    french: Words = []
    further: Words = []
    solo: Words = []
    with_number: Words = []
    marks: Words = []


class Doubtful(_Strict):
    """Words that may mean this instrument, but not in a file that also names one of the others."""

    words: Words
    not_beside: Words


class InstrumentFile(_Strict):
    """One instrument."""

    id: str
    part: str
    variant_of: str | None = None
    is_ensemble: bool = False
    open_strings: Sourced[Annotated[list[Pitch], Field(min_length=1)]]
    string_length_mm: Sourced[Annotated[int | float, Field(ge=0, le=1200)]]
    comfortable_top: Sourced[Pitch]
    section_top: Sourced[Pitch]
    solo_top: Sourced[Pitch]
    usual_pitch: Sourced[Pitch]
    usual_spread_semitones: Sourced[Annotated[int | float, Field(gt=0, le=24)]]
    general_midi: GeneralMidi
    names: Names
    doubtful: list[Doubtful] = []

    @model_validator(mode="after")
    def _is_in_order(self) -> InstrumentFile:
        strings = self.open_strings.value
        tops = [self.comfortable_top.value, self.section_top.value, self.solo_top.value]
        problems = []
        if strings != sorted(strings, reverse=True):
            problems.append("open_strings must run from the highest string to the lowest")
        if tops != sorted(tops) or tops[0] <= strings[0]:
            problems.append("the tops must rise, and lie above the open strings")
        if (self.string_length_mm.value == 0) != self.is_ensemble:
            problems.append("string_length_mm must be above 0, and 0 for an ensemble")
        if problems:
            raise ValueError("; ".join(problems))
        return self


class Articulations(_Strict):
    """Words for ways of playing."""

    only_strings: Words
    strokes: dict[str, Words]
    colours: dict[str, Words]
    manners: dict[str, Words]


class OtherInstruments(_Strict):
    """Words for everything else."""

    gives_way_to_strings: Words
    gives_way_to_program: Words
    names: dict[str, Words]


class GeneralMidiNames(_Strict):
    """The published list of programs."""

    percussion_channel: Annotated[int, Field(ge=1, le=16)]
    drum_set_programs: list[Program]
    names: Annotated[list[str], Field(min_length=128, max_length=128)]


class TrackWords(_Strict):
    """Words that number, single out or divide the players, or say nothing."""

    solo: Words
    divided: Words
    desk: Words
    joined: Words
    passed_over: Words
    placeholders: Words
    titles: Words
    ordinals: dict[str, Words]
    roman: dict[str, str]
