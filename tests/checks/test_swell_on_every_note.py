from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "swell-on-every-note"


def swelling(peaks: list[tuple[float, int]], session: Session | None = None) -> list[Finding]:
    """Bars of four seconds, each one note; peak place (beat of the bar) and height of each."""
    bars = []
    for beat, height in peaks:
        points = [(1.0, 50), ((1 + beat) / 2, 50 + height // 2), (beat, 50 + height)]
        points += [((beat + 4.4) / 2, 50 + height // 2), (4.4, 50)]
        drawn = " ".join(f"cc11@{place:.3f}={value}" for place, value in points)
        bars.append(f"{drawn} A4:4 |")
    return findings(CHECK, f"violin 4/4 q=60 | {' '.join(bars)}", session=session)


def test_one_hairpin_pasted_under_every_note_is_awkward() -> None:
    (found,) = swelling([(2.7, 30)] * 10)
    assert found.severity is Severity.AWKWARD
    assert (found.start.bar, found.end.bar) == (1, 10)
    row, size = found.evidence
    assert (row.measured, row.limit) == (10, 8)
    assert 25 <= size.measured <= 30
    assert size.limit == 8


def test_swells_of_many_shapes_are_a_remark() -> None:
    rng = Random(4)
    shapes = [(rng.uniform(1.6, 3.9), rng.randrange(14, 50)) for _ in range(8)]
    assert [found.severity for found in swelling(shapes)] == [Severity.REMARK]


def test_seven_in_a_row_are_a_phrase_of_sighs() -> None:
    assert swelling([(2.7, 30)] * 7) == []
    assert len(swelling([(2.7, 30)] * 8)) == 1


def test_a_note_without_a_swell_ends_the_row() -> None:
    assert swelling([*[(2.7, 30)] * 7, (2.7, 4), *[(2.7, 30)] * 7]) == []


def test_swells_far_apart_are_not_in_a_row() -> None:
    swell = "cc11@1=50 cc11@2=80 cc11@3=50 A4:3"
    near = f"{swell} B4:1/2 B4:1/2 | "
    far = f"{swell} r:1 | B4:1/2 B4:1/2 B4:1/2 B4:1/2 B4:1/2 B4:1/2 B4:1/2 B4:1/2 | "
    assert len(findings(CHECK, f"violin 4/4 q=60 | {near * 8}")) == 1
    assert findings(CHECK, f"violin 4/4 q=60 | {far * 8}") == []


def test_life_inside_a_note_is_no_swell() -> None:
    assert swelling([(2.7, 7)] * 10) == []
    assert len(swelling([(2.7, 12)] * 10)) == 1


def test_one_arch_over_a_phrase_is_fine() -> None:
    values = [40, 50, 60, 70, 80, 90, 84, 76, 68, 58, 48, 40]
    notes = " ".join(f"cc11@{1 + 2 * place}={value} A4:2" for place, value in enumerate(values))
    assert findings(CHECK, f"violin 24/4 q=60 | {notes} |") == []


def test_notes_that_only_grow_are_fine() -> None:
    bar = "cc11@1=40 cc11@2=60 cc11@3=80 cc11@4.3=90 A4:4 | "
    assert findings(CHECK, f"violin 4/4 q=60 | {bar * 10}") == []


def test_velocity_cannot_swell() -> None:
    assert findings(CHECK, f"violin 4/4 q=60 | {'v60 A4:2 v90 B4:2 | ' * 10}") == []


def test_the_number_in_a_row_can_be_set_for_a_session() -> None:
    assert swelling([(2.7, 30)] * 8, Session(check_params={CHECK: {"least_notes": 9}})) == []


@given(st.integers(8, 14), st.integers(14, 60))
@settings(max_examples=10)
def test_every_pasted_row_is_one_finding_of_its_length(count: int, height: int) -> None:
    (found,) = swelling([(2.7, height)] * count)
    assert found.evidence[0].measured == count
