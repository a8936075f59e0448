from dataclasses import replace

import pytest

from mockcheck.model.acceptance import Acceptance, UnusedAcceptance
from mockcheck.model.finding import CheckOutcome, Evidence, Outcome, Severity
from mockcheck.model.played import BendRange, FoundSwitch
from mockcheck.model.review import Review
from mockcheck.model.score import ReadWarning
from mockcheck.model.session import Session, TrackChoice
from mockcheck.report._caveats import caution, caveats
from tests.report.synthetic import (
    VIOLIN,
    finding_of,
    left_out_of,
    part_of,
    review_of,
    studio_review,
    summary_of,
    timeline_of,
)

ROWS = [(60, 0, 480)]


def lines_of(review: Review, title: str) -> str:
    return "\n".join(line for c in caveats(review) if c.title == title for line in c.lines)


def told_everything(**changes: object) -> Review:
    """A review about which nothing had to be assumed."""
    session = Session(players={"Violin 1": 12}, **changes)  # type: ignore[arg-type]  # plain fields
    return review_of([part_of("Violin 1", VIOLIN, ROWS, session=session)], session=session)


def test_nothing_to_know_gives_nothing() -> None:
    assert [caveat.title for caveat in caveats(told_everything())] == ["Heard"]


def test_a_part_without_notes_was_not_heard() -> None:
    titles = [caveat.title for caveat in caveats(review_of([part_of("Violin 1", VIOLIN, [])]))]
    assert "Heard" not in titles


def test_left_out_tracks_are_grouped_by_reason() -> None:
    part = part_of("Violin 1", VIOLIN, ROWS)
    rows = [summary_of(part), *(left_out_of(n, f"Drum {n}", "percussion") for n in range(1, 10))]
    text = lines_of(review_of([part], summaries=rows), "Left out")
    assert text.count("percussion") == 1
    assert "'Drum 1', 'Drum 2'" in text
    assert "and 3 more" in text


def test_an_assumed_tempo_is_said_until_the_brief_gives_one() -> None:
    part = part_of("Violin 1", VIOLIN, ROWS, timeline=timeline_of(assumed=True))
    assert "quarter = 120 is taken" in lines_of(review_of([part]), "Assumed")
    told = review_of([part], session=Session(tempo_bpm=90.0))
    assert "quarter" not in lines_of(told, "Assumed")


def test_bend_without_a_range_is_said_until_the_brief_gives_one() -> None:
    review = studio_review()
    assert "2 semitones" in lines_of(review, "Assumed")
    for match in ("viol*1", "Violin 1", " 0 "):
        session = Session(tracks=(TrackChoice(match, bend_range_semitones=12),))
        told = replace(review, played=replace(review.played, session=session))
        assert "semitones are taken" not in lines_of(told, "Assumed")
    other = Session(tracks=(TrackChoice("Cello", bend_range_semitones=12),))
    untold = replace(review, played=replace(review.played, session=other))
    assert "2 semitones" in lines_of(untold, "Assumed")


def test_a_bend_range_that_was_found_is_said_with_the_reason() -> None:
    review = studio_review()
    found = BendRange(0, 12.0, 0.8, "7 of 8 slides reach their notes with a range of 12 semitones")
    parts = tuple(
        replace(part, bend_ranges=(found,)) if part.roles[0].index == 0 else part
        for part in review.played.parts
    )
    told = replace(review, played=replace(review.played, parts=parts))
    assert "7 of 8 slides reach their notes" in lines_of(told, "Assumed")
    assert "2 semitones are taken" not in lines_of(told, "Assumed")


def test_a_guessed_player_is_told_with_the_reason() -> None:
    part = part_of("Viola", VIOLIN, ROWS)
    for confidence, is_said in ((0.69, True), (0.7, False)):
        row = summary_of(part, confidence=confidence, evidence="from its range alone")
        text = lines_of(review_of([part], summaries=[row]), "Assumed")
        assert ("from its range alone" in text) == is_said
        assert ("69% sure" in text) == is_said


def switch_lines(*switches: FoundSwitch, middle_c_octave: int = 4) -> str:
    session = Session(middle_c_octave=middle_c_octave)
    part = part_of("Violin 1", VIOLIN, ROWS, switches=switches, session=session)
    return lines_of(review_of([part], session=session), "Assumed")


def test_only_switches_without_a_name_are_asked_about() -> None:
    unnamed = FoundSwitch(0, 24, 31, None, "far below", 0.9, "short notes follow")
    text = switch_lines(unnamed, FoundSwitch(0, 14, 7, "pizzicato", "far below", 0.9))
    asked = "switch 24 (C1 where middle C is C4): short notes follow; name it in the brief."
    assert f"'Violin 1': {asked} Presses of switch keys are not counted as notes." in text
    assert "switch 14" not in text


def test_a_switch_is_told_in_the_octaves_of_the_brief() -> None:
    switch = FoundSwitch(0, 24, 31, None, "far below", 0.9, "short notes follow")
    assert "switch 24 (C0 where middle C is C3)" in switch_lines(switch, middle_c_octave=3)


def test_every_kind_of_switch_is_told_by_what_throws_it() -> None:
    text = switch_lines(
        FoundSwitch(0, None, 3, None, "", 0.9, "short notes follow", controller=32, low=4, high=4),
        FoundSwitch(0, None, 3, None, "", 0.9, controller=32, low=9, high=17),
        FoundSwitch(0, None, 3, None, "", 0.9, program=45),
        FoundSwitch(0, None, 3, None, "", 0.9, channel=3),
    )
    told = "controller 32, value 4: short notes follow; controller 32, values 9 to 17; program 46;"
    assert f"'Violin 1': {told} channel 3; name them in the brief." in text
    assert "not counted" not in text


def test_a_long_row_of_switches_is_cut_and_the_brief_command_named() -> None:
    text = switch_lines(*(FoundSwitch(0, 24 + n, 1, None, "", 0.9) for n in range(9)))
    assert "switch 29 (F1); and 3 more that `mockcheck brief` lists; name them" in text
    assert text.count("where middle C is") == 1


def test_playing_heard_from_timing_alone_is_called_a_guess() -> None:
    part = part_of("Violin 1", VIOLIN, ROWS * 3, stroke_confidence=0.5)
    assert "Violin 1 (3 of 3 notes)" in lines_of(review_of([part]), "Assumed")


def test_section_sizes_are_assumed_unless_the_brief_gives_them() -> None:
    part = part_of("Violin 1", VIOLIN, ROWS, players=14)
    assert "Violin 1 14" in lines_of(review_of([part]), "Assumed")
    for session in (
        Session(players={"Violin 1": 14}),
        Session(tracks=(TrackChoice("*", players=14),)),
    ):
        assert "players" not in lines_of(review_of([part], session=session), "Assumed")


def test_warnings_of_the_reader_carry_track_and_byte() -> None:
    warnings = (
        ReadWarning("hanging-note", "2 notes are never released.", 0, 1204),
        ReadWarning("hanging-note", "5 notes are never released.", 7, 2000),
        ReadWarning("no-place", "something \x1b[31m odd"),
        ReadWarning("no-tempo", "told once, as an assumption"),
    )
    review = replace(told_everything())
    score = replace(review.played.score, warnings=warnings)
    review = replace(review, played=replace(review.played, score=score))
    text = lines_of(review, "While reading the file")
    first = "2 notes are never released (track 'Violin 1', byte 1,204)."
    assert f"{first} And 1 more of this kind." in text
    every = [line for c in caveats(review, every=True) for line in c.lines]
    assert first in every
    assert "5 notes are never released (track 7, byte 2,000)." in every
    assert "something [31m odd." in text
    assert "told once" not in text


def test_skipped_checks_are_grouped_by_reason_and_crashes_owned_up_to() -> None:
    outcomes = (
        CheckOutcome("run-too-fast", 0, Outcome.RAN),
        CheckOutcome("a-check", 0, Outcome.SKIPPED, "no strings known"),
        CheckOutcome("b-check", 0, Outcome.SKIPPED, "no strings known"),
        CheckOutcome("c-check", 0, Outcome.CRASHED, "Traceback ... line 3"),
    )
    text = lines_of(replace(told_everything(), outcomes=outcomes), "Not checked")
    assert "2 checks on 'Violin 1': no strings known." in text
    assert "c-check on 'Violin 1': it failed. This is a fault of mockcheck" in text
    assert "Traceback" not in text
    assert "run-too-fast" not in text


@pytest.mark.parametrize(
    ("check", "quantity", "is_warned"),
    [
        ("repeated-notes-too-fast", "notes per second", True),
        ("stop-out-of-reach", "distance", True),
        ("chord-too-wide", "stretch of the hand", True),
        ("long-tremolo", "duration", True),
        ("note-below-open-string", "pitch", False),
    ],
)
def test_advice_on_strain_defers_to_players_and_professionals(
    check: str, quantity: str, is_warned: bool
) -> None:
    part = part_of("Violin 1", VIOLIN, ROWS)
    evidence = (Evidence(quantity, 2.0, 1.0, "mm"),)
    finding = finding_of(part, Severity.AWKWARD, 0, 480, check=check, evidence=evidence)
    text = caution(review_of([part], [finding]))
    assert (text is not None) == is_warned
    if text is not None:
        assert "no medical advice" in text
        assert "professional" in text
    accepted = replace(finding, accepted="known")
    assert caution(review_of([part], [accepted])) is None


def test_accepted_findings_stand_together_or_each_with_its_message() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, 480), (60, 1920, 2400)])
    findings = [
        replace(finding_of(part, Severity.RISKY, tick, tick + 480), accepted="comic slide")
        for tick in (0, 1920)
    ]
    review = review_of([part], findings)
    (together,) = next(c for c in caveats(review) if c.title == "Accepted by the brief").lines
    assert "bars 1-2; accepted: comic slide." in together
    each = next(c for c in caveats(review, every=True) if c.title == "Accepted by the brief").lines
    assert [line.count("accepted: comic slide") for line in each] == [1, 1]
    for line, finding in zip(each, findings, strict=True):
        assert finding.message in line
        assert finding.id in line


def test_what_is_accepted_in_vain_is_told() -> None:
    meant = Acceptance("comic slide", check="run-too-fast", part="Viola", bars=frozenset({9}))
    review = replace(told_everything(), unused_acceptances=(UnusedAcceptance(meant, ()),))
    text = lines_of(review, "Accepted, but not found")
    assert "run-too-fast in 'Viola', bar 9 (comic slide): no such finding now." in text
