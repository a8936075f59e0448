import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from mockcheck.cli._watching import GIVE_UP_SECONDS, STILL_SECONDS, Watcher, is_complete, watch
from mockcheck.cli.review import command
from mockcheck.errors import BadBrief
from mockcheck.pipeline import review
from tests.phrases import midi_bytes

FAULTY = midi_bytes("Violin 1 4/4 q=100 | A4:2 F3:2 |", "Cello 4/4 | C3:4 |")
CLEAN = midi_bytes("Violin 1 4/4 q=100 | A4:2 B4:2 |", "Cello 4/4 | C3:4 |")
QUIRKS = Path(__file__).parent.parent.parent / "fixtures" / "quirks"


class Clock:
    """A file and a clock that only the test moves."""

    def __init__(self, path: Path, watcher: Watcher) -> None:
        self.path, self.watcher, self.now = path, watcher, 0.0

    def write(self, content: bytes) -> None:
        self.path.write_bytes(content)
        # File times may be coarse; a sequencer's next save is never in the same tick.
        os.utime(self.path, ns=(0, int(self.now * 1e9) + 1))

    def seen_after(self, seconds: float) -> list[str]:
        seen = []
        for _ in range(round(seconds / 0.1)):
            self.now += 0.1
            seen += [path.name for path in self.watcher.poll(self.now)]
        return seen


@pytest.fixture
def clock(tmp_path: Path) -> Clock:
    path = tmp_path / "cue.mid"
    return Clock(path, Watcher(path))


def test_a_file_is_given_once_when_it_lies_still(clock: Clock) -> None:
    clock.write(FAULTY)
    assert clock.seen_after(STILL_SECONDS - 0.1) == []
    assert clock.seen_after(0.3) == ["cue.mid"]
    assert clock.seen_after(20) == []


def test_a_file_that_is_being_written_is_waited_for(clock: Clock) -> None:
    for length in range(10, len(FAULTY), 20):
        clock.write(FAULTY[:length])
        assert clock.seen_after(STILL_SECONDS / 2) == []
    clock.write(FAULTY)
    assert clock.seen_after(STILL_SECONDS + 0.2) == ["cue.mid"]


def test_a_file_that_pauses_half_written_is_waited_for(clock: Clock) -> None:
    clock.write(FAULTY[:-20])
    assert clock.seen_after(GIVE_UP_SECONDS - 0.5) == []
    clock.write(FAULTY)
    assert clock.seen_after(STILL_SECONDS + 0.2) == ["cue.mid"]


def test_a_file_that_stays_cut_off_is_given_in_the_end(clock: Clock) -> None:
    clock.write(FAULTY[:-20])
    assert clock.seen_after(GIVE_UP_SECONDS + 0.3) == ["cue.mid"]


def test_the_same_contents_written_again_are_no_change(clock: Clock) -> None:
    clock.write(FAULTY)
    assert clock.seen_after(2) == ["cue.mid"]
    clock.write(FAULTY)
    assert clock.seen_after(2) == []
    clock.write(CLEAN)
    assert clock.seen_after(2) == ["cue.mid"]


def test_a_file_that_goes_and_comes_back_is_followed(clock: Clock) -> None:
    assert clock.seen_after(1) == []
    clock.write(FAULTY)
    assert clock.seen_after(2) == ["cue.mid"]
    clock.path.unlink()
    assert clock.seen_after(2) == []
    clock.write(CLEAN)
    assert clock.seen_after(2) == ["cue.mid"]


def test_a_folder_is_watched_with_what_comes_later(tmp_path: Path) -> None:
    watcher = Watcher(tmp_path)
    first = Clock(tmp_path / "b.mid", watcher)
    first.write(FAULTY)
    (tmp_path / "notes.txt").write_text("no music")
    (tmp_path / "._b.mid").write_bytes(b"companion")
    assert first.seen_after(2) == ["b.mid"]
    (tmp_path / "A.MID").write_bytes(CLEAN)
    assert first.seen_after(2) == ["A.MID"]


def test_a_new_brief_concerns_every_file(tmp_path: Path) -> None:
    brief = tmp_path / "session.toml"
    brief.write_text('level = "sight"')
    watcher = Watcher(tmp_path / "cue.mid", brief)
    clock = Clock(tmp_path / "cue.mid", watcher)
    clock.write(FAULTY)
    assert clock.seen_after(2) == ["cue.mid"]
    brief.write_text('level = "rehearsed"')
    assert clock.seen_after(2) == ["cue.mid"]


def test_a_new_house_brief_concerns_every_file_too(tmp_path: Path) -> None:
    brief, house = tmp_path / "session.toml", tmp_path / "house.toml"
    brief.write_text('extends = "house.toml"')
    clock = Clock(tmp_path / "cue.mid", Watcher(tmp_path / "cue.mid", brief))
    clock.write(FAULTY)
    assert clock.seen_after(2) == ["cue.mid"]
    house.write_text('level = "sight"')
    assert clock.seen_after(2) == ["cue.mid"]
    house.write_text('level = "rehearsed"')
    assert clock.seen_after(2) == ["cue.mid"]
    assert clock.seen_after(2) == []


def test_only_the_whole_file_is_complete() -> None:
    assert is_complete(FAULTY)
    assert not [length for length in range(4, len(FAULTY)) if is_complete(FAULTY[:length])]
    assert not is_complete(b"")


def test_what_is_no_midi_file_is_given_to_the_reader() -> None:
    assert is_complete((QUIRKS / "appledouble.mid").read_bytes())
    assert is_complete((QUIRKS / "riff_wrapped.rmi").read_bytes())


@pytest.mark.parametrize(
    "arguments",
    [["a.mid", "b.mid"], ["a.mid", "--format", "json"], ["a.mid", "--fail-on", "risky"]],
)
def test_watch_takes_one_place_and_prints_text(arguments: list[str]) -> None:
    result = CliRunner().invoke(command, ["--watch", *arguments])
    assert result.exit_code == 2
    assert "--watch takes one FILE or folder" in result.output


def test_nothing_to_watch_is_told(tmp_path: Path) -> None:
    with pytest.raises(BadBrief, match="there is nothing to watch"):
        watch(tmp_path / "none.mid", None, None, review, lambda *_: None)


class Watching:
    """`mockcheck review --watch` in a process of its own, and what it prints."""

    def __init__(self, *arguments: str | Path) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "mockcheck", "review", "--watch", *map(str, arguments)],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            env=os.environ | {"PYTHONUNBUFFERED": "1"},
        )
        self.lines: list[str] = []
        self._reader = threading.Thread(target=self._read)
        self._reader.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        self.lines += iter(self.process.stdout.readline, "")

    def wait_for(self, words: str) -> None:
        last = time.monotonic() + 60
        while not any(words in line for line in self.lines):
            assert time.monotonic() < last, self.lines
            time.sleep(0.1)

    def stop(self) -> int:
        self.process.send_signal(signal.SIGINT)
        code = self.process.wait(timeout=30)
        self._reader.join()
        assert self.process.stdout is not None
        self.process.stdout.close()
        return code


@pytest.fixture
def watching(tmp_path: Path) -> Iterator[Watching]:
    (tmp_path / "cue.mid").write_bytes(FAULTY)
    started = Watching(tmp_path / "cue.mid", "--out", tmp_path / "out", "--notation", "none")
    yield started
    if started.process.poll() is None:
        started.stop()


@pytest.mark.slow
def test_what_was_fixed_and_what_is_new_is_told(watching: Watching, tmp_path: Path) -> None:
    path = tmp_path / "cue.mid"
    watching.wait_for("cue.mid: 1 impossible")
    path.write_bytes((QUIRKS / "division_zero.mid").read_bytes())
    watching.wait_for("the division field of the header is 0")
    path.write_bytes(CLEAN)
    watching.wait_for("1 fixed, 0 new, 0 still there")
    watching.wait_for("  fixed  impossible, Violin 1, bar 1, beat 3: A note lies below")
    path.write_bytes(FAULTY)
    watching.wait_for("0 fixed, 1 new, 0 still there")
    assert watching.stop() == 0
    assert watching.lines[-1] == "Stopped.\n"
    assert list((tmp_path / "out").glob(".*")) == []


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("chromium") is None, reason="no chromium on this machine")
def test_the_open_page_takes_in_the_new_review_and_nothing_else(
    watching: Watching, tmp_path: Path
) -> None:
    # Only this test wants a browser; the others of this file run without one.
    from tests.browsing import open_browser

    page_path = tmp_path / "out" / "watch.html"
    watching.wait_for("cue.mid: 1 impossible")
    last = time.monotonic() + 60
    while not (tmp_path / "out" / "watch-state.js").exists():
        assert time.monotonic() < last
        time.sleep(0.1)
    with open_browser() as browser:
        page = browser.new_page()
        loads: list[str] = []
        page.on("framenavigated", lambda frame: loads.append(frame.url.rpartition("/")[2]))
        page.goto(page_path.as_uri())
        review_frame: Any = page.frame_locator("#review")
        review_frame.get_by_text("Not ready: one impossible place").wait_for(timeout=30_000)
        page.get_by_text("Reviewed at").wait_for(timeout=30_000)
        page.wait_for_timeout(3500)
        assert loads == ["watch.html", "review.html"]
        (tmp_path / "cue.mid").write_bytes(CLEAN)
        review_frame.get_by_text("Ready: nothing stands").wait_for(timeout=60_000)
        assert len(loads) == 3
