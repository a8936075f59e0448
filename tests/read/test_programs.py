import pretty_midi
import pytest

from mockcheck.instruments import vocabulary
from mockcheck.model.notes import concatenate_notes
from mockcheck.read.programs import program_says
from tests.read.score_builder import notes

FIVE = "60 62 64 65 67"


# General MIDI System Level 1 program list, as the pretty_midi package prints it.
def test_program_names_are_the_published_ones() -> None:
    published = [pretty_midi.program_to_instrument_name(program) for program in range(128)]
    assert list(vocabulary().program_names) == [name.lower() for name in published]


# General MIDI System Level 1, programs counted from 0: 40 violin, 41 viola, 42 cello,
# 43 contrabass, 44 tremolo, 45 pizzicato, 48-51 ensembles, 110 fiddle; 46 is the harp.
@pytest.mark.parametrize(
    ("program", "instrument"),
    [
        (40, "violin"),
        (41, "viola"),
        (42, "cello"),
        (43, "double bass"),
        (44, "strings"),
        (45, "strings"),
        (46, None),
        (48, "strings"),
        (49, "strings"),
        (50, "strings"),
        (51, "strings"),
        (110, "violin"),
        (0, None),
        (32, None),
        (52, None),
    ],
)
def test_programs_mean_the_instruments_of_the_standard(
    program: int, instrument: str | None
) -> None:
    says = program_says(notes(FIVE, program=program))
    assert says is not None
    assert says.instrument == instrument
    assert says.program == program


def test_a_fiddle_is_one_player_and_a_synthetic_section_none() -> None:
    fiddle, section = (program_says(notes(FIVE, program=program)) for program in (110, 50))
    assert fiddle is not None
    assert section is not None
    assert (fiddle.is_solo, fiddle.is_synthetic) == (True, False)
    assert (section.is_solo, section.is_synthetic) == (False, True)


def test_a_violin_that_changes_to_pizzicato_stays_a_violin() -> None:
    table, _ = concatenate_notes([notes("67", program=40), notes("69 71 72", program=45)])
    says = program_says(table)
    assert says is not None
    assert (says.program, says.instrument) == (40, "violin")


def test_the_program_of_most_notes_counts() -> None:
    table, _ = concatenate_notes([notes("67", program=40), notes("69 71 72", program=0)])
    says = program_says(table)
    assert says is not None
    assert says.name == "acoustic grand piano"


def test_no_program_says_nothing() -> None:
    assert program_says(notes(FIVE)) is None
    assert program_says(notes("")) is None
