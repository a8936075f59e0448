import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.session import Level, NamedLevel, NamedStyle, Session, Style
from tests.phrases import findings

SCALE = "D4 E4 F#4 G4 A4 B4 C#5 D5 E5 D5 C#5 B4 A4 G4 F#4 E4".split()


def run(bpm: float) -> str:
    bar = " ".join(f"{name}:1/4" for name in SCALE)
    return f"violin 4/4 q={bpm} players=8 | D4:4 | {bar} | D4:4 |"


def plucked(bpm: float) -> str:
    bar = " ".join(f"{name}:1/2" for name in "G2 A2 B2 C3 D3 C3 B2 A2".split())
    return f"double bass 4/4 q={bpm} program=45 players=4 | G2:4 | {bar} | G2:4 |"


def repeated(bpm: float) -> str:
    return f"viola 4/4 q={bpm} players=6 | C4:4 | {' '.join(['E4:1/8'] * 16)} D4:2 |"


def trill(bpm: float) -> str:
    return f"violin 4/4 q={bpm} players=8 | A4:4 | {'(A4:1/8 B4:1/8) ' * 16} | A4:4 |"


def is_fine(check: str, text: str, session: Session) -> bool:
    return not findings(check, text, session=session)


def session_of(level: Level, share: float | None = None) -> Session:
    named = None if share is None else NamedLevel("student orchestra", share)
    return Session(level=level, named_level=named)


def fastest(check: str, text, session: Session) -> float:  # type: ignore[no-untyped-def]  # builders of one shape
    """The tempo up to which nothing is found, to a hundredth."""
    low, high = 10.0, 600.0
    assert is_fine(check, text(low), session)
    assert not is_fine(check, text(high), session)
    while high / low > 1.001:
        middle = (low * high) ** 0.5
        low, high = (middle, high) if is_fine(check, text(middle), session) else (low, middle)
    return low


@pytest.mark.parametrize(
    ("check", "text"),
    [
        ("run-too-fast", run),
        ("pizzicato-too-fast", plucked),
        ("repeated-notes-too-fast", repeated),
        ("trill-too-wide", trill),
    ],
)
@pytest.mark.parametrize("level", [Level.SIGHT, Level.SOLO])
def test_what_plays_up_to_a_tempo_plays_up_to_three_quarters_of_it(check, text, level) -> None:  # type: ignore[no-untyped-def]  # builders of one shape
    at_level = fastest(check, text, session_of(level))
    assert fastest(check, text, session_of(level, 0.75)) == pytest.approx(0.75 * at_level, rel=4e-3)


@given(st.floats(0.3, 1.5))
@settings(max_examples=10)
def test_every_rate_is_told_with_the_limit_of_these_players(share: float) -> None:
    (plain,) = findings("pizzicato-too-fast", plucked(400), session=session_of(Level.SIGHT))
    (own,) = findings("pizzicato-too-fast", plucked(400), session=session_of(Level.SIGHT, share))
    assert own.evidence[0].limit == pytest.approx(plain.evidence[0].limit * share, abs=0.006)


def into_fingers(bpm: float, session: Session) -> list[Finding]:
    """A bowed onset and a plucked one a beat later."""
    head = f"4/4 q={bpm} players=8"
    parts = f"violin {head} | C5:1 |", f"violin pizz {head} | r:1 A4:1 A4:1 |"
    return findings("no-time-for-change", *parts, session=session)


def into_mutes(rest_beats: int, session: Session) -> list[Finding]:
    """So many seconds of rest before a muted note."""
    head = "4/4 q=60 players=8"
    first, second = f"C5:1 r:{rest_beats + 7} |", f"r:{rest_beats + 1} A4:4 r:3 |"
    parts = f"violin {head} | {first}", f"violin con sord {head} | {second}"
    return findings("no-time-for-change", *parts, session=session)


def test_slower_players_need_longer_to_put_the_bow_or_the_mute_away() -> None:
    sight, half = session_of(Level.SIGHT), session_of(Level.SIGHT, 0.5)
    # The limits at sight are half a second and five seconds.
    assert into_fingers(110, sight) == []
    (found,) = into_fingers(110, half)
    assert found.evidence[0].limit == 1
    assert into_fingers(59, half) == []
    assert into_mutes(6, sight) == []
    (found,) = into_mutes(6, half)
    assert found.evidence[0].limit == 10
    # What nobody could do is no more impossible for them than for anybody.
    assert found.severity is Severity.RISKY


@pytest.mark.parametrize("level", list(Level))
def test_the_session_at_each_level_is_of_these_players_only_where_they_are_named(
    level: Level,
) -> None:
    sessions = session_of(level, 0.6).at_each_level()
    assert [session.level_name for session in sessions] == [*Level, "student orchestra"]
    assert [session.tempo_share for session in sessions] == [1, 1, 1, 0.6]
    assert [session.level_name for session in session_of(level).at_each_level()] == list(Level)


def test_a_finding_names_the_level_by_its_name_and_asks_the_kind_it_is_like() -> None:
    (found,) = findings("run-too-fast", run(160), session=session_of(Level.REHEARSED, 0.75))
    assert "players at level student orchestra" in found.message
    # Above the comfortable top: awkward at sight, a remark for players who know the music.
    high = "violin 4/4 q=60 players=8 | D7:4 |"
    for level, severity in ((Level.SIGHT, Severity.AWKWARD), (Level.REHEARSED, Severity.REMARK)):
        (above,) = findings("note-above-range", high, session=session_of(level, 0.75))
        assert above.severity is severity


SLIDES = "A4:1> C5:1> " * 5 + "A4:1> D5:1> A4:1> D5:1> A4:2 |"


def sliding(style: Style, **numbers: float) -> Session:
    return Session(style=style, named_style=NamedStyle("noir", **numbers))


def test_a_named_style_sets_how_often_a_section_slides() -> None:
    text = f"violin 4/4 q=72 players=8 | {SLIDES}"
    session = sliding(Style.ROMANTIC, slides_per_100_joins=30, slides_per_minute=20)
    (found,) = findings("slides-overused", text, session=session)
    assert [item.limit for item in found.evidence[:2]] == [30, 20]
    assert "in noir style" in found.message
    plain = findings("slides-overused", text, session=Session(style=Style.ROMANTIC))[0]
    alike = findings("slides-overused", text, session=sliding(Style.ROMANTIC))[0]
    assert alike.evidence == plain.evidence
    many = sliding(Style.MODERN, slides_per_100_joins=100)
    assert findings("slides-overused", text, session=many) == []
    # Even a slide a minute is meant by whoever says that no slide is.
    none = sliding(Style.COMIC, slides_per_100_joins=0, slides_per_minute=0)
    assert findings("slides-overused", text, session=none)[0].evidence[0].limit == 0


@pytest.mark.parametrize("style", list(Style))
def test_a_named_style_sets_how_long_a_slide_is(style: Style) -> None:
    bends = " ".join(f"bend@{2.2 + 0.8 * step / 25:.4f}={28 * step}" for step in range(26))
    text = f"violin 4/4 q=60 | {bends} bend@3=0 (A4:2 E5:2) | A4:4 |"
    (found,) = findings("slide-too-long", text, session=sliding(style, slide_ms=450))
    assert found.evidence[0].limit == 450
    assert "in noir style players take 450 ms at most" in found.message
    assert findings("slide-too-long", text, session=sliding(style, slide_ms=1000)) == []
    plain = findings("slide-too-long", text, session=Session(style=style))
    assert len(findings("slide-too-long", text, session=sliding(style))) == len(plain)
