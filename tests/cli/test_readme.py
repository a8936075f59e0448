"""Every command that the README shows is run, in a folder with the files that it names."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import mido
import pytest

from mockcheck.grade.rubric import default_rubric_text
from tests.phrases import midi_bytes

ROOT = Path(__file__).parent.parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEMO = ROOT / "fixtures" / "demo"

_FENCED = [
    text
    for language, text in re.findall(r"^```(\w*)\n(.*?)^```", README, re.MULTILINE | re.DOTALL)
    if not language
]
_INLINE = re.compile(r"(?<!`)`(mockcheck [^`]+)`(?!`)")
_NEVER_ENDS = re.compile(r"^mockcheck (serve\b|review --watch\b)|--scheduler\b")
"""What waits for its user, or for a cluster, has tests of its own."""
_STANDS_FOR = {
    "FILE": "mockup.mid",
    "FOLDER": "class",
    "OLD": "mockup.mid",
    "NEW": "mockup-2.mid",
    "CHECK": "run-too-fast",
}
_FINDS_SOMETHING = "--fail-on"


def _commands() -> list[str]:
    fenced = [
        line.split("  #")[0].strip()
        for block in _FENCED
        for line in block.splitlines()
        if line.startswith("mockcheck ")
    ]
    # Prose runs on over the end of a line.
    inline = [" ".join(text.split()) for text in _INLINE.findall(README)]
    found = [text for text in dict.fromkeys(fenced + inline) if " " in text]
    return [text for text in found if not _NEVER_ENDS.search(text)]


COMMANDS = _commands()


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo as a composer's mock-up, its revision, and a small class."""
    folder = tmp_path_factory.mktemp("readme")
    shutil.copy(DEMO / "harbour_at_dawn.mid", folder / "mockup.mid")
    shutil.copy(DEMO / "brief.toml", folder / "session.toml")
    _raise_low_viola(folder / "mockup.mid", folder / "mockup-2.mid")
    (folder / "class" / "Ada").mkdir(parents=True)
    (folder / "class" / "Ada" / "trio.mid").write_bytes(_trio())
    (folder / "class" / "Ben - trio.mid").write_bytes(_trio(low="F3"))
    (folder / "model.mid").write_bytes(_trio())
    (folder / "class.csv").write_text("student,id\nAda,7\nBen,8\nZoë,9\n", encoding="utf-8")
    (folder / "rubric.toml").write_text(default_rubric_text(), encoding="utf-8")
    return folder


def _trio(low: str = "A3") -> bytes:
    """Eight bars that a class was to write; `low` is the violin's lowest note."""
    violin = f"G4:1 B4:1 A4:1 D5:1 | C5:2 {low}:2 | E5:1. B4:1. G4:1. A4:1. | B4:2 D4:2 |"
    viola = "D4:2 F#4:2 | E4:2 C4:2 | G4:1 E4:1 D4:2 | D4:2 F#4:2 |"
    cello = "G2:2 D3:2 | C3:2 F#2:2 | C3:1 E3:1 D3:2 | G2:2 D3:2 |"
    return midi_bytes(
        f"violin 4/4 q=90 | {violin} {violin}",
        f"viola 4/4 | {viola} {viola}",
        f"cello 4/4 | {cello} {cello}",
    )


def _raise_low_viola(source: Path, target: Path) -> None:
    """What the example does in the sequencer: the viola's low B an octave up."""
    music = mido.MidiFile(source)
    for track in music.tracks:
        for message in track if "Viola" in track.name else ():
            if message.type in ("note_on", "note_off") and message.note == 47:
                message.note += 12
    music.save(target)


def _run(command: str, desk: Path) -> subprocess.CompletedProcess[str]:
    for made in ("made", "grades", "review"):
        shutil.rmtree(desk / made, ignore_errors=True)
    for word, name in _STANDS_FOR.items():
        command = re.sub(rf"\b{word}\b", name, command)
    # As the user has it on the path: the same interpreter, whatever it is called there.
    line = command.replace("mockcheck ", f"'{sys.executable}' -m mockcheck ", 1)
    environment = os.environ | {"COLUMNS": "100", "MOCKCHECK_CACHE": str(desk / "cache")}
    return subprocess.run(
        line, shell=True, cwd=desk, capture_output=True, text=True, check=False, env=environment
    )


@pytest.mark.slow
@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_of_the_readme_does_what_it_says(command: str, desk: Path) -> None:
    done = _run(command, desk)
    assert done.returncode == (1 if _FINDS_SOMETHING in command else 0), done.stderr
    assert done.stdout or done.stderr or ">" in command


@pytest.mark.slow
def test_the_worked_examples_show_what_is_really_printed(desk: Path) -> None:
    shown = _examples()
    assert len(shown) >= 3
    for command, output in shown:
        printed = _run(command, desk).stdout.splitlines()
        for line in output:
            assert line in printed, (command, line)


def _examples() -> list[tuple[str, list[str]]]:
    """Commands followed, in the same block or the next one, by what they print."""
    examples: list[tuple[str, list[str]]] = []
    for block in _FENCED:
        for line in block.splitlines():
            if line.startswith("mockcheck "):
                examples.append((line, []))
            elif examples and line.strip() not in ("", "..."):
                examples[-1][1].append(line)
    return [(command, lines) for command, lines in examples if lines]
