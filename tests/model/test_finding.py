from mockcheck.model.finding import Severity


def test_severities_are_ordered_by_what_happens_at_the_session() -> None:
    assert Severity.IMPOSSIBLE > Severity.RISKY > Severity.AWKWARD > Severity.REMARK
    assert Severity.RISKY.label == "risky"
