"""How writers name tracks: part and stroke in many forms. Common practice, no source."""

from __future__ import annotations

from random import Random

PARTS = {
    "violin 1": ("Violin 1", "Vln 1", "Violin I", "VLN1", "Vl. I", "1st Violins", "Violins 1"),
    "violin 2": ("Violin 2", "Vln 2", "Violin II", "VLN2", "Vl. II", "2nd Violins", "Violins 2"),
    "viola": ("Viola", "Vla", "VA", "Violas", "Vla."),
    "cello": ("Violoncello", "Vc", "VC", "Cello", "Celli", "Vcl"),
}
STROKES = {
    "legato": ("legato", "leg", "leg.", "Legato"),
    "detache": ("detache", "det", "détaché", "Det."),
    "portato": ("portato", "Portato"),
    "marcato": ("marc", "marcato", "marc."),
    "staccato": ("stacc", "staccato", "stac", "short"),
    "spiccato": ("spicc", "spiccato", "Spic"),
    "tremolo": ("trem", "tremolo", "Trem."),
    "trill": ("trill", "Trills", "tr"),
    "pizzicato": ("pizz", "pizz.", "Pizzicato"),
    "col legno": ("col legno", "Col Legno", "CL"),
    "harmonic": ("harm", "harmonics", "flageolet"),
    "con sordino": ("con sord", "con sord.", "muted", "con sordino"),
    "sul ponticello": ("sul pont", "sul pont.", "pont"),
    "sul tasto": ("sul tasto", "tasto", "flautando"),
}
LONG = ("long", "sus", "sustain")
"""One track for bowed notes of any length: timing has to say which are slurred."""
_JOINTS = ("{} {}", "{} - {}", "{} ({})", "{}_{}", "{}: {}")


def part_key(part: str) -> str:
    """The row of PARTS for a printed name."""
    folded = part.lower()
    kinds = (("cello", "cello"), ("viola", "viola"), ("2", "violin 2"))
    return next((key for word, key in kinds if word in folded), "violin 1")


def track_names(part: str, articulations: list[str], rng: Random) -> dict[str, str]:
    """The name of one part's track for each articulation, in one writer's manner; all differ."""
    who, joint = rng.choice(PARTS[part_key(part)]), rng.choice(_JOINTS)
    long_word = rng.choice(LONG) if rng.random() < 0.5 else None
    names = {}
    for articulation in articulations:
        is_long = long_word is not None and articulation in ("legato", "detache")
        word = long_word if is_long else rng.choice(STROKES[articulation])
        names[articulation] = joint.format(who, word)
    return names
