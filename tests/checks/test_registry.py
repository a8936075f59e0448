from collections.abc import Iterator

import pytest

from mockcheck.checks import _registry
from mockcheck.checks._registry import all_checks, check, score_check
from mockcheck.checks._runner import run_checks
from mockcheck.model.finding import Observation, Outcome, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params
from tests.phrases import played


class NoNumbers(Params):
    pass


def declare(family: str = "range", *, is_broken: bool = False) -> _registry.Check[NoNumbers]:
    @check(
        id="for-this-test",
        family=family,
        severity=Severity.REMARK,
        title="A check for this test.",
        params=NoNumbers,
    )
    def find(part: PlayedPart, p: NoNumbers) -> Iterator[Observation]:  # noqa: ARG001  # the shape of a check
        """Why a player minds: x.

        Measured: x.
        Fine when: x.
        Source: a book.
        """
        if is_broken:
            message = "broken on purpose"
            raise RuntimeError(message)
        yield Observation((0,), "All is well.", "Go on, or stop.", ())

    return find


def test_a_family_that_does_not_exist_is_refused() -> None:
    with pytest.raises(ValueError, match="family must be one of"):
        declare("colour")


def test_checks_are_listed_by_family_and_id() -> None:
    ids = list(all_checks())
    assert len(ids) >= 18
    assert ids.index("note-below-open-string") < ids.index("run-too-fast")


def test_a_file_that_declares_another_name_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "importlib.import_module", lambda _: type("Module", (), {"find": declare()})
    )
    all_checks.cache_clear()
    with pytest.raises(ValueError, match="must declare exactly the check of its own name"):
        all_checks()
    monkeypatch.undo()
    all_checks.cache_clear()
    assert all_checks()


def test_a_check_that_breaks_is_reported_and_the_others_still_run() -> None:
    score = played("violin 4/4 q=100 | A4:4 |")
    checks = {"broken": declare(is_broken=True), "sound": declare()}
    run = run_checks(score, checks)
    assert [outcome.outcome for outcome in run.outcomes] == [Outcome.CRASHED, Outcome.RAN]
    assert "broken on purpose" in run.outcomes[0].reason
    assert [finding.source for finding in run.findings] == ["a book."]
    with pytest.raises(RuntimeError, match="on purpose"):
        run_checks(score, checks, raise_crashes=True)


def test_a_full_ensemble_patch_is_skipped_with_a_reason() -> None:
    run = run_checks(played("strings 4/4 q=100 program=48 | A4:4 |"), {"sound": declare()})
    assert [outcome.outcome for outcome in run.outcomes] == [Outcome.SKIPPED]
    assert "full-ensemble" in run.outcomes[0].reason


def declare_for_all(*, is_broken: bool = False) -> _registry.Check[NoNumbers]:
    @score_check(
        id="for-all-parts",
        family="realism",
        severity=Severity.REMARK,
        title="A check of all parts for this test.",
        params=NoNumbers,
    )
    def find(
        parts: tuple[PlayedPart, ...],
        p: NoNumbers,  # noqa: ARG001  # the shape of a check
    ) -> Iterator[tuple[PlayedPart, Observation]]:
        """Why a player minds: x.

        Measured: x.
        Fine when: x.
        Source: a book.
        """
        yield parts[-1], Observation((0,), f"{len(parts)} parts.", "Go on, or stop.", ())
        if is_broken:
            message = "broken on purpose"
            raise RuntimeError(message)

    return find


DUO_AND_PATCH = (
    "violin 4/4 q=100 | A4:4 |",
    "strings 4/4 program=48 | r:2 A3:2 |",
    "cello 4/4 | r:1 A2:3 |",
)


def test_a_check_of_all_parts_sees_them_at_once_and_names_the_part_it_means() -> None:
    item = declare_for_all()
    run = run_checks(played(*DUO_AND_PATCH), {"all": item})
    (found,) = run.findings
    assert (found.message, found.part, found.start.beat) == ("2 parts.", "Cello", 2)
    assert found.source == "a book."
    outcomes = [outcome.outcome for outcome in run.outcomes]
    assert outcomes == [Outcome.RAN, Outcome.SKIPPED, Outcome.RAN]


def test_a_check_of_all_parts_looks_at_one_part_as_if_it_were_alone() -> None:
    item = declare_for_all()
    seen = list(item.find(played(*DUO_AND_PATCH).parts[0], item.params()))
    assert [observed.message for observed in seen] == ["1 parts."]


def test_a_check_of_all_parts_that_breaks_is_reported_for_each_and_says_nothing_else() -> None:
    run = run_checks(played(*DUO_AND_PATCH), {"all": declare_for_all(is_broken=True)})
    assert run.findings == ()
    outcomes = [outcome.outcome for outcome in run.outcomes]
    assert outcomes == [Outcome.CRASHED, Outcome.SKIPPED, Outcome.CRASHED]


def test_a_check_of_all_parts_is_skipped_where_only_patches_play() -> None:
    run = run_checks(played(DUO_AND_PATCH[1]), {"all": declare_for_all()})
    assert [outcome.outcome for outcome in run.outcomes] == [Outcome.SKIPPED]
    assert run.findings == ()


def test_literally_repeated_passages_keep_apart_and_inserted_bars_change_no_id() -> None:
    bars = "A4:1 B4:1 A4:1 F3:1 | A4:1 B4:1 A4:2 |"
    music = f"violin 4/4 q=100 | {bars} {bars} {bars} A4:1 B4:1 A4:2 |"
    checks = {"note-below-open-string": all_checks()["note-below-open-string"]}
    before = run_checks(played(music), checks).findings
    after = run_checks(played(music.replace("|", "| B4:4 |", 1)), checks).findings
    assert len({finding.id for finding in before}) == 3
    assert [finding.id for finding in before] == [finding.id for finding in after]


def test_places_without_bars_still_have_ids() -> None:
    from dataclasses import replace

    from mockcheck.model.time import Timeline

    score = played("violin 4/4 q=100 | A4:2 F3:2 |")
    part = score.parts[0]
    frames = replace(part, timeline=Timeline(part.timeline.tempo, None))
    checks = {"note-below-open-string": all_checks()["note-below-open-string"]}
    found = run_checks(replace(score, parts=(frames,)), checks).findings
    assert found[0].start.bar is None
    assert found[0].id.startswith("note-below-open-string-")
