"""What the plots are drawn with: colours, markers, type, and letters that the type has.

Colours are told apart by people who see few colours, and every one of them has a shape or a
hatch beside it, so that a black-and-white print says the same.
Source of the colours: Okabe and Ito 2008, Color Universal Design, the palette of eight.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from mockcheck.model.finding import Severity
from mockcheck.model.words import printable

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.ft2font import FT2Font

SMALL_PT = 8.0
PLAIN_PT = 9.0
TITLE_PT = 14.0
INK = "#222222"
FAINT = "#8a8a8a"
RULE = "#d8d8d8"
DENSITY = "#56b4e9"
DENSITY_EDGE = "#0b3c5d"
SLIDE = "#009e73"
PITCH = "#4d4d4d"
STROKE = "#f0e442"
OUTSIDE = "#d55e00"

_POINTS_PER_INCH = 72
_MISSING = "\u25a1"
"""A hollow square stands for a character that the type has no picture of."""


@dataclass(frozen=True)
class Look:
    """How a severity is drawn; colour and shape say the same twice.

    The two worse ones have a dark edge, so that they also weigh more in a grey print.
    """

    colour: str
    edge: str
    marker: str
    size: float

    def marker_style(self, scale: float = 1.0, *, is_hollow: bool = False) -> dict[str, Any]:
        """How one mark of this severity is plotted; hollow stands for accepted."""
        return {
            "linestyle": "none",
            "marker": self.marker,
            "markersize": scale * self.size,
            "markerfacecolor": "white" if is_hollow else self.colour,
            "markeredgecolor": self.colour if is_hollow else self.edge,
            "markeredgewidth": 1.0 if is_hollow else 0.8,
        }


LOOKS = {
    Severity.IMPOSSIBLE: Look("#d55e00", INK, "X", 9.0),
    Severity.RISKY: Look("#e69f00", INK, "^", 8.0),
    Severity.AWKWARD: Look("#0072b2", "#0072b2", "D", 5.5),
    Severity.REMARK: Look("#8a8a8a", "#8a8a8a", "o", 4.5),
}


@contextmanager
def our_style() -> Iterator[None]:
    """Draw and save inside this, so that no setting of the user's machine changes a picture."""
    import matplotlib as mpl

    settings: Any = {
        "font.family": "DejaVu Sans",
        "font.size": PLAIN_PT,
        "axes.edgecolor": FAINT,
        "axes.linewidth": 0.8,
        "axes.facecolor": "white",
        "axes.labelcolor": INK,
        "axes.axisbelow": True,
        "figure.facecolor": "white",
        "savefig.facecolor": "white",
        "savefig.bbox": "standard",
        "hatch.linewidth": 0.6,
        "hatch.color": INK,
        "text.color": INK,
        "xtick.color": INK,
        "ytick.color": INK,
        "svg.fonttype": "path",
        # Without a fixed salt the ids inside an SVG differ from run to run.
        "svg.hashsalt": "mockcheck",
        "text.usetex": False,
        "path.sketch": None,
    }
    with mpl.rc_context(settings):
        yield


def new_figure(width_in: float, height_in: float) -> Figure:
    """An empty page of that many inches, tied to no window."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width_in, height_in))
    FigureCanvasAgg(figure)
    return figure


def panel(figure: Figure, left: float, bottom: float, width: float, height: float) -> Axes:
    """A drawing area placed in inches from the lower left corner of the page."""
    across, up = figure.get_size_inches()
    axes = figure.add_axes((left / across, bottom / up, width / across, height / up))
    axes.spines[["top", "right"]].set_visible(False)
    axes.tick_params(labelsize=SMALL_PT, length=3)
    return axes


def write(
    figure: Figure, left: float, bottom: float, text: str, size_pt: float, width: float
) -> None:
    """One line placed in inches from the lower left corner of the page, no wider than `width`."""
    across, up = figure.get_size_inches()
    figure.text(left / across, bottom / up, fitted(text, size_pt, width), fontsize=size_pt)


@cache
def _font() -> FT2Font:
    from pathlib import Path

    import matplotlib as mpl
    from matplotlib.ft2font import FT2Font

    return FT2Font(str(Path(mpl.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf"))


@cache
def _characters() -> frozenset[int]:
    return frozenset(_font().get_charmap())


def fitted(text: str, size_pt: float, width_in: float) -> str:
    """A name from the file as the type can show it in that many inches.

    Letters of scripts that the type lacks become hollow squares; a cut shows as three dots; a
    dollar sign starts no formula.
    """
    known = _characters()
    shown = "".join(c if ord(c) in known else _MISSING for c in printable(text))
    kept, dots = shown, ""
    while kept and text_width_in(kept + dots, size_pt) > width_in:
        share = width_in / text_width_in(kept + dots, size_pt)
        kept, dots = kept[: min(int(share * len(kept)), len(kept) - 1)].rstrip(), "..."
    return (kept + dots).replace("$", r"\$")


def text_width_in(text: str, size_pt: float) -> float:
    """How wide a line of characters that the type has will be, inches."""
    font = _font()
    font.set_size(size_pt, _POINTS_PER_INCH)
    font.set_text(text)
    # FreeType measures in 64ths of a dot.
    return float(font.get_width_height()[0]) / 64 / _POINTS_PER_INCH
