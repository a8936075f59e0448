import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from lxml import html  # type: ignore[import-untyped]  # ships no types

from mockcheck.model.review import Review
from mockcheck.model.session_time import SessionTime
from mockcheck.plan.minutes import cue_of
from mockcheck.plan.rehearsal import plan_rehearsal
from mockcheck.report.rehearsal_page import render_rehearsal_page
from tests.plan.cues import bars_of, demo, review_of

BROWSER = shutil.which("chromium")
SCRIPT = "<script>alert(1)</script>\"'&<img src=https://example.com/x.png>"


def page(review: Review) -> str:
    return render_rehearsal_page(cue_of(plan_rehearsal(review), SessionTime()))


def hostile() -> Review:
    """Many spots, many troubles, and names as long and wide and wicked as a file can hold."""
    apart = "run calm moving moving moving moving calm "
    phrases = [bars_of(f"rest {apart * 15}", q=400, name=f"Violin {k}") for k in (1, 2)]
    phrases.append("viola 4/4 q=400 | " + "B2:1 C3+E3:3 | " * 60)
    brief = {
        "tracks": [
            {"match": 1, "part": f"{SCRIPT}{'W' * 300}", "instrument": "violin"},
            {"match": 2, "part": "絃楽器" * 100, "instrument": "violin"},
            {"match": 3, "part": "M W " * 100, "instrument": "viola"},
        ]
    }
    return review_of(*phrases, brief=brief)


REVIEWS: dict[str, Callable[[], Review]] = {
    "demo": demo,
    "hostile": hostile,
    "calm": lambda: review_of(bars_of("calm calm", q=80)),
}


@pytest.mark.parametrize("name", REVIEWS)
def test_the_page_asks_for_nothing_from_outside_and_runs_nothing(name: str) -> None:
    document = html.fromstring(page(REVIEWS[name]()))
    # A name may look like an address, as text.
    assert not document.xpath(
        "//@src | //@href | //@srcset | //@style | //@*[starts-with(name(), 'on')]"
    )
    outside = ("script", "link", "img", "iframe", "object", "embed", "form", "base", "svg")
    assert not [element for tag in outside for element in document.iter(tag)]
    style = "".join(document.xpath("//style/text()"))
    assert "url(" not in style
    assert "@import" not in style


def test_hostile_names_are_text() -> None:
    text = page(hostile())
    assert "<script" not in text
    assert "<img" not in text
    assert "&lt;script&gt;" in text
    # A long name leaves room for what is to be said.
    assert "the viola ends at C3" in text


def test_the_demo_has_a_row_for_each_spot_with_bars_who_clicks_and_seconds() -> None:
    review = demo()
    plan = plan_rehearsal(review)
    document = html.fromstring(page(review))
    rows = document.xpath("//tbody/tr")
    assert len(rows) == len(plan.exercises)
    for row, exercise in zip(rows, plan.exercises, strict=True):
        cells = [" ".join(cell.text_content().split()) for cell in row.xpath("td")]
        spot = exercise.spot
        assert cells[0] == str(exercise.number)
        bars = {str(spot.first_bar_index + 1), str(spot.last_bar_index + 1)}
        assert set(re.findall(r"\d+", cells[1])) == bars
        for part in spot.parts:
            assert part.part in cells[2]
            assert part.part in cells[3]
        clicks = row.xpath(".//*[@class='click']/text()")
        assert clicks == [f"{rung.click_bpm:.0f}" for rung in exercise.ladder.rungs]
        seconds = row.xpath(".//*[@class='seconds']/text()")
        assert seconds == [f"{rung.seconds:.0f} s" for rung in exercise.ladder.rungs]
    changes = document.xpath("//li")
    assert len(changes) == len(plan.to_change) + len(plan.to_read)


def test_what_finds_no_room_is_counted() -> None:
    review = hostile()
    plan = plan_rehearsal(review)
    document = html.fromstring(page(review))
    rows = len(document.xpath("//tbody/tr"))
    assert 0 < rows < len(plan.exercises)
    assert f"and {len(plan.exercises) - rows} more" in document.text_content()


def test_light_on_any_screen() -> None:
    style = "".join(html.fromstring(page(demo())).xpath("//style/text()"))
    assert "background: #fff; color: #000" in style
    assert "prefers-color-scheme" not in style


@pytest.mark.skipif(BROWSER is None, reason="no browser to print with")
@pytest.mark.parametrize("size", ["A4", "letter"])
@pytest.mark.parametrize("name", REVIEWS)
def test_it_prints_on_one_page(name: str, size: str, tmp_path: Path) -> None:
    assert BROWSER is not None
    text = page(REVIEWS[name]()).replace("size: A4", f"size: {size}")
    (tmp_path / "sheet.html").write_text(text)
    options = ["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    target = f"--print-to-pdf={tmp_path / 'sheet.pdf'}"
    subprocess.run(
        [BROWSER, *options, target, (tmp_path / "sheet.html").as_uri()],
        check=True,
        capture_output=True,
        timeout=120,
    )
    pages = re.findall(rb"/Type\s*/Page\b", (tmp_path / "sheet.pdf").read_bytes())
    assert len(pages) == 1
