import os
import random
import resource
import time
from pathlib import Path

from mockcheck.errors import UserError
from mockcheck.model.finding import Outcome
from mockcheck.model.review import Review
from mockcheck.pipeline import review
from mockcheck.report.review_json import render_json
from mockcheck.report.terminal import render_terminal
from tests.read.mutating import mutate, sources

COUNT = int(os.environ.get("MOCKCHECK_MUTATIONS", "200"))
LONGEST_S = 2.0
MOST_EXTRA_MEMORY_KB = 500_000


def outcome(path: Path) -> Review | UserError:
    try:
        return review(path)
    except UserError as error:
        return error


def test_every_damaged_file_gives_a_review_or_a_clear_error(tmp_path: Path) -> None:
    rng = random.Random(20)
    files = sources()
    path = tmp_path / "damaged.mid"
    reviewed = 0
    memory_before_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for _ in range(COUNT):
        path.write_bytes(mutate(rng.choice(files), rng))
        start = time.perf_counter()
        result = outcome(path)
        if isinstance(result, UserError):
            assert path.name in str(result)
        else:
            render_json(result)
            render_terminal(result, colour=False, width=100)
            assert not [o for o in result.outcomes if o.outcome is Outcome.CRASHED]
            reviewed += 1
        assert time.perf_counter() - start < LONGEST_S
    memory_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - memory_before_kb
    assert memory_kb < MOST_EXTRA_MEMORY_KB
    assert reviewed > COUNT / 10
