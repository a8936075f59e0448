from mockcheck.model.session import Level, Session, Style, TrackChoice


def test_a_session_nobody_described_is_a_section_at_sight_in_modern_style() -> None:
    session = Session()
    assert (session.level, session.style) == (Level.SIGHT, Style.MODERN)
    assert session.middle_c_octave == 4


def test_a_choice_is_for_rows_by_name_pattern_or_number() -> None:
    assert TrackChoice("Vln 1*").is_for("vln 1 spicc", 3)
    assert TrackChoice(" 3 ").is_for("anything", 3)
    assert TrackChoice("Viola [div]").is_for("Viola [div]", 0)
    assert not TrackChoice("Vln 1*").is_for("Vln 2", 1)
