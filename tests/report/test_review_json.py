import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from mockcheck.config import effective_values
from mockcheck.model.finding import FAMILIES, Evidence, Outcome, Severity
from mockcheck.model.played import ARTICULATIONS
from mockcheck.model.review import SCHEMA, Review
from mockcheck.model.session import Level, NamedLevel, NamedStyle, Session, Style
from mockcheck.report.review_json import render_json, review_schema
from tests.report.synthetic import (
    ENSEMBLE,
    HOSTILE_NAME,
    VIOLIN,
    finding_of,
    frames_timeline,
    part_of,
    review_of,
    scale_rows,
    studio_review,
    summary_of,
)

VALIDATOR = Draft202012Validator(review_schema())


def faults_of(document: Any) -> list[str]:
    return [error.message for error in VALIDATOR.iter_errors(document)]


def frames_review() -> Review:
    part = part_of("Violin 1", VIOLIN, [(60, 0, 900)], timeline=frames_timeline())
    return review_of([part], [finding_of(part, Severity.RISKY, 0, 900)])


def test_the_schema_itself_is_valid_json_schema_2020_12() -> None:
    Draft202012Validator.check_schema(review_schema())
    assert review_schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize(
    "review",
    [
        studio_review(),
        frames_review(),
        review_of([part_of("Violin 1", VIOLIN, [])]),
        review_of([part_of("Strings", ENSEMBLE, scale_rows(4, 40, 90))]),
    ],
)
def test_every_review_obeys_the_schema(review: Review) -> None:
    assert faults_of(json.loads(render_json(review))) == []


def broken(path: tuple[Any, ...], value: Any) -> Any:
    document = json.loads(render_json(studio_review()))
    place = document
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    return document


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("extra",), 1),
        (("findings", 0, "extra"), 1),
        (("findings", 0, "severity"), "terrible"),
        (("findings", 0, "family"), "colour"),
        (("findings", 0, "confidence"), 1.5),
        (("findings", 0, "start", "bar"), 0),
        (("findings", 0, "pitches"), [128]),
        (("slides", 0, "kind"), "swoop"),
        (("articulations", 0, "articulation"), "loud"),
        (("tracks", 0, "articulations"), {"loud": 1.0}),
        (("reading", 0, "load"), [1.5]),
        (("reading", 0, "bars"), [0]),
        (("source", "file"), "/home/someone/mockup.mid"),
        (("source", "ticks_per_second"), 1000),
        (("brief", "level"), "perfect"),
        (("checks", 0, "outcome"), "slept"),
        (("schema",), "mockcheck.review/2"),
    ],
)
def test_the_schema_refuses_what_the_contract_does_not_have(
    path: tuple[Any, ...], value: Any
) -> None:
    assert faults_of(broken(path, value))


def test_the_schema_and_the_code_know_the_same_words() -> None:
    schema = review_schema()
    finding = schema["properties"]["findings"]["items"]["properties"]
    assert finding["severity"]["enum"] == [severity.label for severity in Severity]
    assert finding["family"]["enum"] == list(FAMILIES)
    assert schema["$defs"]["articulation"]["enum"] == list(ARTICULATIONS)
    assert schema["properties"]["level"]["enum"] == [str(level) for level in Level]
    assert schema["properties"]["schema"]["const"] == SCHEMA
    brief = schema["properties"]["brief"]["properties"]
    assert brief["style"]["enum"] == [str(style) for style in Style]
    outcomes = schema["properties"]["checks"]["items"]["properties"]["outcome"]["enum"]
    assert outcomes == [str(outcome) for outcome in Outcome]


def test_the_schema_knows_every_value_of_a_brief() -> None:
    from mockcheck.config import effective_values
    from mockcheck.model.session import Session, Switch, TrackChoice

    switch = Switch("pizzicato", key=12)
    choice = TrackChoice("Vln*", "violin", "Violin 1", 8, "legato", 12.0, False, (switch,))
    session = Session(tempo_bpm=90.0, tracks=(choice,), check_params={"run-too-fast": {"n": 3.0}})
    brief = effective_values(session, {"Violin 1": 8})
    assert faults_of(broken(("brief",), brief)) == []


def test_the_schema_knows_a_level_and_a_style_of_the_brief_s_own() -> None:
    session = Session(
        named_level=NamedLevel("student orchestra", 0.75),
        named_style=NamedStyle("noir", 450, 12, 20),
    )
    part = part_of("Violin 1", VIOLIN, [(60, 0, 480)], session=session)
    review = replace(
        review_of([part], [], session=session), brief=effective_values(session, {"Violin 1": 8})
    )
    document = json.loads(render_json(review))
    assert list(VALIDATOR.iter_errors(document)) == []
    # A script that knows the three levels goes on knowing them.
    assert (document["level"], document["level_name"]) == ("sight", "student orchestra")
    assert document["brief"]["tempo_share"] == 0.75
    assert (document["brief"]["style"], document["brief"]["style_name"]) == ("modern", "noir")
    assert document["brief"]["slide_ms"] == 450
    plain = json.loads(render_json(review_of([part_of("Violin 1", VIOLIN, [(60, 0, 480)])], [])))
    assert "level_name" not in plain


def test_the_same_review_gives_the_same_bytes_in_sorted_order() -> None:
    text = render_json(studio_review())
    assert text == render_json(studio_review())
    document = json.loads(text, object_pairs_hook=list)
    assert [key for key, _ in document] == sorted(key for key, _ in document)
    assert text.isascii()


def test_each_finding_has_a_line_of_its_own() -> None:
    review = studio_review()
    lines = render_json(review).splitlines()
    assert sum('"suggestion"' in line for line in lines) == len(review.findings)


def test_no_number_is_endless_and_none_is_longer_than_a_microsecond() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, 480)])
    evidence = (Evidence("speed", math.inf, 1 / 3, "notes/s"), Evidence("x", math.nan, -0.0, ""))
    finding = finding_of(part, Severity.RISKY, 0, 480, evidence=evidence)
    row = summary_of(part, headroom=math.inf, mean_notes_per_s=np.float64(1 / 7))
    text = render_json(review_of([part], [finding], summaries=[row]))
    document = json.loads(text, parse_constant=pytest.fail)
    first, second = document["findings"][0]["evidence"]
    assert (first["measured"], first["limit"]) == (None, 0.333333)
    assert second["measured"] is None
    assert str(second["limit"]) == "0.0"
    assert document["tracks"][0]["headroom"] is None
    assert document["tracks"][0]["mean_notes_per_s"] == 0.142857


def test_numpy_numbers_become_plain_ones() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, 480)])
    finding = finding_of(part, Severity.RISKY, 0, 480, pitches=(np.int64(55),))
    document = json.loads(render_json(review_of([part], [finding])))
    assert document["findings"][0]["pitches"] == [55]


@pytest.mark.parametrize("file", ["/home/x/mock.mid", r"C:\music\mock.mid", "mock.mid"])
def test_no_path_of_the_machine_is_told(file: str) -> None:
    review = review_of([part_of("Violin 1", VIOLIN, [(60, 0, 480)])], score_changes={"file": file})
    text = render_json(replace(review, outcomes=studio_review().outcomes))
    assert json.loads(text)["source"]["file"] == "mock.mid"
    assert "/home" not in text
    assert "music" not in text
    assert 'File \\"slides_overused.py\\", line 3' in text


def test_hostile_names_come_back_as_they_were_and_half_characters_as_one_sign() -> None:
    name = HOSTILE_NAME + "\udc80"
    part = part_of("Violin 1", VIOLIN, [(60, 0, 480)], track_name=name)
    document = json.loads(render_json(review_of([part])))
    assert document["tracks"][0]["name"] == HOSTILE_NAME + "\ufffd"
    render_json(review_of([part])).encode("utf-8")
