"""The setup sheet: nothing slips in unescaped, all is said, every language says the same things."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import get_args

import pytest

import camgen.make.told.sheet_texts as sheetfill
import camgen.sheet.page as page
from camgen.faults import Refused
from camgen.layout.stands import Turn
from camgen.sheet import (
    CutterLine,
    DividingLine,
    Instructions,
    Measure,
    MetalRows,
    ProgramLine,
    SetupSheet,
    SheetData,
    StepLine,
    sheet_html,
)
from camgen.shop.cutters import CutterKind, CutterMaterial
from camgen.shop.materials import find_material, material_names
from camgen.words import languages, words

BLANKS = SetupSheet(
    name="blanks", kind="flat", programs=(ProgramLine("wheel-blanks.nc", 1834, "3fa86c1d9b"),),
    stock="sheet 60 x 30 x 0.25 mm", holding="shellac on a brass carrier",
    zero_axes=("X", "Y", "Z"), zero=("left", "centre", "top"), size=(60, 30), safe_height=5,
    clearance=0.5,
    cutters=(CutterLine(3, "mill", "end mill D 0.40", 24000, 1.6, clockwise=False),),
    steps=(StepLine(1, "cross out", "mill", 980, 24000, 120, ("Deflection governed.",), "climb"),
           StepLine(2, "outline", "mill", 497, 24000, 120, ("Deflection governed.",))),
    measures=(Measure("bore", "bore", 0.8), Measure("outside-diameter", "outside", 11.0)),
)
TEETH = SetupSheet(
    name="teeth", kind="teeth", programs=(ProgramLine("wheel-teeth.nc", 2900),), stock="8 blanks",
    holding="arbor", zero_axes=("X", "Y", "Z"), zero=("face", "axis", "centre-height"),
    size=(10.949, 2.0), safe_height=5, clearance=0.5, touched_at="Y-15.475", from_axis="15.475",
    cutters=(CutterLine(4, "teeth", "form disc D 20", 4200),),
    steps=(StepLine(1, "cut teeth", "teeth", 2900, 4200, 55.5),),
    measures=(Measure("chordal-thickness", "tooth-thickness", 0.2199, at=0.2256),),
    stand=("The head stands at the -X end.",),
    centring=Instructions("Centring", ("Bring it in.", "Go half of that way back."), "It leans."),
    dividing=DividingLine(75, "", 2.2, 0.4, 0.1, first_settings=("1 turn and 3 holes",)),
    picture=b"\x89PNG not really", picture_says="wheel of 75 teeth",
)
DATA = SheetData(
    "third wheel", "going train", "leaded brass", 8, "bench", "a bench mill", "0.1.0",
    (BLANKS, TEETH), ("disc", "Mind the cat."), MetalRows("gold 750", 15.45, 10, 4, 6, 750),
    (14, 14),
)


class Outline(HTMLParser):
    """Texts, tags and attributes of a page; fails on tags that do not close."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.texts: list[str] = []
        self.links: list[str] = []
        self.images: list[dict[str, str | None]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        self.links += [value for name, value in attrs if name in ("src", "href") and value]
        if tag == "img":
            self.images.append(found)
        if tag not in ("br", "hr", "img", "input", "meta", "link"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.texts.append(data)


def read(html: str) -> Outline:
    outline = Outline()
    outline.feed(html)
    assert outline.open == []
    return outline


def test_what_the_job_says_cannot_become_markup() -> None:
    nasty = '<script>alert("x")</script>&amp;'
    html = sheet_html(replace(DATA, job=nasty, note=nasty, cautions=(nasty,)))
    assert "<script" not in html
    assert nasty in " ".join(read(html).texts)


def test_the_sheet_needs_nothing_but_itself() -> None:
    outline = read(sheet_html(DATA))
    assert outline.links
    assert all(link.startswith("data:image/png;base64,") for link in outline.links)
    assert "://" not in sheet_html(DATA)
    assert [image["alt"] for image in outline.images] == ["wheel of 75 teeth"]


@pytest.mark.parametrize("language", languages())
def test_everything_given_is_on_the_sheet_in_every_language(language: str) -> None:
    text = " ".join(read(sheet_html(DATA, language)).texts)
    for said in ("third wheel", "wheel-blanks.nc", "wheel-teeth.nc", "end mill D 0.40", "0.800 mm",
                 "11.000 mm", "0.220 mm", "0.226", "half of that way", "It leans.", "-X end",
                 "Mind the cat.", "1 turn and 3", "24000", "10.000 g", "7.500 g", "3fa86c1d"):
        assert said in text, said
    say = words(language)
    for key in ("eyes", "hair", "guards", "clamping", "air", "swarf", "disc"):
        assert say("cautions", key) in text
    assert say("sheet", "authority") in text
    assert say("sheet", "anticlockwise") in text
    # Axis zero: where it touches it is both radii short of 0: (10.949 + 20) / 2 = 15.4745.
    assert "Y-15.475" in text
    # A reason already given is not given twice.
    assert text.count("Deflection governed.") == 1


def test_languages_have_the_same_keys_and_the_same_fields() -> None:
    model = words("en").sections()
    fields = re.compile(r"{(\w+)}")
    assert {"de", "en", "fr"} <= set(languages())
    for language in languages():
        # What is said by message has its English in the code and no section in this catalogue.
        texts = {name: keys for name, keys in words(language).sections().items() if name in model}
        assert {name: set(keys) for name, keys in texts.items()} == {
            name: set(keys) for name, keys in model.items()}
        for section, keys in texts.items():
            for key, text in keys.items():
                assert isinstance(text, str), (language, section, key)
                assert set(fields.findall(text)) == set(fields.findall(model[section][key])), (
                    language, section, key)
                if language != "en" and len(fields.sub("", text)) > 20:
                    assert text != model[section][key], (language, section, key)


def test_what_materials_warn_of_is_said_in_every_language() -> None:
    sentences = {caution for name in material_names() for caution in find_material(name).cautions}
    assert len(sentences) > 5
    for language in languages():
        if language != "en":
            titles = {find_material(name).title for name in material_names()}
            assert set(words(language).sections()["materials"]) == sentences | titles
    german = sheet_html(replace(DATA, cautions=tuple(sorted(sentences))), "de")
    assert "Bleihaltiges Messing" in german
    assert "Leaded brass" not in german


def test_every_kind_of_cutter_has_its_name_in_every_language() -> None:
    for language in languages():
        texts = words(language).sections()
        assert set(texts["cutters"]) == {"touching", "with-flutes", "with-teeth"}
        assert language == "en" or set(texts["cutter-names"]) == {
            kind.replace("-", " ") for kind in get_args(CutterKind)}
        assert set(get_args(CutterMaterial)) == set(texts["cutter-materials"]) - {
            "taken-as-carbide"}


def test_no_text_lies_unused() -> None:
    rooms = [Path(str(page.__file__)).parent, Path(str(sheetfill.__file__)).parent]
    sources = "".join(file.read_text(encoding="utf-8")
                      for room in rooms for file in sorted(room.rglob("*.py")))
    for section in ("sheet", "centring", "dividing", "corrections", "stock", "stand",
                    "again"):
        for key in words("en").sections()[section]:
            said = (f'"{key}"' in sources or key.startswith("way-")
                    or f'"{key.removesuffix("-pulse")}"' in sources)
            assert said or key in get_args(Turn), (section, key)


def test_a_language_without_texts_is_refused_with_those_that_are_there() -> None:
    with pytest.raises(Refused) as no:
        sheet_html(DATA, "fi")
    assert "de, en, fr" in str(no.value) or "did you mean" in str(no.value)
    with pytest.raises(Refused):
        words("../texts/en")
