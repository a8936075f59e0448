from mockcheck.model.session import Level, Session, Style


def test_a_session_nobody_described_is_a_section_at_sight_in_modern_style() -> None:
    session = Session()
    assert (session.level, session.style) == (Level.SIGHT, Style.MODERN)
    assert session.middle_c_octave == 4
