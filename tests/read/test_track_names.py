import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.instruments import instrument_ids, vocabulary
from mockcheck.model.played import ARTICULATIONS
from mockcheck.read._tokens import fold
from mockcheck.read.track_names import read_name

VIOLIN, VIOLA, CELLO, BASS, STRINGS = "violin", "viola", "cello", "double bass", "strings"

# Names as orchestral scores and sequencer templates write them: common practice, no source.
# name -> instrument, section, desk, solo, articulation
PLAYERS = {
    # English
    "Violin": (VIOLIN, None, "", False, None),
    "Violins": (VIOLIN, None, "", False, None),
    "Violin 1": (VIOLIN, 1, "", False, None),
    "Violin I": (VIOLIN, 1, "", False, None),
    "Violin II": (VIOLIN, 2, "", False, None),
    "VIOLIN_2": (VIOLIN, 2, "", False, None),
    "violin-1": (VIOLIN, 1, "", False, None),
    "Violin (2)": (VIOLIN, 2, "", False, None),
    "Violin No. 2": (VIOLIN, 2, "", False, None),
    "1st Violins": (VIOLIN, 1, "", False, None),
    "2nd Violin": (VIOLIN, 2, "", False, None),
    "First Violins": (VIOLIN, 1, "", False, None),
    "Second Violins": (VIOLIN, 2, "", False, None),
    "Violins 1st": (VIOLIN, 1, "", False, None),
    "Violins 1 & 2": (VIOLIN, None, "", False, None),
    "Violins I/II": (VIOLIN, None, "", False, None),
    "Vln": (VIOLIN, None, "", False, None),
    "Vln 1": (VIOLIN, 1, "", False, None),
    "Vln. II": (VIOLIN, 2, "", False, None),
    "VLN2": (VIOLIN, 2, "", False, None),
    "VlnII": (VIOLIN, 2, "", False, None),
    "Vlns I": (VIOLIN, 1, "", False, None),
    "vn 2": (VIOLIN, 2, "", False, None),
    "Vl. 1": (VIOLIN, 1, "", False, None),
    "V1": (VIOLIN, 1, "", False, None),
    "V2": (VIOLIN, 2, "", False, None),
    "SEC Vlns": (VIOLIN, None, "", False, None),
    "01 - Vln I": (VIOLIN, 1, "", False, None),
    "07_Violin 2": (VIOLIN, 2, "", False, None),
    "12 Viola": (VIOLA, None, "", False, None),
    "3. Viola": (VIOLA, None, "", False, None),
    "Violin A": (VIOLIN, 1, "", False, None),
    "Violin B": (VIOLIN, 2, "", False, None),
    "Vln 1 A": (VIOLIN, 1, "a", False, None),
    "Vln 1b": (VIOLIN, 1, "b", False, None),
    "Vln IIa": (VIOLIN, 2, "a", False, None),
    "Vln 1 div. a": (VIOLIN, 1, "a", False, None),
    "Violin 2 (div. 2)": (VIOLIN, 2, "b", False, None),
    "Violin 1 desk 3": (VIOLIN, 1, "desk 3", False, None),
    "Violas div a": (VIOLA, None, "a", False, None),
    "Viola B": (VIOLA, None, "b", False, None),
    "Celli div. 1": (CELLO, None, "a", False, None),
    "Vln 1 a2": (VIOLIN, 1, "", False, None),
    "Solo Violin": (VIOLIN, None, "", True, None),
    "Violin Solo": (VIOLIN, None, "", True, None),
    "Vln solo": (VIOLIN, None, "", True, None),
    "Solo Vln 2": (VIOLIN, 2, "", True, None),
    "Fiddle": (VIOLIN, None, "", True, None),
    "Concertmaster Violin": (VIOLIN, None, "", True, None),
    "Viola": (VIOLA, None, "", False, None),
    "Violas": (VIOLA, None, "", False, None),
    "Vla": (VIOLA, None, "", False, None),
    "Vlas.": (VIOLA, None, "", False, None),
    "Va": (VIOLA, None, "", False, None),
    "viola 2": (VIOLA, 2, "", False, None),
    "Solo Viola": (VIOLA, None, "", True, None),
    "Cello": (CELLO, None, "", False, None),
    "Cellos": (CELLO, None, "", False, None),
    "'Cello": (CELLO, None, "", False, None),
    "Celli": (CELLO, None, "", False, None),
    "Vc": (CELLO, None, "", False, None),
    "VCs": (CELLO, None, "", False, None),
    "Vlc.": (CELLO, None, "", False, None),
    "Violoncello": (CELLO, None, "", False, None),
    "Cello 2": (CELLO, 2, "", False, None),
    "Solo Cello": (CELLO, None, "", True, None),
    "Double Bass": (BASS, None, "", False, None),
    "Double Basses": (BASS, None, "", False, None),
    "Doublebass": (BASS, None, "", False, None),
    "DoubleBass": (BASS, None, "", False, None),
    "Contrabass": (BASS, None, "", False, None),
    "String Bass": (BASS, None, "", False, None),
    "Upright Bass": (BASS, None, "", False, None),
    "Str. Bass": (BASS, None, "", False, None),
    "DB": (BASS, None, "", False, None),
    "D.B.": (BASS, None, "", False, None),
    "Cb.": (BASS, None, "", False, None),
    "D. Bass": (BASS, None, "", False, None),
    "Bass pizz": (BASS, None, "", False, "pizzicato"),
    "Bass arco": (BASS, None, "", False, None),
    "Double Bass 5-string": ("double bass 5-string", None, "", False, None),
    "5-str. Bass pizz.": ("double bass 5-string", None, "", False, "pizzicato"),
    "Contrabass (C extension)": ("double bass C extension", None, "", False, None),
    "Strings": (STRINGS, None, "", False, None),
    "STRINGS": (STRINGS, None, "", False, None),
    "Str": (STRINGS, None, "", False, None),
    "Stgs": (STRINGS, None, "", False, None),
    "Strgs.": (STRINGS, None, "", False, None),
    "String Ensemble": (STRINGS, None, "", False, None),
    "Synth Strings": (STRINGS, None, "", False, None),
    "String Pad": (STRINGS, None, "", False, None),
    "stringpad": (STRINGS, None, "", False, None),
    "Strings 2": (STRINGS, 2, "", False, None),
    "Strings - Violin 1": (VIOLIN, 1, "", False, None),
    "Violins + Violas": (STRINGS, None, "", False, None),
    "Vc/Cb": (STRINGS, None, "", False, None),
    "Cello & Bass": (STRINGS, None, "", False, None),
    "Vln 1 leg": (VIOLIN, 1, "", False, "legato"),
    "Vln 1 spicc": (VIOLIN, 1, "", False, "spiccato"),
    "Vln leg 1": (VIOLIN, 1, "", False, "legato"),
    "Violin 2 Staccato": (VIOLIN, 2, "", False, "staccato"),
    "V1 shorts": (VIOLIN, 1, "", False, "staccato"),
    "Vl1 long": (VIOLIN, 1, "", False, None),
    "Vla trem": (VIOLA, None, "", False, "tremolo"),
    "Vla con sord.": (VIOLA, None, "", False, "con sordino"),
    "Violas senza sord": (VIOLA, None, "", False, None),
    "Celli sul pont": (CELLO, None, "", False, "sul ponticello"),
    "Vc sul tasto": (CELLO, None, "", False, "sul tasto"),
    "Vc flautando": (CELLO, None, "", False, "sul tasto"),
    "Violins col legno": (VIOLIN, None, "", False, "col legno"),
    "Violin 1 harmonics": (VIOLIN, 1, "", False, "harmonic"),
    "Violin harm": (VIOLIN, None, "", False, "harmonic"),
    "Violin trills": (VIOLIN, None, "", False, "trill"),
    "Violin 1 marc": (VIOLIN, 1, "", False, "marcato"),
    "Violin 1 det": (VIOLIN, 1, "", False, "detache"),
    "Vln 1 sul pont trem": (VIOLIN, 1, "", False, "tremolo"),
    "Vln 1 leg/stacc/pizz": (VIOLIN, 1, "", False, None),
    "tremstring": (STRINGS, None, "", False, "tremolo"),
    "PizzStrings": (STRINGS, None, "", False, "pizzicato"),
    # Italian
    "Violino": (VIOLIN, None, "", False, None),
    "Violino I": (VIOLIN, 1, "", False, None),
    "Violini II": (VIOLIN, 2, "", False, None),
    "violinoA": (VIOLIN, 1, "", False, None),
    "violinob": (VIOLIN, 2, "", False, None),
    "II Violini": (VIOLIN, 2, "", False, None),
    "Violini primi": (VIOLIN, 1, "", False, None),
    "Secondi Violini": (VIOLIN, 2, "", False, None),
    "Violini I e II": (VIOLIN, None, "", False, None),
    "Violino solo": (VIOLIN, None, "", True, None),
    "Violino principale": (VIOLIN, None, "", True, None),
    "Viole": (VIOLA, None, "", False, None),
    "Vle div.": (VIOLA, None, "", False, None),
    "Violoncelli": (CELLO, None, "", False, None),
    "Contrabbasso": (BASS, None, "", False, None),
    "Contrabbassi pizz.": (BASS, None, "", False, "pizzicato"),
    "Celli e Bassi": (STRINGS, None, "", False, None),
    "Archi": (STRINGS, None, "", False, None),
    "Archi tremolo": (STRINGS, None, "", False, "tremolo"),
    "Violini I armonici": (VIOLIN, 1, "", False, "harmonic"),
    "Viole con sordina": (VIOLA, None, "", False, "con sordino"),
    "Violoncelli al ponticello": (CELLO, None, "", False, "sul ponticello"),
    # German
    "Violine": (VIOLIN, None, "", False, None),
    "1. Violine": (VIOLIN, 1, "", False, None),
    "2. Violinen": (VIOLIN, 2, "", False, None),
    "Violine 2": (VIOLIN, 2, "", False, None),
    "I. Violine": (VIOLIN, 1, "", False, None),
    "Erste Geigen": (VIOLIN, 1, "", False, None),
    "Zweite Geige": (VIOLIN, 2, "", False, None),
    "Geige 1": (VIOLIN, 1, "", False, None),
    "Sologeige": (VIOLIN, None, "", True, None),
    "Solovioline": (VIOLIN, None, "", True, None),
    "Bratsche": (VIOLA, None, "", False, None),
    "Bratschen get.": (VIOLA, None, "", False, None),
    "Bratschen mit Dämpfer": (VIOLA, None, "", False, "con sordino"),
    "Violoncelli Pult 2": (CELLO, None, "desk 2", False, None),
    "Kontrabass": (BASS, None, "", False, None),
    "Kontrabässe": (BASS, None, "", False, None),
    "Kontrabaß": (BASS, None, "", False, None),
    "Kontrabass 5-Saiter": ("double bass 5-string", None, "", False, None),
    "Streicher": (STRINGS, None, "", False, None),
    "Streicher gezupft": (STRINGS, None, "", False, "pizzicato"),
    "Geigen am Steg": (VIOLIN, None, "", False, "sul ponticello"),
    "Violine 1 gestoßen": (VIOLIN, 1, "", False, "staccato"),
    "Violinen Flageolett": (VIOLIN, None, "", False, "harmonic"),
    "Violoncello ohne Dämpfer": (CELLO, None, "", False, None),
    # French
    "Violon": (VIOLIN, None, "", False, None),
    "Violons 1": (VIOLIN, 1, "", False, None),
    "1er Violon": (VIOLIN, 1, "", False, None),
    "1ers violons": (VIOLIN, 1, "", False, None),
    "2e violon": (VIOLIN, 2, "", False, None),
    "Seconds violons": (VIOLIN, 2, "", False, None),
    "Premiers Violons": (VIOLIN, 1, "", False, None),
    "Violon II": (VIOLIN, 2, "", False, None),
    "Violon solo": (VIOLIN, None, "", True, None),
    "Violons div. b": (VIOLIN, None, "b", False, None),
    "Alto à cordes": (VIOLA, None, "", False, None),
    "Altos pizz.": (VIOLA, None, "", False, "pizzicato"),
    "Violoncelle": (CELLO, None, "", False, None),
    "Violoncelles avec sourdine": (CELLO, None, "", False, "con sordino"),
    "Contrebasse": (BASS, None, "", False, None),
    "Contrebasses": (BASS, None, "", False, None),
    "Contrebasse à 5 cordes": ("double bass 5-string", None, "", False, None),
    "Cordes": (STRINGS, None, "", False, None),
    "Cordes début": (STRINGS, None, "", False, None),
    "Violons sur la touche": (VIOLIN, None, "", False, "sul tasto"),
    "Violons détaché": (VIOLIN, None, "", False, "detache"),
    "Violons trémolo": (VIOLIN, None, "", False, "tremolo"),
    "Violons sons harmoniques": (VIOLIN, None, "", False, "harmonic"),
    # Cut short, run together, decorated
    "Violonc.": (CELLO, None, "", False, None),
    "Kontrab.": (BASS, None, "", False, None),
    "celloSolo": (CELLO, None, "", True, None),
    "DB (8vb)": (BASS, None, "", False, None),
    "VLNS1_SHORT": (VIOLIN, 1, "", False, "staccato"),
    "Vlns 2 c.s.": (VIOLIN, 2, "", False, "con sordino"),
    "Violin 1 s.p.": (VIOLIN, 1, "", False, "sul ponticello"),
    "Violin 1 s.t.": (VIOLIN, 1, "", False, "sul tasto"),
    "Violin 1 Sul G": (VIOLIN, 1, "", False, None),
    "Quintet Violin 2": (VIOLIN, 2, "", False, None),
    "Bass (Strings)": (BASS, None, "", False, None),
    "Br. pizz": (VIOLA, None, "", False, "pizzicato"),
    # Further
    "Violín 1": (VIOLIN, 1, "", False, None),
    "Violonchelo": (CELLO, None, "", False, None),
    "Contrabajo": (BASS, None, "", False, None),
    "Cordas": (STRINGS, None, "", False, None),
    "ヴァイオリン": (VIOLIN, None, "", False, None),
    "Контрабас": (BASS, None, "", False, None),
}

# Common practice, no source.
OTHERS = """
Flute; Alto flute; Alto Sax; Altsaxophon; Altflöte; Bass Drum; Bass Clarinet; Bassoon;
Bass trombone; Bass Flute; Contrabassoon; Contrabass Clarinet; Contrabass Tuba; Electric Bass;
E-Bass; Bass Guitar; Slap Bass; Synth Bass; Acoustic Bass; Fretless Bass; Sub Bass; Bass Synth;
Choir alto; Choir Bass; Soprano; Tenore; Alto Recorder; Harp; Harfe; Piano; Klavier;
Steel String Guitar; String Piano; Viola da gamba; Viola d'amore; Click; Click Track;
Metronome; Snare; Grosse Trommel; Gran Cassa; Timpani; Pauken; Cymb; Horn in F; Corni;
Cor anglais; Trompete; Tuba; Organ; Cembalo; Celesta; Glockenspiel; Basse électrique;
Bassklarinette; Clarinet in Bb; cl; Drum Kit; Vox; Guitar; Bass voice; Double bassoon;
Altposaune; Bassposaune; Kontrabassklarinette; Contrab. Clar.; Fl. 1; Hn. 3; Tbn; EBass;
Elec Bass; Alto (SATB); Baritone Sax; Violone; Tenor drum; Saxophone alto
"""

# Words that may mean strings or not: common practice, no source.
DOUBTFUL = {
    "Bass": BASS,
    "Basses": BASS,
    "Bassi": BASS,
    "Basso": BASS,
    "Basse": BASS,
    "Bässe": BASS,
    "Kb.": BASS,
    "Alto": VIOLA,
    "Altos": VIOLA,
    "Br.": VIOLA,
}


@pytest.mark.parametrize("name", PLAYERS)
def test_a_name_tells_instrument_section_desk_solo_and_stroke(name: str) -> None:
    says = read_name(name)
    assert (
        says.instrument,
        says.section,
        says.desk,
        says.is_solo,
        says.articulation,
    ) == PLAYERS[name]
    assert not says.is_doubtful


@pytest.mark.parametrize("name", [word.strip() for word in OTHERS.split(";")])
def test_other_instruments_are_not_taken_for_strings(name: str) -> None:
    says = read_name(name)
    assert says.instrument is None or (says.other is not None and says.ends_on_other)
    assert says.other is not None


@pytest.mark.parametrize("name", DOUBTFUL)
def test_a_doubtful_word_is_marked_as_doubtful(name: str) -> None:
    says = read_name(name)
    assert (says.instrument, says.is_doubtful) == (DOUBTFUL[name], True)


@pytest.mark.parametrize("name", ["", "Track 3", "MIDI out #4", "Inst 1", "Spår 1", "Staff-2", "C"])
def test_a_counter_is_no_name(name: str) -> None:
    assert read_name(name).is_placeholder


@pytest.mark.parametrize("name", ["Aurora", "Lead", "Echo-Part-01", "woo", "Solo 01", "Theme"])
def test_an_unknown_word_says_nothing(name: str) -> None:
    says = read_name(name)
    assert (says.instrument, says.other) == (None, None)
    assert not says.is_placeholder


def test_one_letter_means_an_instrument_only_with_a_number() -> None:
    assert read_name("V").instrument is None
    assert read_name("C").instrument is None
    assert read_name("V3").instrument is None


def test_a_stroke_that_only_strings_have_is_noticed_without_an_instrument() -> None:
    says = read_name("pizz2")
    assert (says.instrument, says.articulation, says.has_bowing_word) == (None, "pizzicato", True)
    assert not read_name("legato").has_bowing_word


def test_the_name_of_a_work_is_seen_as_one() -> None:
    assert read_name("Violin Sonata in G").is_title
    assert read_name("String Quartet No. 12").is_title
    assert not read_name("Violin 1").is_title


def test_every_articulation_of_the_trade_has_a_word_of_its_own() -> None:
    for name in ARTICULATIONS:
        assert read_name(f"Violin 1 {name}").articulation == name


def test_no_word_names_two_instruments() -> None:
    owner: dict[str, str] = {}
    for instrument in instrument_ids():
        naming = vocabulary().namings[instrument]
        for word in (*naming.names, *naming.solo_names):
            assert owner.setdefault(fold(word), instrument) == instrument
    for label, words in vocabulary().other_instruments.items():
        assert not [word for word in words if fold(word) in owner], label


@pytest.mark.parametrize(
    "decorate",
    [str.upper, str.lower, lambda name: f"  {name} ", lambda name: name.replace(" ", "_")],
)
def test_case_blanks_and_underscores_do_not_matter(decorate: object) -> None:
    assert callable(decorate)
    for name in ("Violin 2", "Solo Cello", "Double Bass", "Viola con sord", "2nd Violins"):
        assert read_name(decorate(name)) == read_name(name)


def test_a_word_without_end_is_no_name_and_costs_nothing() -> None:
    assert read_name("violin" * 5000).instrument is None


@given(st.text(max_size=60))
def test_any_text_can_be_read(text: str) -> None:
    says = read_name(text)
    assert says.instrument is None or says.instrument in instrument_ids()
    assert says.articulation is None or says.articulation in ARTICULATIONS
    assert says.section is None or says.section >= 1


@given(st.sampled_from(sorted(PLAYERS)), st.integers(1, 99))
def test_a_track_number_in_front_changes_nothing(name: str, number: int) -> None:
    assert read_name(f"{number:02d} - {name}") == read_name(name)
