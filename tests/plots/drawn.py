"""What a reader finds on a drawn page."""

from matplotlib.figure import Figure
from matplotlib.text import Text


def letters_of(figure: Figure) -> list[Text]:
    figure.canvas.draw()
    return [
        artist
        for artist in figure.findobj(Text)
        if isinstance(artist, Text) and artist.get_text() and artist.get_visible()
    ]


def texts_of(figure: Figure) -> list[str]:
    return [text.get_text() for text in letters_of(figure)]


def sizes_of(figure: Figure) -> list[float]:
    return [float(text.get_fontsize()) for text in letters_of(figure)]


def texts_off_the_page(figure: Figure) -> list[str]:
    width, height = figure.canvas.get_width_height()
    lost = []
    for text in letters_of(figure):
        box = text.get_window_extent()
        if box.x0 < 0 or box.y0 < 0 or box.x1 > width or box.y1 > height:
            lost.append(text.get_text())
    return lost
