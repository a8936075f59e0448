"""What a run of fuzzing has seen so far, and how one file is tried and judged."""

from __future__ import annotations

import json
import resource
import time
import traceback
import warnings
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path

from mockcheck.errors import UserError
from tests.fuzzing.targets import Target, behaviours_of

LONGEST_S = 5.0
"""Seconds of the processor for one file of a few kilobytes; more is a hang."""

MOST_EXTRA_MEMORY_KB = 500_000
"""What the peak of the process may rise by with one such file."""


@dataclass
class Tally:
    """Counts of a run; `crashes` maps what went wrong to the first file that did it."""

    inputs: int = 0
    read: int = 0
    used: int = 0
    slowest_s: float = 0.0
    behaviours: list[str] = field(default_factory=list)
    crashes: dict[str, str] = field(default_factory=dict)

    def note(self, seen: Iterator[str]) -> None:
        """Add behaviours that are new."""
        for behaviour in seen:
            if behaviour not in self.behaviours:
                self.behaviours.append(behaviour)

    def save(self, path: Path) -> None:
        """Write it so that a reader never meets half a file."""
        fresh = path.with_suffix(".new")
        fresh.write_text(json.dumps(asdict(self)), encoding="utf-8")
        fresh.replace(path)

    @classmethod
    def load(cls, path: Path) -> Tally:
        """What `save` wrote; nothing where nothing was written."""
        return cls(**json.loads(path.read_text("utf-8"))) if path.exists() else cls()

    def add(self, other: Tally) -> None:
        """Put two runs together."""
        self.inputs += other.inputs
        self.read += other.read
        self.used += other.used
        self.slowest_s = max(self.slowest_s, other.slowest_s)
        self.note(iter(other.behaviours))
        self.crashes = {**other.crashes, **self.crashes}


def try_file(target: Target, path: Path, tally: Tally, *, goes_on: bool) -> str | None:
    """Try one file and count it; what went wrong, or None.

    With `goes_on` a file that could be read is used as well.
    """
    tally.inputs += 1
    memory_kb = _peak_kb()
    begin_s = time.process_time()
    fault = _fault_of(target.read, path, tally)
    if fault is None:
        tally.read += 1
        if goes_on:
            tally.used += 1
            fault = _fault_of(target.use, path, tally)
    seconds = time.process_time() - begin_s
    tally.slowest_s = max(tally.slowest_s, seconds)
    if fault:
        return fault
    if seconds > LONGEST_S:
        return f"took more than {LONGEST_S:g} s"
    if _peak_kb() - memory_kb > MOST_EXTRA_MEMORY_KB:
        return f"took more than {MOST_EXTRA_MEMORY_KB // 1000} MB"
    return None


def _fault_of(step: Callable[[Path], Iterator[str]], path: Path, tally: Tally) -> str | None:
    """None when the step went through, '' when it said clearly why not, else what went wrong."""
    try:
        with warnings.catch_warnings():
            # A warning would end up on the user's terminal, so it is a fault as well.
            warnings.simplefilter("error")
            tally.note(step(path))
    except UserError as error:
        tally.note(behaviours_of(str(error).replace(str(path), "FILE").replace(path.name, "FILE")))
        return ""
    except Exception as error:  # noqa: BLE001 - whatever it is, it is what we look for
        return _signature(error)
    return None


def _signature(error: Exception) -> str:
    """Kind and innermost place in the product: one and the same for one and the same fault."""
    frames = traceback.extract_tb(error.__traceback__)
    ours = [frame for frame in frames if f"{Path('mockcheck')}" in Path(frame.filename).parts]
    frame = (ours or frames)[-1]
    place = "/".join(Path(frame.filename).parts[-2:])
    text = str(error).splitlines()
    # A check that crashed tells its own traceback, whose last line is the fault.
    last = text[-1] if text and isinstance(error, AssertionError) else ""
    return f"{type(error).__name__} at {place}:{frame.lineno} {last}".strip()


def _peak_kb() -> int:
    # Kilobytes on Linux; on other systems a different unit would only move the limit.
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
