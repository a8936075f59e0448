import pytest
from click.testing import CliRunner

from mockcheck.checks._registry import SECTIONS, all_checks
from mockcheck.cli.explain import command
from mockcheck.errors import BadBrief


@pytest.mark.parametrize("check_id", all_checks())
def test_a_check_explains_itself_with_limits_units_and_sources(check_id: str) -> None:
    output = CliRunner().invoke(command, [check_id]).output
    for label in SECTIONS:
        assert f"\n{label}\n" in output
    for name, field in all_checks()[check_id].params.model_fields.items():
        assert isinstance(field.json_schema_extra, dict)
        assert f"{name} = {field.default} {field.json_schema_extra['unit']}" in output


def test_an_unknown_check_is_refused() -> None:
    result = CliRunner().invoke(command, ["no-such-check"])
    assert isinstance(result.exception, BadBrief)
