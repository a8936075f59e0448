import tomllib
from dataclasses import replace

from mockcheck.config import session_from_brief
from mockcheck.model.played import BendRange, FoundSwitch
from mockcheck.model.session import Session, Switch, TrackChoice
from mockcheck.report.brief import render_brief
from tests.phrases import played


def test_every_row_and_guess_is_written_down() -> None:
    score = played("Vln 1 spicc 4/4 q=100 | A4:4 |", "flute 4/4 | A5:4 |", "cello 4/4 | C3:4 |")
    values = tomllib.loads(render_brief(score))
    assert values["players"] == {part.name: part.players for part in score.parts}
    assert [row["match"] for row in values["tracks"]] == [0, 1, 2, 3]
    assert values["tracks"][1]["articulation"] == "spiccato"
    assert values["tracks"][2]["leave_out"] is True
    assert values["tracks"][3]["instrument"] == "cello"


SWITCHED = "violin 4/4 q=100 | 24:1/8 A4:7/8 24:1/8 B4:7/8 26:1/8 C5:7/8 26:1/8 D5:7/8 |"


def uncommented(text: str, articulation: str) -> str:
    """The brief as a user completes it: every found switch named."""
    text = text.replace("    # {", "    {")
    return text.replace('articulation = ""', f'articulation = "{articulation}"')


def test_switches_that_are_named_stay_named_and_found_ones_are_ready_to_be() -> None:
    choice = TrackChoice(match="violin", switches=(Switch("legato", key=24),))
    text = render_brief(played(SWITCHED, session=Session(tracks=(choice,))))
    values = tomllib.loads(text)
    assert values["tracks"][1]["switches"] == [{"key": 24, "articulation": "legato"}]
    assert '# { key = 26, articulation = "" },  # D1: 2 presses, ' in text
    named = tomllib.loads(uncommented(text, "spiccato"))
    session = session_from_brief(named, "brief")
    assert [(s.key, s.articulation) for s in session.tracks[1].switches] == [
        (24, "legato"),
        (26, "spiccato"),
    ]


def test_a_file_with_found_switches_only_gives_a_valid_brief_that_names_none() -> None:
    text = render_brief(played(SWITCHED))
    assert tomllib.loads(text)["tracks"][1]["switches"] == []
    assert session_from_brief(tomllib.loads(text), "brief").tracks[1].switches == ()


def test_every_kind_of_switch_is_written_as_the_brief_reads_it() -> None:
    score = played("violin 4/4 q=100 | A4:4 |")
    switches = (
        FoundSwitch(1, 24, 3, None, "", 0.9, "short notes follow", is_held=True),
        FoundSwitch(1, None, 1, None, "", 0.9, controller=32, low=9, high=17),
        FoundSwitch(1, None, 3, None, "", 0.9, program=45),
        FoundSwitch(1, None, 3, "legato and portamento", "", 1.0, channel=3),
    )
    score = replace(score, parts=(replace(score.parts[0], switches=switches),))
    text = render_brief(score)
    assert 'articulation = "", held = true },  # C1: 3 presses, short notes follow' in text
    assert "# thrown 1 time" in text
    session = session_from_brief(tomllib.loads(uncommented(text, "pizzicato")), "brief")
    assert session.tracks[1].switches == (
        Switch("pizzicato", key=24, held=True),
        Switch("pizzicato", controller=32, low=9, high=17),
        Switch("pizzicato", program=45),
        Switch("legato", channel=3),
        Switch("portamento", channel=3),
    )


def test_keys_in_comments_have_the_names_of_the_brief() -> None:
    assert "# D0: 2 presses" in render_brief(played(SWITCHED, session=Session(middle_c_octave=3)))


def test_an_assumed_bend_range_is_written_down_to_be_corrected() -> None:
    text = render_brief(played("violin 4/4 q=100 | A4:4 |"))
    assert "bend_range_semitones" not in text


def test_a_bend_range_that_was_found_is_written_down_with_the_reason() -> None:
    score = played("violin 4/4 q=100 | A4:4 |")
    found = BendRange(1, 12.0, 0.8, "7 of 8 slides reach their notes with a range of 12 semitones")
    part = replace(score.parts[0], bend_ranges=(found,))
    text = render_brief(replace(score, parts=(part,)))
    assert "bend_range_semitones = 12  # the file sets no range; 7 of 8 slides" in text
    session = session_from_brief(tomllib.loads(text), "brief")
    assert 12 in {choice.bend_range_semitones for choice in session.tracks}


def test_a_level_and_a_style_of_its_own_are_written_down_and_read_back() -> None:
    given = {
        "level": 'the "A" band',
        "style": "noir",
        "levels": {'the "A" band': {"like": "rehearsed", "tempo_share": 0.8}},
        "styles": {"noir": {"like": "comic", "slide_ms": 900, "slides_per_minute": 12}},
    }
    session = session_from_brief(given, "brief")
    text = render_brief(played("violin 4/4 q=100 | A4:4 |", session=session))
    values = tomllib.loads(text)
    assert {key: values[key] for key in given} == given
    again = session_from_brief(values, "brief")
    assert (again.named_level, again.named_style) == (session.named_level, session.named_style)


def test_what_the_starter_only_mentions_can_be_put_in_force() -> None:
    text = render_brief(played("violin 4/4 q=100 | A4:4 |"))
    start = text.index('# [levels."student orchestra"]')
    own = text[start : text.index("# What `mockcheck rehearse`")]
    values = tomllib.loads(own.replace("# [", "[").replace("\n# ", "\n"))
    session = session_from_brief({**values, "level": "student orchestra", "style": "noir"}, "brief")
    assert (session.level_name, session.style_name) == ("student orchestra", "noir")
    assert '# extends = "house.toml"' in text
