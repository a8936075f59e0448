import base64
import hashlib
import json
import re
from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from lxml import html  # type: ignore[import-untyped]  # ships no types
from lxml.html import HtmlElement  # type: ignore[import-untyped]  # ships no types

from mockcheck.errors import UserError
from mockcheck.model.finding import CheckOutcome, Outcome, Severity
from mockcheck.model.review import Review
from mockcheck.model.words import printable
from mockcheck.pipeline import review
from mockcheck.plots.notation import can_engrave
from mockcheck.report import _page_findings
from mockcheck.report.page import render_page
from mockcheck.report.review_json import render_json
from tests.report.synthetic import (
    BAR,
    ENSEMBLE,
    TPQ,
    VIOLIN,
    finding_of,
    frames_timeline,
    part_of,
    review_of,
    scale_rows,
    studio_review,
    summary_of,
)

ROOT = Path(__file__).parent.parent.parent
FIXTURES = sorted((ROOT / "fixtures").rglob("*.mid")) + sorted((ROOT / "fixtures").rglob("*.rmi"))
DEMO = ROOT / "fixtures" / "demo"
HOSTILE = "<script>alert('&amp;')</script>\" onload=\"x"
ALL_VIOLIN = {"tracks": [{"match": "*", "instrument": "violin"}]}
WORST_TO_REMARK = ["impossible", "risky", "awkward", "remark"]


@cache
def demo() -> tuple[Review, str]:
    result = review(DEMO / "harbour_at_dawn.mid", DEMO / "brief.toml")
    return result, render_page(result)


def tree_of(page: str) -> HtmlElement:
    return html.document_fromstring(page)


def words_of(element: HtmlElement) -> str:
    return " ".join(element.text_content().split())


def findings_of(tree: HtmlElement) -> list[HtmlElement]:
    return list(tree.xpath("//details[contains(@class, 'finding')]"))


def one(element: HtmlElement, path: str) -> HtmlElement:
    (found,) = element.xpath(path)
    return found


def reviewed(path: Path) -> Review:
    """With the brief beside it, or as a violin's where nothing says what plays."""
    beside = path.parent / "brief.toml"
    for brief in (beside if beside.exists() else None, ALL_VIOLIN):
        try:
            return review(path, brief)
        except UserError:
            continue
    pytest.skip("the file holds no notes")


@pytest.mark.slow
@pytest.mark.parametrize("path", FIXTURES, ids=lambda path: path.name)
def test_the_page_says_what_review_json_says(path: Path) -> None:
    result = reviewed(path)
    told = json.loads(render_json(result))["findings"]
    tree = tree_of(render_page(result, engrave=False))
    shown = findings_of(tree)
    assert sorted(item.get("id") for item in shown) == sorted(f"f-{f['id']}" for f in told)
    counted = Counter(f["severity"] for f in told if f["accepted"] is None)
    for severity in WORST_TO_REMARK:
        line = one(tree, f"//header//li[@data-severity='{severity}']")
        assert words_of(line).split()[0] == f"{counted[severity]:,}"
    sections = tree.xpath("//section[@class='part']")
    by_part = {words_of(one(s, "./h3")): len(s.xpath(".//details")) for s in sections}
    wanted = Counter(printable(f["part"]) for f in told)
    assert {part: number for part, number in by_part.items() if number} == dict(wanted)
    by_id = {item.get("id").removeprefix("f-"): item for item in shown}
    for finding in told:
        same_as_json(by_id[finding["id"]], finding)


def same_as_json(shown: HtmlElement, told: dict) -> None:  # type: ignore[type-arg]  # JSON
    assert words_of(one(shown, "./summary/b")) == told["severity"]
    place = words_of(one(shown, ".//span[@class='place']"))
    bar, beat = told["start"]["bar"], told["start"]["beat"]
    if bar is None:
        assert place.startswith(f"at {told['start']['time_s']:.1f} s")
    else:
        assert re.findall(r"\d+", place)[0] == str(bar)
        assert float(re.findall(r"beat ([\d.]+)", place)[0]) == pytest.approx(beat, abs=0.005)
    assert words_of(one(shown, ".//span[@class='message']")) == printable(told["message"])
    evidence = shown.xpath(".//div[@class='evidence']")[0]
    assert printable(told["suggestion"]) in words_of(evidence)
    rows = [[words_of(cell) for cell in row] for row in evidence.xpath(".//tr[td]")]
    assert len(rows) == len(told["evidence"])
    for (quantity, measured, limit, unit), item in zip(rows, told["evidence"], strict=True):
        assert (quantity, unit) == (item["quantity"], item["unit"])
        assert float(measured) == pytest.approx(item["measured"], rel=5e-4)
        assert float(limit) == pytest.approx(item["limit"], rel=5e-4)
    (sure,) = re.findall(r"(\d+)% sure", words_of(evidence))
    assert int(sure) == pytest.approx(100 * told["confidence"], abs=0.51)


def test_the_answer_comes_first() -> None:
    _, page = demo()
    tree = tree_of(page)
    heading, verdict = one(tree, "//h1"), one(tree, "//p[@class='verdict']")
    assert words_of(heading) == "harbour_at_dawn.mid"
    assert words_of(verdict) == "Not ready: four impossible places in three parts."
    assert page.index("verdict") < page.index("<main")


def test_the_demo_is_a_light_file() -> None:
    assert len(demo()[1].encode()) < 1_500_000


def test_equal_reviews_give_equal_pages() -> None:
    assert render_page(studio_review()) == render_page(studio_review())


def hostile_review() -> Review:
    part = part_of(
        HOSTILE,
        VIOLIN,
        scale_rows(12, 55, 90),
        track_name=HOSTILE,
        stroke_confidence=0.4,
    )
    finding = finding_of(
        part, Severity.RISKY, BAR, 2 * BAR, message=HOSTILE, suggestion=HOSTILE, accepted=HOSTILE
    )
    other = replace(finding, id="other-0123456789", accepted=None)
    score = {"file": f"{HOSTILE}.mid"}
    summaries = [summary_of(part), replace(summary_of(part), index=1, name=HOSTILE, left_out="odd")]
    return review_of([part], [finding, other], summaries=summaries, score_changes=score)


def test_text_of_the_file_is_shown_and_never_becomes_markup() -> None:
    tree = tree_of(render_page(hostile_review()))
    assert len(tree.xpath("//script")) == 1
    assert not tree.xpath("//@*[starts-with(name(), 'on')]")
    assert words_of(one(tree, "//h1")) == printable(f"{HOSTILE}.mid")
    for path in (
        "//span[@class='message']",
        "//section[@class='part']/h3",
        "//select[@id='by-part']",
    ):
        assert all(printable(HOSTILE) in words_of(found) for found in tree.xpath(path))
    assert HOSTILE in one(tree, "//article/div").get("aria-label")


def test_the_policy_allows_this_pages_own_style_and_script_alone() -> None:
    page = demo()[1]
    tree = tree_of(page)
    policy = one(tree, "//meta[@http-equiv='Content-Security-Policy']").get("content")
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["img-src"] == "data:"
    for name in ("style", "script"):
        (text,) = re.findall(rf"<{name}>(.*?)</{name}>", page, flags=re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert rules[f"{name}-src"] == f"'sha256-{digest}'"
    assert page.index("Content-Security-Policy") < page.index("<style>")


def test_nothing_outside_the_file_is_asked_for() -> None:
    tree = tree_of(demo()[1])
    addresses = tree.xpath("//@href | //@src | //@action | //@data | //@poster")
    assert addresses
    assert all(a.startswith(("#", "data:image/svg+xml;base64,")) for a in addresses)
    assert not tree.xpath("//link | //iframe | //object | //*[@style]")
    assert "@import" not in one(tree, "//style").text
    assert re.findall(r"url\(([^)]*)\)", one(tree, "//style").text) == ["#hatch"]


def test_every_reference_inside_the_page_has_its_goal_and_every_id_is_used_once() -> None:
    for page in (demo()[1], render_page(studio_review())):
        tree = tree_of(page)
        ids = Counter(tree.xpath("//@id"))
        assert max(ids.values()) == 1
        names = tree.xpath("//@aria-labelledby | //@aria-describedby")
        links = [link[1:] for link in tree.xpath("//@href") if not link.startswith("#c-")]
        assert set(names) | set(links) <= set(ids)


def test_a_mark_on_the_cue_leads_to_its_finding() -> None:
    result, page = demo()
    tree = tree_of(page)
    marks = tree.xpath("//a[contains(@class, 'mark')]")
    shown = findings_of(tree)
    numbers = sorted(int(n) for mark in marks for n in mark.get("data-n").split())
    assert numbers == list(range(len(result.findings)))
    for mark in marks:
        first = shown[int(mark.get("data-n").split()[0])]
        assert mark.get("href") == f"#{first.get('id')}"
        severity = words_of(one(first, "./summary/b"))
        title = words_of(one(mark, "./title"))
        assert severity in title
        assert words_of(one(first, ".//span[@class='place']")) in title
        assert one(mark, "./use").get("href") == f"#s{Severity[severity.upper()].value}"


def test_every_part_family_and_severity_can_be_filtered() -> None:
    result, page = demo()
    tree = tree_of(page)
    parts = tree.xpath("//select[@id='by-part']/option[@value!='']")
    assert {words_of(option) for option in parts} == {f.part for f in result.findings}
    families = tree.xpath("//select[@id='by-family']/option[not(@value)]")
    assert {words_of(option) for option in families} == {f.family for f in result.findings}
    assert len(tree.xpath("//input[@name='severity']")) == 4
    assert one(tree, "//output").get("aria-live") == "polite"


def test_drawings_are_made_for_the_worst_as_far_as_the_budget_goes(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    result = demo()[0]
    monkeypatch.setattr(_page_findings, "DRAWINGS_BUDGET", 40_000)
    tree = tree_of(render_page(result, engrave=False))
    drawn = [f for f in findings_of(tree) if f.xpath(".//svg[@role='img']")]
    bare = [f for f in findings_of(tree) if not f.xpath(".//svg[@role='img']")]
    assert drawn
    assert bare
    assert min(int(f.get("data-s")) for f in drawn) >= max(int(f.get("data-s")) for f in bare)
    text = words_of(one(tree, "//section[@id='findings']"))
    assert f"{len(drawn)} of {len(result.findings)} findings are drawn, the worst first" in text
    size = sum(len(html.tostring(svg)) for f in drawn for svg in f.xpath(".//svg[@role='img']"))
    assert size <= 41_000
    assert all(f.xpath(".//table") for f in bare)


def test_a_drawn_finding_says_why_a_player_minds_and_each_check_is_explained() -> None:
    result, page = demo()
    tree = tree_of(page)
    for shown in findings_of(tree):
        assert "Why a player minds:" in words_of(shown)
    explained = {check.get("id").removeprefix("c-") for check in tree.xpath("//article[@id]")}
    assert explained == {finding.check for finding in result.findings}
    for article in tree.xpath("//article[@id]"):
        labels = [words_of(label) for label in article.xpath(".//dt")]
        assert labels == ["Why a player minds", "Measured", "Fine when", "Source"]


@pytest.mark.skipif(not can_engrave(), reason="the engraving library is not installed")
def test_notation_is_a_picture_with_its_own_words() -> None:
    pictures = tree_of(demo()[1]).xpath("//img")
    assert len(pictures) == len(demo()[0].findings)
    for picture in pictures:
        assert picture.get("alt").startswith("Notation of ")
        svg = base64.b64decode(picture.get("src").split(",", 1)[1]).decode()
        assert svg.startswith("<svg ")
        assert "<script" not in svg


def test_a_missing_engraver_is_said_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(_page_findings, "can_engrave", lambda: False)
    page = render_page(studio_review())
    assert page.count("mockcheck[notation]") == 1
    assert "<img" not in page
    assert "mockcheck[notation]" not in render_page(studio_review(), engrave=False)


def test_what_was_heard_left_out_and_not_checked_is_told_with_the_cautions() -> None:
    tree = tree_of(render_page(studio_review()))
    told = one(tree, "//section[@id='know']")
    titles = [words_of(title) for title in told.xpath("./h3")]
    assert titles[:3] == ["Heard", "Left out", "Not checked"]
    assert "Accepted by the brief" in titles
    assert "no dynamics are sent" in words_of(told)
    assert "no medical advice" in words_of(told)
    assert "hurt hearing" in words_of(told)
    assert "File" not in words_of(told)
    left_out = words_of(one(tree, "//section[@id='tracks']"))
    assert "'Piano': not a string instrument" in left_out


def test_a_clean_review_is_a_whole_page() -> None:
    part = part_of("Violin 1", VIOLIN, scale_rows(8, 55, 80))
    tree = tree_of(render_page(review_of([part])))
    assert words_of(one(tree, "//p[@class='verdict']")).startswith("Ready")
    assert "Nothing found." in words_of(one(tree, "//section[@id='findings']"))
    assert not tree.xpath("//form")
    unchecked = review_of([part], outcomes=[CheckOutcome("x", 0, Outcome.SKIPPED, "none")])
    assert "Not checked" in words_of(one(tree_of(render_page(unchecked)), "//section[@id='know']"))


def test_a_file_that_counts_frames_has_seconds_and_a_patch_without_strings_no_board() -> None:
    timeline = frames_timeline()
    rows = [(60 + n % 12, 200 * n, 200 * n + 150) for n in range(60)]
    part = part_of("Strings", ENSEMBLE, rows, timeline=timeline)
    finding = finding_of(part, Severity.RISKY, 4000, 5000, pitches=(60, 64, 67))
    tree = tree_of(render_page(review_of([part], [finding])))
    (shown,) = findings_of(tree)
    assert words_of(one(shown, ".//span[@class='place']")) == "at 4.0 s to 5.0 s"
    labels = [svg.get("aria-label") for svg in shown.xpath(".//svg[@role='img']")]
    assert labels == ["Notes of Strings, at 4.0 s to 5.0 s"]


def test_a_part_without_notes_still_lists_its_findings() -> None:
    part = part_of("Viola", VIOLIN, [])
    lone = part_of("Violin 1", VIOLIN, [(60, 0, TPQ)], index=1)
    finding = finding_of(part, Severity.REMARK, 0, BAR, pitches=())
    tree = tree_of(render_page(review_of([part, lone], [finding])))
    assert len(findings_of(tree)) == 1


PAPERS = ("--paper", "--slip", "--mark")
INKS = ("--ink", "--quiet", "--link")
SHAPES = ("--s4", "--s2", "--s1", "--edge", "--note", "--found", "--pitch", "--slide", "--stroke")


def colours_of(scheme: str) -> dict[str, str]:
    css = one(tree_of(demo()[1]), "//style").text
    blocks = re.findall(r":root \{(.*?)\}", css, flags=re.DOTALL)
    chosen = blocks[0] if scheme == "light" else blocks[1]
    return dict(re.findall(r"(--[\w-]+): (#[0-9a-f]{3,6});", chosen))


def contrast(one_colour: str, other: str) -> float:
    """Source: WCAG 2.2, relative luminance and contrast ratio."""
    lighter, darker = sorted((luminance(one_colour), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def luminance(colour: str) -> float:
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_and_shapes_stand_out_from_the_paper(scheme: str) -> None:
    colours = colours_of(scheme)
    for paper in PAPERS:
        for ink in INKS:
            assert contrast(colours[ink], colours[paper]) >= 4.5, (ink, paper)
        for shape in SHAPES:
            assert contrast(colours[shape], colours[paper]) >= 3, (shape, paper)
