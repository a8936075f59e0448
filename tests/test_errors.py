from mockcheck.errors import BadBrief, UnreadableInput, UserError


def test_both_kinds_are_errors_of_the_user() -> None:
    assert issubclass(BadBrief, UserError)
    assert issubclass(UnreadableInput, UserError)
