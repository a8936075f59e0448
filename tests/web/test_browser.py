"""The page as a person meets it: drop, correct and read, by mouse and by keyboard."""

from __future__ import annotations

import base64
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browsing import needs_chromium, open_browser
from tests.phrases import midi_bytes
from tests.web.running import running_page

SCREEN = {"width": 1280, "height": 900}
PHONE = {"width": 360, "height": 740}
PATIENCE_MS = 60_000
# F3 lies below the violin and on the viola.
FAULTY = midi_bytes("Violin 1 4/4 q=100 | A4:2 F3:2 |", "Cello 4/4 | C3:4 |")
LONG_NAME = "a_very_long_name_" * 6 + ".mid"

pytestmark = [pytest.mark.slow, needs_chromium]


@pytest.fixture(scope="module")
def home() -> Iterator[str]:
    with running_page() as (address, _):
        yield address


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with open_browser() as opened:
        yield opened


@pytest.fixture
def open_page(browser: Any, home: str) -> Iterator[Any]:
    """Opens the page; whatever the browser complains about, or asks of others, fails the test."""
    readers, complaints = [], []

    def opened(**options: Any) -> Any:
        reader = browser.new_context(**({"viewport": SCREEN} | options))
        reader.set_default_timeout(PATIENCE_MS)
        reader.on("console", lambda message: complaints.extend(_unexpected(message.text)))
        reader.on("weberror", lambda error: complaints.append(str(error.error)))
        reader.on("request", lambda request: complaints.extend(_foreign(request.url, home)))
        readers.append(reader)
        page = reader.new_page()
        page.goto(home)
        return page

    yield opened
    for reader in readers:
        reader.close()
    assert complaints == []


def _unexpected(words: str) -> list[str]:
    # An answer that cannot be used comes back with the form and this status; that is meant.
    return [] if "status of 422" in words else [words]


def _foreign(address: str, home: str) -> list[str]:
    return [] if address.startswith((home, "data:")) else [address]


@pytest.fixture
def faulty(tmp_path: Path) -> Path:
    path = tmp_path / "faulty.mid"
    path.write_bytes(FAULTY)
    return path


def drop(page: Any, name: str, content: bytes) -> None:
    """Let go of a file over the middle of the page."""
    held = page.evaluate_handle(
        """([name, text]) => {
            const bytes = Uint8Array.from(atob(text), (sign) => sign.charCodeAt(0));
            const held = new DataTransfer();
            held.items.add(new File([bytes], name, {type: "audio/midi"}));
            return held;
        }""",
        [name, base64.b64encode(content).decode()],
    )
    page.dispatch_event("main", "dragover", {"dataTransfer": held})
    page.dispatch_event("main", "drop", {"dataTransfer": held})


def test_drop_a_file_correct_a_track_and_read_a_finding(open_page: Any) -> None:
    page = open_page()
    drop(page, "faulty.mid", FAULTY)
    assert page.evaluate("document.getElementById('mockups').files[0].name") == "faulty.mid"
    page.get_by_role("button", name="Review").click()
    page.get_by_text("Not ready: one impossible place").wait_for()
    page.get_by_role("link", name="Read the review").click()
    finding = page.locator("details.finding, .finding").first
    finding.locator("summary").click()
    assert "F3" in finding.inner_text()
    page.get_by_role("link", name="Back: correct the tracks").click()
    page.get_by_role("link", name="Correct who plays what").click()
    violin = page.get_by_role("group", name="Violin 1")
    violin.get_by_label("Instrument").select_option("viola")
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save as a brief").click()
    assert 'instrument = "viola"' in Path(saved.value.path()).read_text()
    page.get_by_role("button", name="Review again").click()
    page.get_by_text("Ready: nothing stands in the way.").wait_for()
    page.get_by_role("link", name="All reviews").click()
    assert page.get_by_role("link", name="faulty.mid").count() >= 2


def tab_to(page: Any, words: str) -> None:
    """Press Tab until what has the focus is called so."""
    for _ in range(80):
        page.keyboard.press("Tab")
        named = page.evaluate(
            """() => {
                const on = document.activeElement;
                const label = on.labels && on.labels.length ? on.labels[0] : on;
                return label.textContent.trim();
            }"""
        )
        if named.startswith(words):
            outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
            assert outline != "none", f"nobody sees that {words} has the focus"
            return
    raise AssertionError(words)


def test_the_keyboard_alone_does_it_all(open_page: Any, faulty: Path) -> None:
    page = open_page()
    # Listening from the start: the browser must know before the key is pressed.
    choosers: list[Any] = []
    page.on("filechooser", lambda chooser: choosers.append(chooser))  # noqa: PLW0108  # playwright calls no builtin
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Go to the content"
    tab_to(page, "MIDI files")
    page.keyboard.press("Enter")
    for _ in range(100):
        page.wait_for_timeout(100)
        if choosers:
            break
    choosers[0].set_files(faulty)
    tab_to(page, "How well prepared")
    page.keyboard.type("solo")
    tab_to(page, "Review")
    page.keyboard.press("Enter")
    page.get_by_text("Not ready: one impossible place").wait_for()
    tab_to(page, "Correct who plays what")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Who plays what").wait_for()
    assert page.get_by_label("How well prepared").input_value() == "solo"
    tab_to(page, "Instrument")
    page.keyboard.type("viola")
    tab_to(page, "Review again")
    page.keyboard.press("Enter")
    page.get_by_text("Ready: nothing stands in the way.").wait_for()
    tab_to(page, "Read the review")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="faulty.mid").wait_for()


def test_without_scripts_files_can_be_chosen_and_reviewed(open_page: Any, faulty: Path) -> None:
    page = open_page(java_script_enabled=False)
    assert page.get_by_text("Or drop them").is_hidden()
    page.set_input_files("#mockups", faulty)
    page.get_by_role("button", name="Review").click()
    page.get_by_text("Not ready: one impossible place").wait_for()


def test_a_file_that_is_too_large_is_told_before_it_is_sent(open_page: Any, tmp_path: Path) -> None:
    page = open_page()
    large = tmp_path / "large.mid"
    large.write_bytes(bytes(20_000_001))
    page.set_input_files("#mockups", large)
    assert page.get_by_role("alert").inner_text() == "A file is larger than 20 MB."
    before = page.url
    page.get_by_role("button", name="Review").click()
    assert page.url == before
    page.set_input_files("#mockups", [])
    assert page.get_by_role("alert").is_hidden()


def _contrast(page: Any) -> list[float]:
    """Contrast of each text with what it stands on. Source: WCAG 2.2, relative luminance."""
    ratios: list[float] = page.evaluate(
        """() => {
            const light = (colour) => {
                const part = colour.match(/[0-9.]+/g).slice(0, 3).map((n) => {
                    const c = n / 255;
                    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
                });
                return 0.2126 * part[0] + 0.7152 * part[1] + 0.0722 * part[2];
            };
            const under = (node) => {
                for (let at = node; at; at = at.parentElement) {
                    const colour = getComputedStyle(at).backgroundColor;
                    if (!colour.endsWith(", 0)") && colour !== "transparent") return colour;
                }
                return "rgb(255, 255, 255)";
            };
            const texts = document.querySelectorAll(
                "p, a, h1, h2, label, legend, span, button, select, input, td, th, li, summary"
            );
            return Array.from(texts).filter((n) => n.checkVisibility()).map((node) => {
                const ink = light(getComputedStyle(node).color), paper = light(under(node));
                return (Math.max(ink, paper) + 0.05) / (Math.min(ink, paper) + 0.05);
            });
        }"""
    )
    return ratios


@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("size", [SCREEN, PHONE], ids=["screen", "phone"])
def test_every_page_is_readable(
    open_page: Any, tmp_path: Path, colours: str, size: dict[str, int]
) -> None:
    page = open_page(color_scheme=colours, viewport=size)
    path = tmp_path / LONG_NAME
    path.write_bytes(FAULTY)
    _assert_readable(page, colours, size)
    page.set_input_files("#mockups", path)
    page.get_by_role("button", name="Review").click()
    page.get_by_role("link", name="Read the review").wait_for()
    _assert_readable(page, colours, size)
    page.get_by_role("link", name="Correct who plays what").click()
    page.evaluate("document.querySelectorAll('details').forEach((more) => { more.open = true; })")
    page.get_by_label("Tempo, quarters a minute").fill("quick")
    _assert_readable(page, colours, size)
    with page.expect_response(lambda reply: reply.request.method == "POST") as reply:
        page.evaluate("document.querySelector('form').requestSubmit()")
    assert reply.value.status == 422
    page.get_by_role("alert").wait_for()
    page.wait_for_load_state()
    _assert_readable(page, colours, size)


def _assert_readable(page: Any, colours: str, size: dict[str, int]) -> None:
    page.wait_for_load_state("networkidle")
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    assert min(_contrast(page)) >= 4.5
    paper = page.evaluate("getComputedStyle(document.body).backgroundColor")
    darkness = [int(part) < 128 for part in paper[4:-1].split(", ")]
    assert darkness == [colours == "dark"] * 3
    targets = page.evaluate(
        """() => Array.from(document.querySelectorAll("button, select, input, .button, summary"))
            .filter((node) => node.checkVisibility())
            .map((node) => node.getBoundingClientRect().height)"""
    )
    # WCAG 2.2, 2.5.8 Target Size (Minimum).
    assert min(targets) >= 24
