from mockcheck.instruments import instrument
from mockcheck.model.session import Level


def test_the_top_depends_on_the_level() -> None:
    violin = instrument("violin")
    assert violin.top(Level.SIGHT) == violin.top(Level.REHEARSED) == violin.section_top
    assert violin.top(Level.SOLO) == violin.solo_top > violin.section_top
    assert violin.lowest == 55
