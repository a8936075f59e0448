import pytest

from mockcheck.model.score import Track
from mockcheck.read.player_guess import PlayerGuess, guess_players
from mockcheck.read.review_rows import review_rows
from tests.read.score_builder import score, track

HIGH, MIDDLE, LOW, DEEP = "74 76 79 81 74", "62 60 64 59 62", "48 50 53 45 43", "33 36 38 40 31"


def guesses(*tracks: Track, smf_format: int = 1) -> tuple[PlayerGuess, ...]:
    return guess_players(review_rows(score(*tracks, smf_format=smf_format)))


def guess(given: Track) -> PlayerGuess:
    return guesses(given)[0]


def test_more_evidence_makes_a_guess_surer() -> None:
    both = guess(track("Violin", HIGH, program=40)).confidence
    section = guess(track("Violin", HIGH, program=48)).confidence
    name = guess(track("Violin", HIGH)).confidence
    against = guess(track("Violin", HIGH, program=73)).confidence
    program = guess(track(None, HIGH, program=40)).confidence
    assert 1.0 > both > section > name > against > program > 0.5


def test_the_name_wins_over_the_program_and_both_are_told() -> None:
    said = guess(track("Solo Cello", LOW, program=4))
    assert (said.instrument, said.is_solo) == ("cello", True)
    assert said.evidence == "the name says Solo Cello, the program says electric piano 1"
    assert said.confidence < guess(track("Solo Cello", LOW)).confidence


def test_another_instruments_name_wins_over_a_string_program() -> None:
    said = guess(track("Flute", HIGH, program=48))
    assert (said.instrument, said.left_out) == (None, "the name says flute")


def test_a_name_of_strings_and_something_else_goes_by_the_program() -> None:
    assert guess(track("Violin Flute", HIGH, program=40)).instrument == "violin"
    assert guess(track("Violin Flute", HIGH, program=73)).left_out == "the name says flute"
    assert guess(track("Violin Flute", HIGH)).left_out == "the name says flute"
    assert guess(track("Flute / Violin", HIGH)).instrument == "violin"


def test_notes_outside_the_range_make_a_guess_unsure_and_are_told() -> None:
    # The violin's lowest string is G3 = 55: music21 instrument tables.
    said = guess(track("Violin", "40 43 45 47 48"))
    assert said.instrument == "violin"
    assert said.confidence < 0.8
    assert "100 % of the notes lie outside its range" in said.evidence


def test_switch_keys_do_not_make_a_guess_unsure() -> None:
    said = guess(track("Violin", f"24 {HIGH} 26 {HIGH}"))
    assert said.confidence == guess(track("Violin", HIGH)).confidence


def test_instrument_name_events_speak_where_the_name_is_silent() -> None:
    said = guess(track("Track 1", HIGH, instrument_name="Solo violin"))
    assert (said.instrument, said.is_solo) == ("violin", True)
    assert said.evidence.startswith("the instrument name says")
    assert guess(track("Viola", MIDDLE, instrument_name="Violin")).instrument == "viola"


def test_the_stroke_of_the_track_name_is_kept_with_the_instrument_name() -> None:
    said = guess(track("legato", HIGH, instrument_name="Violin 1"))
    assert (said.name.section, said.name.articulation) == (1, "legato")


# General MIDI System Level 1: 44 tremolo strings, 45 pizzicato strings, 110 fiddle.
def test_a_section_patch_is_one_instrument_only_where_its_notes_are_clear() -> None:
    assert guess(track(None, HIGH, program=44)).instrument == "violin"
    assert guess(track(None, LOW, program=45)).instrument == "cello"
    assert guess(track(None, "50 55 57 60 62 58", program=45)).instrument == "strings"
    assert guess(track(None, "60+64+67 62+65+69 60+64+67", program=44)).instrument == "strings"
    assert guess(track("Viola", HIGH, program=45)).instrument == "viola"


def test_a_guess_from_the_range_is_less_sure_than_one_from_the_program() -> None:
    chosen = guess(track(None, HIGH, program=44))
    assert "only the range says violin" in chosen.evidence
    assert chosen.confidence < guess(track(None, HIGH, program=40)).confidence


def test_an_ensemble_program_stays_the_whole_body_whatever_the_range() -> None:
    assert guess(track("Echo", HIGH, program=48)).instrument == "strings"
    assert guess(track("Pad", HIGH, program=49)).instrument == "strings"


def test_a_fiddle_program_is_a_solo_violin() -> None:
    said = guess(track(None, HIGH, program=110))
    assert (said.instrument, said.is_solo) == ("violin", True)


def test_a_word_that_only_strings_use_is_evidence() -> None:
    said = guess(track("pizz", LOW))
    assert said.instrument == "cello"
    assert said.confidence < 0.7
    assert guess(track("pizz", HIGH, program=46)).left_out == "program 46 orchestral harp"
    assert guess(track("spicc", MIDDLE, program=41)).instrument == "viola"


def test_other_programs_are_left_out_by_number_and_name() -> None:
    assert guess(track(None, HIGH)).left_out is not None
    assert guess(track(None, HIGH, program=0)).left_out == "program 0 acoustic grand piano"
    assert guess(track("Melody", HIGH, program=99)).left_out == "program 99 fx 4 (atmosphere)"


# General MIDI System Level 1: channel 10 is percussion; sequencers deal strings onto it too
# (common practice). General MIDI Level 2: 40 and 48 are drum sets there.
def test_strings_that_landed_on_the_percussion_channel_stay_strings() -> None:
    named = guess(track("Violas", MIDDLE, channel=10))
    assert named.instrument == "viola"
    assert "percussion channel" in named.evidence
    assert guess(track(None, MIDDLE, channel=10, program=41)).instrument == "viola"
    assert guess(track(None, HIGH, channel=10, program=40)).instrument == "violin"
    assert guess(track("Violin", HIGH, channel=10, program=0)).instrument == "violin"


def test_drums_are_left_out() -> None:
    drums = "36 42 38 42 36"
    assert guess(track(None, drums, channel=10)).left_out == "percussion channel"
    assert guess(track(None, drums, channel=10, program=48)).left_out == "percussion channel"
    assert guess(track(None, drums, channel=10, program=40)).left_out == "percussion channel"
    assert guess(track(None, drums, channel=10, program=0)).left_out == "percussion channel"


def test_bass_and_alto_are_strings_only_in_company() -> None:
    alone = guess(track("Bass", DEEP))
    assert alone.instrument is None
    assert "double bass" in str(alone.left_out)
    assert "brief" in str(alone.left_out)
    assert guess(track("Bass", DEEP, program=43)).instrument == "double bass"
    assert guess(track("Bass", DEEP, program=48)).instrument == "double bass"
    assert guess(track("Bass", DEEP, program=33)).left_out == "program 33 electric bass (finger)"
    assert guess(track("Alto", MIDDLE, program=41)).instrument == "viola"
    assert guess(track("Alto", MIDDLE, program=52)).left_out == "program 52 choir aahs"


def test_a_doubtful_word_gives_way_to_a_clear_program_and_is_told() -> None:
    said = guess(track("Alto", LOW, program=42))
    assert said.instrument == "cello"
    assert "might mean viola" in said.evidence


def test_an_orchestra_has_a_double_bass_and_a_band_a_bass_guitar() -> None:
    players = [track("Violin 1", HIGH), track("Cello", LOW), track("Bass", DEEP)]
    assert guesses(*players)[2].instrument == "double bass"
    assert guesses(*players, track("Timpani", DEEP))[2].instrument == "double bass"
    assert guesses(*players)[2].confidence < guesses(*players)[1].confidence
    assert guesses(*players, track("Electric Guitar", HIGH))[2].instrument is None
    assert guesses(*players, track("Soprano", HIGH))[2].instrument is None
    quartet = [track("Violon 1", HIGH), track("Alto", MIDDLE), track("Violoncelle", LOW)]
    assert guesses(*quartet)[1].instrument == "viola"
    assert guesses(*quartet, track("Ténor", MIDDLE))[1].instrument is None


def test_notes_alone_decide_softly_and_say_so() -> None:
    said = guesses(track("Violin 1", HIGH), track(None, LOW))[1]
    assert said.instrument == "cello"
    assert said.confidence <= 0.4
    assert "only the notes speak" in said.evidence


@pytest.mark.parametrize("title", ["String Quartet in A", "Streichquartett"])
def test_a_title_is_evidence_that_there_are_strings(title: str) -> None:
    assert guesses(track(title), track(None, LOW))[1].instrument == "cello"


def test_notes_alone_do_not_decide_without_strings_in_the_file() -> None:
    said = guesses(track(None, HIGH), track(None, LOW))
    assert [one.instrument for one in said] == [None, None]
    assert all("brief" in str(one.left_out) for one in said)


def test_notes_alone_do_not_decide_against_an_unknown_name() -> None:
    said = guesses(track("Violin 1", HIGH), track("Aurora", HIGH))[1]
    assert said.instrument is None
    assert "brief" in str(said.left_out)


def test_notes_alone_do_not_decide_on_chords_or_between_two_instruments() -> None:
    chords = "60+64+67 62+65+69 60+64+67 59+62+67"
    for music in (chords, "110 112 115 120"):
        assert guesses(track("Violin 1", HIGH), track(None, music))[1].instrument is None


def test_the_title_of_a_work_is_a_weaker_name() -> None:
    sonata = guess(track("Violin Sonata", HIGH))
    assert sonata.instrument == "violin"
    assert sonata.confidence < guess(track("Violin", HIGH)).confidence


def test_a_variant_agrees_with_the_program_of_its_kind() -> None:
    said = guess(track("Double Bass 5-string", "23 28 33 36 31", program=43))
    assert said.instrument == "double bass 5-string"
    assert "the program agrees" in said.evidence


def test_confidence_is_a_share_for_every_kind_of_row() -> None:
    rows = guesses(
        track("Violin", HIGH, program=40),
        track("Flute", HIGH),
        track(),
        track(None, HIGH),
        track(None, HIGH, program=0),
        track("Bass", DEEP),
        track(None, HIGH, channel=10),
    )
    for row in rows:
        assert 0.0 <= row.confidence <= 1.0
        assert row.evidence
        assert (row.instrument is None) == (row.left_out is not None)
