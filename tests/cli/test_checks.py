from click.testing import CliRunner

from mockcheck.checks._registry import all_checks
from mockcheck.cli.checks import command


def test_every_check_is_listed_with_family_severity_and_title() -> None:
    lines = CliRunner().invoke(command).output.splitlines()
    assert len(lines) == len(all_checks())
    for line, item in zip(lines, all_checks().values(), strict=True):
        assert line.split()[:3] == [item.family, item.severity.label, item.id]
        assert line.endswith(item.title)
