"""One process of fuzzing: atheris makes inputs, led by the branches that they reach.

Started by `tests.fuzzing`, which survives whatever happens here.
"""

from __future__ import annotations

import os
import random
import resource
import sys
import time
from pathlib import Path
from types import ModuleType

LONGEST_INPUT_BYTES = 8000
HANGS_AFTER_S = 30
MOST_MEMORY_MB = 3000
_SAVED_EVERY_S = 1.0
WORN_OUT = 75
"""Exit code of a process that has grown large over many files; another one takes over."""
_LARGE_MB = 1500
_OWN_SHARE = 0.7
"""How often the target's own changes are used, not the engine's."""
_FRESH_SHARE = 0.5
"""How often those start from a seed: what the engine keeps is mostly refused, each in a new way."""


def main() -> None:
    """Arguments: target, seconds, folder to work in, file for the tally."""
    name, seconds, folder, tally_file = sys.argv[1], float(sys.argv[2]), sys.argv[3], sys.argv[4]
    import atheris

    with atheris.instrument_imports(include=["mockcheck"]):
        from tests.fuzzing.tally import Tally, try_file
        from tests.fuzzing.targets import TARGETS
    target, tally, place = TARGETS[name], Tally(), Path(folder)
    seeds = target.seeds()
    end_s, saved_s, begin_s, used_s = time.monotonic() + seconds, 0.0, time.monotonic(), 0.0

    def one_input(data: bytes) -> None:
        nonlocal saved_s, used_s
        path = place / f"input{target.suffix}"
        path.write_bytes(data)
        now_s = time.monotonic()
        # Using a file takes far longer than reading it; half of the time is for either.
        goes_on = used_s <= (now_s - begin_s) / 2
        fault = try_file(target, path, tally, goes_on=goes_on)
        if goes_on:
            used_s += time.monotonic() - now_s
        if fault and fault not in tally.crashes:
            kept = place / f"crash-{name}-{os.getpid()}-{len(tally.crashes)}{target.suffix}"
            kept.write_bytes(data)
            tally.crashes[fault] = str(kept)
        if now_s - saved_s > _SAVED_EVERY_S or fault or now_s > end_s:
            tally.save(Path(tally_file))
            saved_s = now_s
        is_large = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000 > _LARGE_MB
        if is_large and not fault:
            tally.save(Path(tally_file))
            os._exit(WORN_OUT)
        if now_s > end_s:
            # The engine has no way to stop that keeps Python's clean-up; all is written.
            os._exit(0)

    def change(data: bytes, most_bytes: int, seed: int) -> bytes:
        rng = random.Random(seed)
        base = rng.choice(seeds) if rng.random() < _FRESH_SHARE else data
        changed = target.mutate(base, rng) if rng.random() < _OWN_SHARE else None
        if changed is not None and len(changed) <= most_bytes:
            return changed
        return bytes(atheris.Mutate(data, most_bytes))

    shelf, found = place / "seeds", place / "found"
    found.mkdir(exist_ok=True)
    _write_seeds(shelf, seeds)
    for file, content in target.beside.items():
        (place / file).write_bytes(content)
    options = [
        f"-max_len={LONGEST_INPUT_BYTES}", f"-timeout={HANGS_AFTER_S}", "-verbosity=0",
        f"-rss_limit_mb={MOST_MEMORY_MB}", f"-artifact_prefix={place}/engine-",
        *_dictionary(place, target.tokens),
    ]  # fmt: skip
    _start(atheris, [sys.argv[0], *options, str(found), str(shelf)], one_input, change)


def _write_seeds(folder: Path, seeds: list[bytes]) -> None:
    folder.mkdir(exist_ok=True)
    for number, seed in enumerate(seeds):
        (folder / f"{number:03}").write_bytes(seed)


def _dictionary(folder: Path, tokens: tuple[bytes, ...]) -> list[str]:
    if not tokens:
        return []
    path = folder / "words.dict"
    lines = ['"' + "".join(f"\\x{byte:02x}" for byte in token) + '"' for token in tokens]
    path.write_text("\n".join(lines) + "\n")
    return [f"-dict={path}"]


def _start(atheris: ModuleType, arguments: list[str], one_input: object, change: object) -> None:
    atheris.Setup(arguments, one_input, custom_mutator=change)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
