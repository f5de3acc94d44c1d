"""Pictures and pages in every language: nothing left in English, nothing over anything else."""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Callable
from html import unescape
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from demos import proved_demo
from preview_scenes import MILL, blanks, outside, overlaps, teeth
from program_source import files_of, nodes_of, text_of
from sampling import sampled

import camgen.preview
from camgen.layout import ToothLayout
from camgen.make.chain import Proved, Wish
from camgen.make.pictures import mate_at_nominal
from camgen.preview.course.flat_course import board_of_course
from camgen.preview.course.tooth_course import board_of_tooth_course
from camgen.preview.failure import board_of_failure
from camgen.preview.page import bench_page
from camgen.preview.paper.board import Board
from camgen.preview.scene import Scene
from camgen.preview.setup import Mate, board_of_setup
from camgen.proof.evidence import Evidence
from camgen.proof.result import Proof, ProofId
from camgen.shipped import demo_jobs
from camgen.teeth.forms import pinion_tooth
from camgen.words import Words, languages, words

LANGUAGES = languages()
JOBS = {path.stem: path for path in demo_jobs()}
# The demo jobs with the fewest and with the most moves.
ENDS = ("seconds-pinion", "train-plate")
ROOM = Path(camgen.preview.__file__).parent


@pytest.fixture(scope="module")
def demos() -> dict[str, Proved]:
    return Demos()


class Demos(dict[str, Proved]):
    """The demo jobs, each proved when it is first asked for."""

    def __missing__(self, name: str) -> Proved:
        return self.setdefault(name, proved_demo(name, Wish(language="de")))


def board_of(proved: Proved, place: int, language: str) -> Board:
    setup = proved.setups[place]
    return board_of_setup(
        setup.planned.layout, setup.read, proved.machine, setup.evidence.cutters, setup.proofs,
        f"{proved.job_file.job.job}: {setup.name}", subtitle=proved.material.title,
        names={section.cutter_number: section.cutter for section in setup.planned.moves.sections},
        mate=mate_at_nominal(proved.job_file.job), language=language)[0]


def course(proved: Proved, place: int, language: str) -> Board:
    setup, material = proved.setups[place], proved.material
    layout = setup.planned.layout
    draw: Callable[..., tuple[Board, str]] = (
        board_of_tooth_course if isinstance(layout, ToothLayout) else board_of_course)
    return draw(layout, setup.read, proved.machine, setup.evidence.cutters, "course",
                cutting_force=(material.kc1.value, material.mc.value), language=language)[0]


def failures(proved: Proved, language: str) -> list[Board]:
    evidence: Evidence = proved.setups[0].evidence
    line = int(evidence.motion.line[len(evidence.motion) // 2])
    proofs = (Proof(ProofId("flat", "floor"), "deepest cut", evidence.setup, False, 0.4, 0.3, "mm",
                    "block 5", line),
              Proof(ProofId("flat", "wall"), "outline", evidence.setup, False, 0.4, 0.3, "mm"))
    return [board_of_failure(evidence, proof, "title", language=language)[0] for proof in proofs]


@pytest.mark.parametrize(("name", "language"), sampled(product(ENDS, LANGUAGES), 8))
def test_no_text_of_the_smallest_and_the_largest_demo_lies_on_another(
        name: str, language: str, demos: dict[str, Proved]) -> None:
    proved = demos[name]
    boards = [board_of(proved, place, language) for place in range(len(proved.setups))]
    if name == ENDS[0]:
        boards += [course(proved, 0, language), *failures(proved, language)]
    elif language == "de":  # the longest words on the pictures that take longest to draw
        boards += [course(proved, 0, language), *failures(proved, language)[:1]]
    for board in boards:
        assert overlaps(board) == []
        assert outside(board) == []
        assert min(float(text.get_fontsize()) for text in board.texts) >= 8.0


@pytest.mark.long
@pytest.mark.parametrize("language", sampled(LANGUAGES, 3))
def test_texts_of_setups_with_much_to_say_keep_apart(language: str) -> None:
    flat, read, cutters, names = blanks(3, 2, clamped=True)
    boards = [
        board_of_setup(flat, [read], MILL, cutters, [], "blanks", names=names,
                       language=language)[0],
        board_of_setup(None, [read], MILL, {}, [], "program", language=language)[0]]
    layout, cut, discs = teeth(30, 0.14, 10)
    pair = Mate(pinion_tooth("cycloidal", 10, 0.14, 30, addendum="one-third-ogive"), 0.14 * 40 / 2)
    boards += [board_of_setup(layout, [cut], MILL, discs, [], "teeth", mate=one,
                              language=language)[0] for one in (pair, None)]
    boards.append(board_of_tooth_course(layout, [cut], MILL, discs, "teeth",
                                        cutting_force=(700.0, 0.27), language=language)[0])
    for board in boards:
        assert overlaps(board) == []
        assert outside(board) == []


@pytest.mark.long
def test_every_text_of_a_picture_is_in_the_catalogue(
        monkeypatch: pytest.MonkeyPatch, demos: dict[str, Proved]) -> None:
    missing: list[tuple[str, str]] = []

    def heard(self: Words, section: str, key: str, **fields: object) -> str:
        text = self.sections().get(section, {}).get(key)
        if text is None:
            missing.append((section, key))
            return key
        return text.format(**fields)

    monkeypatch.setattr(Words, "__call__", heard)
    for proved in (demos[name] for name in ENDS):
        for place in range(len(proved.setups)):
            board_of(proved, place, "de")
    proved = demos[ENDS[0]]
    course(proved, 0, "de")
    failures(proved, "de")
    layout, read, cutters, _ = blanks(1, 1)
    board_of_course(layout, [read], MILL, cutters, "course", language="de")
    assert missing == []


def test_pictures_are_lettered_from_the_catalogue_alone() -> None:
    """No words in quotes are given to a board; units and axes are the same in every language."""
    plain = re.compile(r"[A-Za-z]{3,}")
    found = []
    for file in files_of("preview"):
        for node in nodes_of(text_of(file), ast.Call):
            if isinstance(node.func, ast.Attribute) and (
                    node.func.attr in ("text", "label")) and len(node.args) >= 3:
                said = [part.value for part in ast.walk(node.args[2])
                        if isinstance(part, ast.Constant) and isinstance(part.value, str)]
                own = isinstance(node.args[2], (ast.Constant, ast.JoinedStr))
                if own and any(plain.search(text) for text in said):
                    found.append((file.name, node.lineno))
    assert found == []


def test_every_text_in_the_catalogue_of_pictures_is_used() -> None:
    source = "".join(file.read_text(encoding="utf-8")
                     for folder in (ROOM, ROOM.parent / "commands", ROOM.parent / "make")
                     for file in folder.rglob("*.py"))
    made = {f"scale-{what}" for what in ("corner", "hole", "wall", "edge", "way")}
    made |= {f"lies-{how}{face}" for how in ("", "spigot-", "in-") for face in ("upper", "under")}
    for section in ("pictures", "page"):
        unused = [key for key in words("en").sections()[section]
                  if f'"{key}"' not in source and key not in made]
        assert unused == [], section


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_picture_says_what_it_shows_in_its_language(
        language: str, demos: dict[str, Proved]) -> None:
    setup = demos["seconds-pinion"].setups[0]
    says = board_of_setup(setup.planned.layout, setup.read, MILL, setup.evidence.cutters, (),
                          "leaves", language=language)[1]
    begins = {"en": "Wheel of 10 teeth", "de": "Rad mit 10 Zähnen", "fr": "Roue de 10 dents"}
    assert says.startswith(begins[language])


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_page_speaks_its_language(language: str) -> None:
    layout, read, cutters = teeth(12, 0.5, 8)
    text = bench_page([Scene("teeth", layout, [read], cutters, {})], MILL, "teeth",
                      language=language)
    assert f'<html lang="{language}"' in text
    found = re.search(r'<script type="application/json" id="work">(.*?)</script>', text, re.S)
    assert found is not None
    work: dict[str, Any] = json.loads(found[1])
    texts = words(language).sections()["page"]
    assert work["words"].items() <= texts.items()
    seen = unescape(re.sub(r"<script.*?</script>|<style>.*?</style>", "", text, flags=re.S))
    for key in ("fit", "program-text", "key-space", "does-play", "setups", "speed"):
        assert texts[key] in seen
    if language != "en":
        english = words("en").sections()["page"]
        assert english["does-step"] not in seen
