"""What a rubric may ask of a whole submission: a closed list of kinds, each with its numbers.

The same kinds serve as requirements, which cost points where they are not met, and as good
practice, which earns some.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

from mockcheck.checks._registry import all_checks
from mockcheck.grade.submission import Mark, Submission
from mockcheck.instruments import instrument_ids
from mockcheck.model.finding import FAMILIES, Severity
from mockcheck.model.words import count_of

SeverityWord = Literal["remark", "awkward", "risky", "impossible"]


@dataclass(frozen=True)
class Verdict:
    """How far a condition is met.

    Parameters
    ----------
    share
        0-1; 1 is met in full. None where the file does not tell.
    found
        What was found, in words.
    marks
        The findings that decide it.
    """

    share: float | None
    found: str
    marks: tuple[Mark, ...] = ()


class _Condition(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    points: float = Field(gt=0, le=1000)

    @property
    def wanted(self) -> str:
        """What is asked, as a line of a page."""
        raise NotImplementedError

    def judge(self, work: Submission) -> Verdict:
        """How far a submission meets it."""
        raise NotImplementedError


class _Between(_Condition):
    """A number with a least, a most, or both; short of the least, the share reached counts."""

    at_least: float | None = Field(None, gt=0)
    at_most: float | None = Field(None, gt=0)

    @model_validator(mode="after")
    def _has_a_limit(self) -> _Between:
        if self.at_least is None and self.at_most is None:
            message = "give at_least, at_most, or both"
            raise ValueError(message)
        if None not in (self.at_least, self.at_most) and self.at_least > self.at_most:  # type: ignore[operator]  # both are there
            message = "at_least is more than at_most"
            raise ValueError(message)
        return self

    def _limits(self, unit: str) -> str:
        if self.at_most is None:
            return f"at least {self.at_least:g} {unit}"
        if self.at_least is None:
            return f"at most {self.at_most:g} {unit}"
        return f"{self.at_least:g} to {self.at_most:g} {unit}"

    def _share(self, number: float) -> float:
        if self.at_least is not None and number < self.at_least:
            return max(number, 0) / self.at_least
        return self.at_most / number if self.at_most is not None and number > self.at_most else 1.0


class Bars(_Between):
    """Bars from the first note to the last, empty bars in front not counted."""

    kind: Literal["bars"]

    @property
    def wanted(self) -> str:
        """What is asked."""
        return f"The piece has {self._limits('bars')}"

    def judge(self, work: Submission) -> Verdict:
        """The share of the bars that are there."""
        if work.bars is None:
            return Verdict(None, "the file has no bars to count")
        return Verdict(self._share(work.bars), count_of(work.bars, "bar"))


class PlayedBars(_Between):
    """Bars in which a part plays, added over the parts."""

    kind: Literal["played_bars"]

    @property
    def wanted(self) -> str:
        """What is asked."""
        return f"The parts together have {self._limits('bars')} of playing"

    def judge(self, work: Submission) -> Verdict:
        """The share of the playing that is there."""
        return Verdict(self._share(work.played_bars), f"{work.played_bars:.4g} bars of playing")


class Length(_Between):
    """Seconds from the first note to the last."""

    kind: Literal["length_s"]

    @property
    def wanted(self) -> str:
        """What is asked."""
        return f"The piece lasts {self._limits('seconds')}"

    def judge(self, work: Submission) -> Verdict:
        """The share of the seconds that are there."""
        return Verdict(self._share(work.seconds), f"{work.seconds:.0f} seconds")


class Parts(_Between):
    """Parts that play."""

    kind: Literal["parts"]

    @property
    def wanted(self) -> str:
        """What is asked."""
        return f"The piece has {self._limits('parts')}"

    def judge(self, work: Submission) -> Verdict:
        """The share of the parts that are there."""
        return Verdict(self._share(len(work.parts)), ", ".join(work.parts) or "no part")


class Articulations(_Condition):
    """Different ways of playing, each heard for some seconds."""

    kind: Literal["articulations"]
    at_least: int = Field(ge=1, le=20)
    each_s: float = Field(1.0, ge=0, le=600)

    @property
    def wanted(self) -> str:
        """What is asked."""
        return f"At least {count_of(self.at_least, 'articulation')} are used"

    def judge(self, work: Submission) -> Verdict:
        """The share of the articulations that are heard."""
        heard = sorted(name for name, s in work.strokes_s.items() if s >= self.each_s)
        found = f"{len(heard)} heard ({', '.join(heard)})" if heard else "none heard"
        return Verdict(min(len(heard) / self.at_least, 1.0), found)


class Instruments(_Condition):
    """Instruments that have to play."""

    kind: Literal["instruments"]
    names: tuple[str, ...] = Field(min_length=1)

    @field_validator("names")
    @classmethod
    def _known(cls, names: tuple[str, ...]) -> tuple[str, ...]:
        unknown = [name for name in names if name not in instrument_ids()]
        if unknown:
            message = f"no such instrument: {unknown[0]!r}; known are {', '.join(instrument_ids())}"
            raise ValueError(message)
        return names

    @property
    def wanted(self) -> str:
        """What is asked."""
        return f"These instruments play: {', '.join(self.names)}"

    def judge(self, work: Submission) -> Verdict:
        """The share of the instruments that play."""
        missing = [name for name in self.names if name not in work.instruments]
        found = f"not there: {', '.join(missing)}" if missing else "all of them play"
        return Verdict(1 - len(missing) / len(self.names), found)


class _NoMarks(_Condition):
    """Findings of some kind that must not be there; accepted ones do not count."""

    at_most: int = Field(0, ge=0, le=10000)

    def _checks(self) -> tuple[str, ...]:
        raise NotImplementedError

    def _from(self) -> Severity:
        return Severity.REMARK

    def _none_found(self) -> str:
        return "nothing found"

    def judge(self, work: Submission) -> Verdict:
        """Met when no more of these findings are there than the rubric lets pass."""
        checks = self._checks()
        if checks and not any(work.could_look(name) for name in checks):
            return Verdict(None, "mockcheck could not look for this")
        marks = tuple(
            mark
            for mark in work.marks()
            if mark.finding.check in checks
            and mark.finding.severity >= self._from()
            and mark.finding.accepted is None
        )
        found = f"{count_of(len(marks), 'finding')}" if marks else self._none_found()
        return Verdict(float(len(marks) <= self.at_most), found, marks)


class WithinRange(_NoMarks):
    """Every note lies where the players of that part should be asked for it."""

    kind: Literal["within_range"]
    severity: SeverityWord = "risky"

    @property
    def wanted(self) -> str:
        """What is asked."""
        return "Every part keeps within the range of its section"

    def _checks(self) -> tuple[str, ...]:
        return ("note-above-range", "note-below-open-string")

    def _from(self) -> Severity:
        return Severity[self.severity.upper()]


class Dynamics(_NoMarks):
    """No part stays at one loudness throughout."""

    kind: Literal["dynamics"]

    @property
    def wanted(self) -> str:
        """What is asked."""
        return "The dynamics of every part move"

    def _checks(self) -> tuple[str, ...]:
        return ("dynamics-never-change",)

    def _none_found(self) -> str:
        return "no part stays at one loudness"


class NoFindings(_NoMarks):
    """A family or a check without a finding of some severity."""

    kind: Literal["no_findings"]
    family: Literal[*FAMILIES] | None = None  # type: ignore[valid-type]
    check: str | None = None
    severity: SeverityWord = "remark"

    @model_validator(mode="after")
    def _one_kind(self) -> NoFindings:
        if (self.family is None) == (self.check is None):
            message = "name either a family or a check"
            raise ValueError(message)
        if self.check is not None and self.check not in all_checks():
            message = f"there is no check '{self.check}'; see `mockcheck checks`"
            raise ValueError(message)
        return self

    @property
    def wanted(self) -> str:
        """What is asked."""
        about = f"of {self.check}" if self.check else f"about {self.family}"
        worse = "" if self.severity == "remark" else f" that is {self.severity} or worse"
        most = f"No more than {count_of(self.at_most, 'finding')}" if self.at_most else "No finding"
        return f"{most} {about}{worse}"

    def _checks(self) -> tuple[str, ...]:
        if self.check is not None:
            return (self.check,)
        return tuple(c.id for c in all_checks().values() if c.family == self.family)

    def _from(self) -> Severity:
        return Severity[self.severity.upper()]


class Headroom(_Condition):
    """How much faster than written every part could be played."""

    kind: Literal["headroom"]
    at_least: float = Field(gt=0, le=10)

    @property
    def wanted(self) -> str:
        """What is asked."""
        return f"Every part could be played at {self.at_least:g} times the tempo"

    def judge(self, work: Submission) -> Verdict:
        """The share of that tempo which the tightest part reaches."""
        if work.headroom is None:
            return Verdict(None, "no part says how fast it goes")
        share = min(work.headroom / self.at_least, 1.0)
        return Verdict(share, f"the tightest goes at {work.headroom:.2f} times the tempo")


Condition = Annotated[
    Bars
    | PlayedBars
    | Length
    | Parts
    | Articulations
    | Instruments
    | WithinRange
    | Dynamics
    | NoFindings
    | Headroom,
    Field(discriminator="kind"),
]


def kinds_of_condition() -> Iterator[str]:
    """The closed list, for messages."""
    for model in (
        Bars, PlayedBars, Length, Parts, Articulations, Instruments, WithinRange, Dynamics,
        NoFindings, Headroom,
    ):  # fmt: skip
        yield from model.model_fields["kind"].annotation.__args__  # type: ignore[union-attr]
