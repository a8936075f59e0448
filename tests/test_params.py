import pytest
from pydantic import ValidationError

from mockcheck.params import Params, quantity


class Limits(Params):
    rate: float = quantity(10, unit="notes/s", low=1, high=20, meaning="a rate", source="a book")


def test_a_declared_number_keeps_its_unit_meaning_and_source() -> None:
    field = Limits.model_fields["rate"]
    assert field.json_schema_extra == {"unit": "notes/s", "source": "a book"}
    assert field.description == "a rate"
    assert Limits().rate == 10


@pytest.mark.parametrize("wrong", [0.5, 20.5, float("nan"), float("inf"), "fast"])
def test_a_number_outside_its_range_is_refused(wrong: object) -> None:
    with pytest.raises(ValidationError):
        Limits.model_validate({"rate": wrong})


def test_unknown_names_are_refused_and_values_are_frozen() -> None:
    with pytest.raises(ValidationError, match="speed"):
        Limits.model_validate({"speed": 3})
    with pytest.raises(ValidationError, match="frozen"):
        Limits().rate = 3  # type: ignore[misc]  # the point of the test
