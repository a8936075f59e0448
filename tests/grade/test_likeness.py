from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from random import Random

from mockcheck.grade.likeness import Likeness, find_likenesses
from mockcheck.grade.music import PieceMusic
from mockcheck.grade.rubric import read_rubric
from mockcheck.grade.submission import Piece, Submission
from tests.accuracy.corpus import open_quartets
from tests.accuracy.midi_music import Music, read_music
from tests.grade.classroom import plain_quartet
from tests.grade.works import plain_music, record

TABLE = read_rubric(None).likeness


def submission(name: str, music: PieceMusic) -> Submission:
    return Submission(name, (Piece(f"{name}.mid", record(), music),))


def alike(works: dict[str, PieceMusic], reference: PieceMusic | None = None) -> list[Likeness]:
    rows = [submission(name, music) for name, music in works.items()]
    return list(find_likenesses(rows, reference, TABLE.share, TABLE.notes))


def quartet(seed: str, bars: int = 16) -> Music:
    return plain_quartet(Random(seed), bars)


def joined(first: Music, second: Music) -> Music:
    """One after the other, in the time of the first."""
    ticks = first.bar_start(first.bar_at(first.end - 1) + 1)
    return replace(
        first,
        parts=tuple(
            replace(
                part,
                notes=part.notes
                + tuple(
                    replace(note, onset=note.onset + ticks, release=note.release + ticks)
                    for note in other.notes
                ),
            )
            for part, other in zip(first.parts, second.parts, strict=True)
        ),
    )


def test_a_copy_is_found_whatever_was_done_to_hide_it() -> None:
    chance = Random("hide")
    model = quartet("a")
    disguises = {
        "transposed": replace(
            model,
            parts=tuple(
                replace(p, notes=tuple(replace(n, pitch=n.pitch + 3) for n in p.notes))
                for p in model.parts
            ),
        ),
        "reordered": replace(model, parts=model.parts[::-1]),
        "faster": replace(model, tempos=((0, 0.6 * model.tempos[0][1]),)),
        "renamed": replace(
            model,
            parts=tuple(
                replace(p, name=name)
                for p, name in zip(
                    model.parts,
                    ("First violin", "Second violin", "A viola", "Violoncello solo"),
                    strict=True,
                )
            ),
        ),
        "by hand": replace(
            model,
            parts=tuple(
                replace(
                    p,
                    notes=tuple(
                        replace(n, onset=max(n.onset + chance.randint(-12, 12), 0)) for n in p.notes
                    ),
                )
                for p in model.parts
            ),
        ),
    }
    for disguise, copy in disguises.items():
        works = {"Ada": model, "Ben": copy, "Cy": quartet("c"), "Di": quartet("d")}
        found = alike({name: plain_music(music) for name, music in works.items()})
        assert [(row.student, row.other) for row in found] == [("Ada", "Ben")], disguise
        assert found[0].share > 0.9, disguise


def test_the_share_and_the_bars_are_those_in_common() -> None:
    common = quartet("common", 8)
    one, other = joined(common, quartet("one", 8)), joined(quartet("other", 8), common)
    (found,) = alike({"Ada": plain_music(one), "Ben": plain_music(other)})
    assert 0.35 < found.share < 0.65
    assert "bars 1-8" in found.where
    assert "bars 9-16" in found.other_where


def test_what_was_given_raises_no_question() -> None:
    given = quartet("given", 8)
    works = {name: plain_music(joined(given, quartet(name, 8))) for name in ("Ada", "Ben", "Cy")}
    assert len(alike({name: works[name] for name in ("Ada", "Ben")})) == 1
    assert alike({n: works[n] for n in ("Ada", "Ben")}, plain_music(given)) == []
    # The teacher need not have handed in the model: three of three have it.
    assert alike(works) == []


def test_two_of_a_small_class_are_still_asked_about() -> None:
    music = plain_music(quartet("same"))
    assert len(alike({"Ada": music, "Ben": music})) == 1
    other = plain_music(quartet("other"))
    assert len(alike({"Ada": music, "Ben": music, "Cy": other})) == 1


def test_quartets_by_different_people_are_never_asked_about() -> None:
    works = {work.name: plain_music(read_music(work.path)) for work in open_quartets()}
    assert len(list(combinations(works, 2))) >= 6
    assert alike(works) == []


def test_plain_quartets_of_one_style_are_never_asked_about() -> None:
    works = {f"{n}": plain_music(quartet(f"plain {n}")) for n in range(20)}
    assert alike(works) == []


def test_scales_and_repetitions_are_nobodys() -> None:
    model = quartet("a", 16)
    works = {}
    for name in ("Ada", "Ben"):
        parts = tuple(
            replace(
                part,
                notes=tuple(
                    replace(note, pitch=60 + row % 8) for row, note in enumerate(part.notes)
                ),
            )
            for part in quartet(name, 16).parts
        )
        works[name] = plain_music(replace(model, parts=parts))
    assert alike(works) == []
