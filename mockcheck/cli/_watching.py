"""`mockcheck review --watch`: review again whenever the sequencer has written the file."""

from __future__ import annotations

import hashlib
import html
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from mockcheck.archive.files import MIDI_ENDINGS
from mockcheck.cli._folder import writable
from mockcheck.errors import BadBrief, UserError
from mockcheck.model.words import printable

if TYPE_CHECKING:
    from mockcheck.model.finding import Finding
    from mockcheck.model.review import Review

POLL_SECONDS = 0.4
STILL_SECONDS = 0.8
"""A file that has not changed for this long is taken for written."""
GIVE_UP_SECONDS = 5.0
"""A file that stays cut off for this long is reviewed as it is, and the review says so."""
_MOST_LISTED = 8

Stamp = tuple[int, int]


@dataclass
class _Seen:
    """What was last seen of one file; `content` is the digest of what was last reviewed."""

    stamp: Stamp
    since: float
    is_settled: bool = False
    content: str = ""


class Watcher:
    """Notices which files have new contents, once each has been written to its end.

    Parameters
    ----------
    path
        A MIDI file, or a folder whose MIDI files are watched, those that come later included.
    beside
        The brief, whose change concerns all of them; so does that of a brief that it extends.
    """

    def __init__(self, path: Path, beside: Path | None = None) -> None:
        self._path = path
        self._beside = beside
        self._seen: dict[Path, _Seen] = {}
        self._beside_stamps = _brief_stamps(beside)

    def poll(self, now: float) -> Iterator[Path]:
        """Files whose contents are new since they were last given, in order of name.

        Parameters
        ----------
        now
            Seconds on a clock that never goes back.
        """
        stamps = _brief_stamps(self._beside)
        if stamps != self._beside_stamps:
            self._beside_stamps = stamps
            for seen in self._seen.values():
                seen.content, seen.is_settled = "", False
        for path in self._files():
            if self._is_new(path, now):
                yield path

    def _files(self) -> list[Path]:
        if not self._path.is_dir():
            return [self._path]
        try:
            names = sorted(self._path.iterdir())
        except OSError:
            return []
        return [
            path
            for path in names
            if path.suffix.lower() in MIDI_ENDINGS and not path.name.startswith(".")
        ]

    def _is_new(self, path: Path, now: float) -> bool:
        stamp = _stamp(path)
        if stamp is None:
            # Some programs delete the file before they write it anew.
            return False
        seen = self._seen.setdefault(path, _Seen(stamp, now))
        if seen.stamp != stamp:
            seen.stamp, seen.since, seen.is_settled = stamp, now, False
        if seen.is_settled or now - seen.since < STILL_SECONDS:
            return False
        try:
            content = path.read_bytes()
        except OSError:
            return False
        if not is_complete(content) and now - seen.since < GIVE_UP_SECONDS:
            return False
        seen.is_settled = True
        digest = hashlib.sha256(content).hexdigest()
        if digest == seen.content:
            return False
        seen.content = digest
        return True


def is_complete(content: bytes) -> bool:
    """Whether every chunk that a Standard MIDI File announces is there to its last byte.

    What is no such file counts as complete: reading it says what is wrong.
    """
    if not content:
        return False
    if content[:4] != b"MThd":
        return True
    place, tracks = 0, 0
    while place + 8 <= len(content):
        tracks += content[place : place + 4] == b"MTrk"
        place += 8 + int.from_bytes(content[place + 4 : place + 8], "big")
    announced = int.from_bytes(content[10:12], "big")
    return place == len(content) and tracks >= announced


def watch(
    path: Path,
    brief: Path | None,
    out: Path | None,
    review_file: Callable[[Path], Review],
    write: Callable[[Review, Path], None],
) -> None:
    """Review what changes until the user stops it; what cannot be reviewed is told, and it goes on.

    Parameters
    ----------
    path, brief
        What is watched.
    out
        Where reviews are written, for a folder one folder a file; None writes none.
    review_file, write
        Make a review; write it into a folder.

    Raises BadBrief when there is nothing of that name to watch.
    """
    if not path.exists():
        message = f"{path}: there is nothing to watch. Name a MIDI file, or a folder of them."
        raise BadBrief(message)
    watcher = Watcher(path, brief)
    before: dict[Path, Review] = {}
    click.echo(f"Watching {path}; stop with Ctrl+C.")
    if out is not None and not path.is_dir():
        click.echo(f"Open {out / 'watch.html'} and leave it open.")
    try:
        while True:
            for file in watcher.poll(time.monotonic()):
                folder = None if out is None else out / file.name if path.is_dir() else out
                _review_again(file, folder, before, review_file, write)
            time.sleep(POLL_SECONDS)
    except KeyboardInterrupt:
        click.echo("Stopped.")


def _review_again(
    file: Path,
    folder: Path | None,
    before: dict[Path, Review],
    review_file: Callable[[Path], Review],
    write: Callable[[Review, Path], None],
) -> None:
    clock = time.strftime("%H:%M:%S")
    try:
        result = review_file(file)
        for line in _changes(before.get(file), result):
            click.echo(f"{clock} {file.name}: {line}" if line[:1] != " " else line)
        before[file] = result
        if folder is not None:
            write(result, folder)
            write_watch_page(result, folder, clock)
    except UserError as error:
        click.echo(f"{clock} mockcheck: {error}", err=True)
    except Exception as error:  # noqa: BLE001  # the next version of the file may well be fine
        click.echo(
            f"{clock} mockcheck: {file.name}: this is a fault of mockcheck, not of your file"
            f" ({error!r}). Watching goes on.",
            err=True,
        )


def _changes(old: Review | None, new: Review) -> Iterator[str]:
    from mockcheck.report._verdict import counts_line

    if old is None:
        yield counts_line(new)
        return
    from mockcheck.plan.compare import compare_reviews

    comparison = compare_reviews(old, new)
    fixed, fresh = comparison.fixed, comparison.new
    yield f"{len(fixed):,} fixed, {len(fresh):,} new, {len(comparison.kept):,} still there"
    lines = [f"  fixed  {_named(finding)}" for finding in fixed]
    lines += [f"  new    {_named(finding)}" for finding in fresh]
    yield from lines[:_MOST_LISTED]
    if len(lines) > _MOST_LISTED:
        yield f"  and {len(lines) - _MOST_LISTED:,} more"


def _named(finding: Finding) -> str:
    from mockcheck.model.words import place_words

    place = place_words(finding.start, finding.end)
    message = printable(finding.message)
    return f"{finding.severity.label}, {printable(finding.part)}, {place}: {message}"


def write_watch_page(result: Review, folder: Path, clock: str) -> None:
    """Write watch.html, which shows the review.html beside it and takes in each new one.

    A page opened from disk may not read other files, but it may load a script: watch.html loads
    `watch-state.js` again and again, which names the review that is current, and only when that
    name is another one it loads the review anew. So a reader keeps place and focus until the music
    changes. Raises BadBrief where the folder cannot be written to.
    """
    name = html.escape(printable(Path(result.played.score.file).name))
    state = hashlib.sha256(f"{clock} {result.played.score.sha256}".encode()).hexdigest()[:16]
    with writable("--out", folder):
        _write_whole(folder / "watch.html", _WATCH_PAGE.replace("NAME", name))
        _write_whole(folder / "watch-state.js", f'current("{state}", "{clock}");\n')


def _write_whole(path: Path, text: str) -> None:
    """Put the file in place in one step, so that no browser reads half of it."""
    part = path.with_name(f".{path.name}.part")
    part.write_text(text, encoding="utf-8")
    part.replace(path)


def _brief_stamps(path: Path | None) -> tuple[Stamp | None, ...]:
    """What tells one state of a brief, and of those that it extends, from another."""
    from mockcheck.config.chain import read_chain

    if path is None:
        return ()
    try:
        return tuple(_stamp(file.path) for file in read_chain(path))
    except BadBrief:
        # Reviewing tells what is wrong with it.
        return (_stamp(path),)


def _stamp(path: Path) -> Stamp | None:
    try:
        status = path.stat()
    except OSError:
        return None
    return status.st_mtime_ns, status.st_size


_WATCH_PAGE = """<!DOCTYPE html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>Watching NAME</title>
<style>
:root { color-scheme: light dark; --paper: #fbf8f1; --ink: #24211c; }
@media (prefers-color-scheme: dark) { :root { --paper: #211f1b; --ink: #ece5d8; } }
body {
  margin: 0; height: 100vh; display: flex; flex-direction: column;
  background: var(--paper); color: var(--ink);
  font: 1rem/1.5 Charter, "Iowan Old Style", Georgia, "Liberation Serif", serif;
}
header { display: flex; flex-wrap: wrap; gap: 0 1.5rem; padding: 0.5rem 1rem; }
h1, p { margin: 0; font-size: 1rem; font-weight: 400; overflow-wrap: anywhere; }
main { flex: 1; display: flex; }
iframe { flex: 1; border: 0; }
</style>
<noscript><meta http-equiv="refresh" content="10"></noscript>
</head>
<body>
<header><h1>Watching NAME</h1><p role="status" id="told"></p></header>
<main><iframe id="review" src="review.html" title="Review of NAME"></iframe></main>
<script>
"use strict";
let shown = null;
function current(state, clock) {
  if (state === shown) return;
  document.getElementById("told").textContent = "Reviewed at " + clock + ".";
  if (shown !== null) document.getElementById("review").src = "review.html?" + state;
  shown = state;
}
function look() {
  const script = document.createElement("script");
  script.src = "watch-state.js?" + Date.now();
  script.onload = script.onerror = () => { script.remove(); setTimeout(look, 1000); };
  document.head.append(script);
}
look();
</script>
</body>
</html>
"""
