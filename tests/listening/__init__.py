"""Known articulations, slides and lines rendered as MIDI, and how much of them is heard.

The generator knows nothing of the product; only the measurement calls `mockcheck.play`.
"""
