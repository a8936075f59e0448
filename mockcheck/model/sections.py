"""How many players sit in each string section, as a booking writes it: 8.8.5.4.3."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import astuple, dataclass
from types import MappingProxyType

_NUMBERS = re.compile(r"\d{1,3}(?:\s*[./,-]\s*\d{1,3}){4}")
_MOST = 200


@dataclass(frozen=True)
class SectionSizes:
    """Players of each section, zero for one that is not booked."""

    violin_1: int
    violin_2: int
    viola: int
    cello: int
    double_bass: int

    @property
    def total(self) -> int:
        """Players of the whole body of strings."""
        return sum(astuple(self))

    def of(self, instrument_id: str, *, is_second: bool = False) -> int:
        """Players of the section of an instrument; `is_second` asks for the second violins."""
        if instrument_id == "violin":
            return self.violin_2 if is_second else self.violin_1
        if instrument_id.startswith("double bass"):
            return self.double_bass
        return {"viola": self.viola, "cello": self.cello}.get(instrument_id, 1)


SECTION_PRESETS: Mapping[str, SectionSizes] = MappingProxyType(
    {
        "string quartet": SectionSizes(1, 1, 1, 1, 0),
        "small studio": SectionSizes(8, 8, 5, 4, 3),
        "chamber orchestra": SectionSizes(8, 6, 4, 4, 2),
        "studio": SectionSizes(12, 12, 10, 8, 5),
        "medium orchestra": SectionSizes(12, 10, 8, 6, 4),
        "symphony": SectionSizes(16, 14, 12, 10, 8),
    }
)
"""Sizes with a name. Sources: the two of the studio, contractor's note The Size of a String Section
(2010); medium orchestra and symphony, Rimsky-Korsakov, Principles of Orchestration, chapter 1 A,
with the fewest basses; the others common practice, no source."""


def read_sections(text: str) -> SectionSizes:
    """Read '8.8.5.4.3' (or with - / or commas) or the name of a preset.

    The order is that of the score: first violins, second violins, violas, cellos, double basses.
    Raises ValueError, with the accepted forms in its text, for anything else.
    """
    wanted = " ".join(text.split()).casefold()
    if wanted in SECTION_PRESETS:
        return SECTION_PRESETS[wanted]
    if _NUMBERS.fullmatch(wanted):
        sizes = SectionSizes(*(int(number) for number in re.findall(r"\d+", wanted)))
        if sizes.total and max(astuple(sizes)) <= _MOST:
            return sizes
    message = (
        'sections is a text of five numbers from 0 to 200, as in "8.8.5.4.3" (violins 1, violins'
        f" 2, violas, cellos, basses), or one of: {', '.join(SECTION_PRESETS)}"
    )
    raise ValueError(message)
