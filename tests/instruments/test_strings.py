import pretty_midi

from mockcheck.instruments import instrument, instrument_ids, vocabulary

STRINGS = instrument("strings")


def test_the_body_reaches_from_the_bass_to_the_violin() -> None:
    assert STRINGS.is_ensemble
    assert STRINGS.lowest == instrument("double bass").lowest
    violin = instrument("violin")
    assert (STRINGS.comfortable_top, STRINGS.section_top, STRINGS.solo_top) == (
        violin.comfortable_top,
        violin.section_top,
        violin.solo_top,
    )


def test_it_is_the_only_ensemble_and_comes_last() -> None:
    ensembles = [name for name in instrument_ids() if instrument(name).is_ensemble]
    assert ensembles == ["strings"] == [instrument_ids()[-1]]


# General MIDI System Level 1 program list, as the pretty_midi package prints it.
def test_its_programs_are_the_section_sounds_of_the_standard() -> None:
    naming = vocabulary().namings["strings"]
    names = {p: pretty_midi.program_to_instrument_name(p) for p in range(128)}
    assert naming.programs == {
        program
        for program, name in names.items()
        if name.startswith(("String Ensemble", "Synth Strings"))
    }
    assert {names[program] for program in naming.synthetic_programs} == {
        "Synth Strings 1",
        "Synth Strings 2",
    }
    assert {stroke: names[p] for stroke, p in naming.stroke_programs.items()} == {
        "tremolo": "Tremolo Strings",
        "pizzicato": "Pizzicato Strings",
    }
