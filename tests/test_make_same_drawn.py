"""Pictures and pages say the same as sheet and programs, as texts: in every language."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml
from sampling import sampled

from camgen.faults import Refused
from camgen.make import pictures as drawing
from camgen.make.chain import Proved, Wish, proved_job
from camgen.make.files import Output, drawn_of_job, output_of
from camgen.make.pictures import courses_of, page_of, pictures_of
from camgen.make.told.same_drawn import (
    DrawnTexts,
    courses_parted,
    page_parted,
    pictures_parted,
)
from camgen.preview.carried import Column, carried, taken_apart
from camgen.preview.setup import Picture
from camgen.shipped import shipped_folder
from camgen.values import dataclass
from camgen.words import words

JOBS = shipped_folder("jobs")
MACHINES = sorted(path.stem for path in shipped_folder("postprocessors").glob("*.yaml"))
DEMOS = sorted(path.stem for path in JOBS.glob("*.yaml") if not path.name.endswith(".proof.yaml"))


@dataclass(frozen=True)
class Shown:
    """A job with all that is shown of it."""

    proved: Proved
    output: Output
    drawn: Mapping[str, Picture]
    page: str

    def parted(
        self, texts: Callable[[str], str] = str, says: Callable[[str], str] = str,
        page: Callable[[str], str] = str, sheet: Callable[[str], str] = str,
    ) -> list[str]:
        """What is found where a change is made to texts, to what pictures say, pages or sheet."""
        html = sheet(self.output.files["sheet.html"].decode())
        say = words(self.proved.language)
        drawn: dict[str, DrawnTexts] = {
            name: ([texts(text) for text in one.texts], says(one.says))
            for name, one in self.drawn.items()}
        programs = {setup.name: {one.file: one.text for one in setup.programs}
                    for setup in self.proved.setups}
        return [fault.message for fault in (
            *pictures_parted(html, drawn, self.output.report, say),
            *page_parted(html, page(self.page), programs, self.output.report, say))]


def shown(job: Path, **wish: Any) -> Shown:
    proved = proved_job(job, Wish(**wish))
    return Shown(proved, output_of(proved, pictures=False), pictures_of(proved), page_of(proved))


@pytest.fixture(scope="module", params=sampled(["de", "en", "fr"], 3))
def wheel(request: pytest.FixtureRequest) -> Shown:
    return shown(JOBS / "wheel-by-hand.yaml", language=request.param)


def test_unharmed_texts_hold(wheel: Shown) -> None:
    assert wheel.parted() == []


@pytest.mark.long
@pytest.mark.parametrize(("job", "wish"), sampled([
    ("balance-cock", {"language": "de"}), ("seconds-pinion", {"language": "fr"}),
    ("third-wheel", {"post": "small-memory"}),
    ("ratchet-wheel", {"language": "de"}),
], 4))
def test_no_demo_shows_otherwise_than_it_says(job: str, wish: dict[str, Any]) -> None:
    assert shown(JOBS / f"{job}.yaml", **wish).parted() == []


# A cutter that is at work for seconds beside changes and dwells of minutes.
SHORT = """
job: short plate
material: brass-leaded
plate:
  thickness: 1.0
  outline: {rectangle: [10, 6]}
  holes: {pins: {diameter: 0.8, at: [[-3.2, 1.6], [3, -1]]}}
  jewels: {third: {diameter: 1.2, at: [[1, 1]], depth: 0.5, through: 0.8}}
cutters:
  cone: {kind: spot-drill, diameter: 2.0, point-angle: 90, reach: 6, material: carbide}
  d08: {kind: drill, diameter: 0.8, flute-length: 6, reach: 8, material: hss}
  fine: {kind: end-mill, diameter: 0.6, flutes: 3, flute-length: 1.4, reach: 1.8,
         material: carbide}
setups:
  - name: plate
    stock: {sheet: [20, 16], thickness: 1.0}
    holding: {by: shellac on brass, carrier: brass, carrier-thickness: 4, cut-into: 0.3,
              holds-slugs: true}
    steps:
      - spot: {cutter: cone}
      - drill: {cutter: d08}
      - bore: {cutter: fine, holes: [third], drilled: 0.8}
      - outline: {cutter: fine}
"""
CHANGES = ["change: {way: automatic}\noffsets: {length: table}",
           "change: {way: automatic, with-offset: [2, 2], word: null, offset-ended-by: T0000}\n"
           "offsets: {length: table}\nretract: {way: machine, machine-z: 0}",
           "spindle-words: {warm-up: [[2000, 60], [9000, 60]]}",
           "change: {seconds: 900}"]


@pytest.mark.parametrize("base", [
    one if one == "with-cycles" else pytest.param(one, marks=pytest.mark.long) for one in MACHINES])
def test_a_plate_cut_in_seconds_shows_what_it_says_on_every_machine(
    base: str, tmp_path: Path
) -> None:
    (tmp_path / "short.yaml").write_text(SHORT, encoding="utf-8")
    assert shown(tmp_path / "short.yaml", post=base).parted() == []


@pytest.mark.parametrize("said", CHANGES)
def test_changes_and_dwells_longer_than_the_work_are_told_with_their_steps(
    said: str, tmp_path: Path
) -> None:
    (tmp_path / "short.yaml").write_text(SHORT, encoding="utf-8")
    plain = yaml.safe_load((shipped_folder("postprocessors") / "plain-iso.yaml").read_text())
    for group, words_of in yaml.safe_load(said).items():
        plain[group] = {**(plain.get(group) or {}), **words_of}
    (tmp_path / "mine.yaml").write_text(yaml.safe_dump({**plain, "name": "mine"}))
    made = shown(tmp_path / "short.yaml", post=str(tmp_path / "mine.yaml"))
    assert made.parted() == []
    change = made.proved.machine.change.seconds
    for number, step in enumerate(made.output.report["steps"]):
        # The outline goes on with the cutter of the bore.
        assert step["seconds"] - step["moving"] >= (0.0 if number == 3 else change) - 0.1
        assert step["seconds"] - step["moving"] < (0.0 if number == 3 else change) + 130.0


@pytest.mark.long
@pytest.mark.parametrize("language", ["en", "de", "fr"])
@pytest.mark.parametrize("job", DEMOS)
def test_all_demos_show_what_they_say(job: str, language: str) -> None:
    assert shown(JOBS / f"{job}.yaml", language=language).parted() == []


@pytest.mark.parametrize(("pattern", "other", "finds"), [
    ("^mill$", "spot", "mill is at work the longest"),
    ("^mill$", "file", "cutters come in the order"),
    ("^minute wheel: teeth$", "minute wheel: blanks", "its title"),
    (r"^(.* mm, \D*)36(\D+)36(\D*)$", r"\g<1>36\g<2>37\g<3>", "37"),
    (r"^(.*) D 16$", r"\1 D 20", "D 20"), (r"^\d\d (?=\w+ \d\d )", "11 ", "it does not say"),
])
def test_a_text_on_a_picture_that_says_otherwise_is_found(
    wheel: Shown, pattern: str, other: str, finds: str
) -> None:
    drawn = [text for one in wheel.drawn.values() for text in one.texts]
    assert any(re.search(pattern, one) for one in drawn), drawn
    found = wheel.parted(texts=lambda text: re.sub(pattern, other, text))
    assert any(finds in one for one in found), found


def test_every_size_on_a_picture_that_says_otherwise_is_found(wheel: Shown) -> None:
    say = words(wheel.proved.language)
    texts = wheel.drawn["teeth"].texts
    sizes = {say("pictures", word) for word in ("tip", "root", "depth")}
    values = {after for text, after in pairwise(texts) if text in sizes
              and re.fullmatch(r"\d+\.\d+", after)}
    assert len(values) == 3
    for value in values:
        other = f"{float(value) + 0.001:.3f}"
        assert wheel.parted(texts=lambda text, a=value, b=other: b if text == a else text)


@pytest.mark.parametrize(("pattern", "other", "finds"), [
    (r"\b0\.8 mm", "0.9 mm", "cutters of"), (r"\b(\d)\.(\d) min", r"9\1.\2 min", "of motion"),
])
def test_what_a_picture_says_otherwise_is_found(
    wheel: Shown, pattern: str, other: str, finds: str
) -> None:
    found = wheel.parted(says=lambda told: re.sub(pattern, other, told))
    assert any(finds in one for one in found), found


@pytest.mark.parametrize(("pattern", "other", "finds"), [
    (r"<h1>minute", "<h1>hour", "its title"), (r'"name":"drill"', '"name":"reamer"', "is reamer"),
    (r'"diameter":0\.8\b', '"diameter":0.9', "D 0.9"),
])
def test_what_a_page_says_otherwise_is_found(
    wheel: Shown, pattern: str, other: str, finds: str
) -> None:
    assert re.search(pattern, wheel.page)
    found = wheel.parted(page=lambda page: re.sub(pattern, other, page))
    assert any(finds in one for one in found), found


def changed(page: str, change: Callable[[dict[str, Any], list[str]], None]) -> str:
    """A page whose figures and text are others, in every setup of more than one cutter."""
    coded = re.findall(r'id="work">(.*?)</script>', page, re.DOTALL)[0]
    work = json.loads(coded)
    for one in work["setups"]:
        arrays, lines = taken_apart(one)
        table = {name: (sort, steps) for name, sort, _, steps in one["columns"]}
        change(arrays, lines)
        one.update(carried({name: Column(values, *table[name]) for name, values in arrays.items()},
                          lines))
    other = json.dumps(work, separators=(",", ":"), ensure_ascii=False).replace("<", "\\u003c")
    assert other != coded
    return page.replace(coded, other)


def test_a_page_packed_anew_says_the_same(wheel: Shown) -> None:
    def nothing(arrays: dict[str, Any], lines: list[str]) -> None:
        lines.append("")

    assert wheel.parted(page=lambda page: changed(page, nothing)) == []


@pytest.mark.parametrize(("one", "other"), [("G54", "G55"), ("Z0.5", "Z0.6")])
def test_a_text_that_a_page_shows_otherwise_is_found(wheel: Shown, one: str, other: str) -> None:
    def said_otherwise(arrays: dict[str, Any], lines: list[str]) -> None:
        lines[:] = [line.replace(one, other) for line in lines]

    found = wheel.parted(page=lambda page: changed(page, said_otherwise))
    assert any("the text it shows" in fault for fault in found), found


@pytest.mark.parametrize(("word", "change", "finds"), [
    ("feed", lambda feed: feed * 1.1, "mm/min"),
    ("speed", lambda speed: speed * 0.9, "rev/min"),
    ("until", lambda until: until * 1.02, "in the report"),
    ("cutter", lambda cutter: cutter[::-1], "cutters come in the order"),
])
def test_figures_of_a_page_that_are_others_are_found(
    wheel: Shown, word: str, change: Callable[[Any], Any], finds: str
) -> None:
    def said_otherwise(arrays: dict[str, Any], lines: list[str]) -> None:
        # Of one cutter there is no other order.
        if word != "cutter" or len(np.unique(arrays[word])) > 2:
            arrays[word] = change(arrays[word])

    found = wheel.parted(page=lambda page: changed(page, said_otherwise))
    assert any(finds in one for one in found), found


def test_a_sheet_that_says_otherwise_than_pictures_and_pages_is_found(wheel: Shown) -> None:
    plants: Sequence[tuple[str, str]] = (
        (r">240<", ">300<"), (r">\d{4}<", ">1500<"), (r"D 0\.8", "D 0.9"), (r"2 drill", "2 bore"),
        (r"\b36\b", "37"),
    )
    for pattern, other in plants:
        found = wheel.parted(sheet=lambda text, a=pattern, b=other: re.sub(a, b, text))
        assert found, pattern


@pytest.mark.parametrize("word", sampled(["tip-diameter", "root-diameter", "whole-depth"], 3))
@pytest.mark.long
def test_a_size_beside_a_wheel_without_a_mate_is_found(word: str) -> None:
    ratchet = shown(JOBS / "ratchet-wheel.yaml")
    assert ratchet.parted() == []
    label = words("en")("pictures", word)
    teeth = ratchet.drawn["teeth"]
    at = list(teeth.texts).index(label) + 1
    other = (*teeth.texts[:at], f"{float(teeth.texts[at]) + 0.001:.3f}", *teeth.texts[at + 1:])
    planted = Shown(ratchet.proved, ratchet.output,
                    {**ratchet.drawn, "teeth": replace(teeth, texts=other)}, ratchet.page)
    assert any(label in one for one in planted.parted())


@pytest.mark.long
@pytest.mark.parametrize(("pattern", "other", "finds"), sampled([
    ("^minute wheel: teeth$", "minute wheel: blanks", "its title"),
    ("^minute wheel: blanks$", "minute wheel", "its title"),
    (r"\b(\d+)\.(\d) min", r"9\1.\2 min", "of motion"),
], 3))
def test_a_course_in_time_that_says_otherwise_is_found(
    wheel: Shown, pattern: str, other: str, finds: str
) -> None:
    html, say = wheel.output.files["sheet.html"].decode(), words(wheel.proved.language)
    drawn = {name: (one.texts, one.says) for name, one in courses_of(wheel.proved).items()}
    assert courses_parted(html, drawn, wheel.output.report, say) == ()
    changed = {name: ([re.sub(pattern, other, text) for text in texts],
                      re.sub(pattern, other, says)) for name, (texts, says) in drawn.items()}
    found = courses_parted(html, changed, wheel.output.report, say)
    assert any(finds in fault.message for fault in found), found
    less = courses_parted(html, {"blanks": drawn["blanks"]}, wheel.output.report, say)
    assert [fault.message for fault in less if "teeth is not drawn" in fault.message]


@pytest.mark.parametrize("course", sampled([False, True], 2))
def test_a_picture_drawn_by_itself_that_says_otherwise_is_refused(
    wheel: Shown, course: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn = courses_of(wheel.proved) if course else wheel.drawn
    monkeypatch.setattr(drawing, "courses_of" if course else "pictures_of",
                        lambda proved, **how: drawn)
    assert set(drawn_of_job(wheel.proved, course=course)) == {"blanks", "teeth"}
    other = {name: replace(one, texts=tuple(text.replace("wheel", "lever") for text in one.texts))
             for name, one in drawn.items()}
    monkeypatch.setattr(drawing, "courses_of" if course else "pictures_of",
                        lambda proved, **how: other)
    with pytest.raises(Refused, match="its title"):
        drawn_of_job(wheel.proved, course=course)
