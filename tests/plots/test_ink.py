from itertools import pairwise

import matplotlib as mpl
import pytest

from mockcheck.model.finding import Severity
from mockcheck.plots._ink import (
    LOOKS,
    SMALL_PT,
    fitted,
    new_figure,
    our_style,
    text_width_in,
    write,
)
from tests.report.synthetic import HOSTILE_NAME


def grey(colour: str) -> float:
    """Relative luminance; source: ITU-R BT.709, the weights of red, green and blue."""
    red, green, blue = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_every_severity_has_a_shape_and_a_colour_of_its_own() -> None:
    assert set(LOOKS) == set(Severity)
    assert len({look.marker for look in LOOKS.values()}) == len(Severity)
    assert len({look.colour for look in LOOKS.values()}) == len(Severity)


def test_what_is_worse_is_drawn_larger() -> None:
    sizes = [LOOKS[severity].size for severity in sorted(Severity)]
    assert sizes == sorted(sizes)


def test_the_shades_of_the_overview_darken_all_the_way() -> None:
    from mockcheck.plots.overview import _SHADES, _shades

    greys = [grey(mpl.colors.to_hex(_shades()(step / 20))) for step in range(21)]
    assert len(_SHADES) >= 2
    assert all(after < before for before, after in pairwise(greys))


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Скрипка É ♭", "Скрипка É ♭"),
        ("ヴァイ", "□□□"),
        ("cost $5", r"cost \$5"),
        ("a\x1bb\nc", "ab c"),
    ],
)
def test_a_name_is_shown_as_far_as_the_type_can(text: str, shown: str) -> None:
    assert fitted(text, SMALL_PT, 5.0) == shown


@pytest.mark.parametrize("text", ["W" * 300, "ヴ" * 300, "i" * 300, "Violin 1 " * 30, "$" * 300])
def test_a_long_name_is_cut_to_its_room_and_the_cut_shows(text: str) -> None:
    shown = fitted(text, SMALL_PT, 2.0)
    assert shown.endswith("...")
    assert 1.8 < text_width_in(shown.replace("\\$", "$"), SMALL_PT) <= 2.0


def test_the_width_of_a_line_is_what_the_drawing_library_draws() -> None:
    with our_style():
        figure = new_figure(6, 1)
        write(figure, 0.1, 0.5, "Violin 1, bar 12", SMALL_PT, 5.0)
        box = figure.texts[0].get_window_extent()
    drawn_in = box.width / figure.dpi
    assert text_width_in("Violin 1, bar 12", SMALL_PT) == pytest.approx(drawn_in, rel=0.06)


def test_no_name_makes_the_drawing_warn_or_fail() -> None:
    # Every plane: letters, private use, emoji, half characters, an unfinished formula.
    text = HOSTILE_NAME + r" $\frac{ ^_ \U0001F3BB " + "\U0001f3bb\ue000\ud800\U000e0041$$"
    with our_style():
        figure = new_figure(6, 1)
        write(figure, 0.1, 0.5, text, SMALL_PT, 5.0)
        figure.canvas.draw()


def test_our_style_leaves_no_trace() -> None:
    before = dict(mpl.rcParams)
    with our_style():
        assert mpl.rcParams["svg.hashsalt"] == "mockcheck"
    assert dict(mpl.rcParams) == before
