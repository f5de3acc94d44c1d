"""No room but ``teeth/`` knows a tooth form by its name: the source is read for it."""

from __future__ import annotations

import ast
from collections.abc import Iterator

import pytest
from program_source import ROOT, files_of, nodes_of, text_of

from camgen.teeth.form import Number, OwnWord, Teeth, ToothedPart
from camgen.teeth.forms import FORMS, _words, cut_by, form_named, teeth_of

NAMES = ({form.name for form in FORMS}
         | {teeth.made_for for form in FORMS for teeth in form.teeth})


def known_by_name(source: str) -> Iterator[str]:
    """Names of forms in comparisons, patterns, lists of words, types and mappings."""
    for node in nodes_of(source, ast.Compare, ast.MatchValue, ast.Tuple, ast.List, ast.Set,
                         ast.Dict, ast.Subscript, ast.Call):
        parts: list[ast.AST | None] = []
        match node:
            case ast.Compare(left=left, comparators=others):
                parts = [left, *others]
            case ast.MatchValue(value=value):
                parts = [value]
            case ast.Tuple(elts=elts) | ast.List(elts=elts) | ast.Set(elts=elts):
                parts = [*elts]
            case ast.Dict(keys=keys):
                parts = [*keys]
            case ast.Subscript(slice=inside):
                parts = [inside]
            case ast.Call(func=ast.Attribute(attr="startswith" | "endswith"), args=args):
                parts = [*args]
        for part in parts:
            if isinstance(part, ast.Constant) and isinstance(part.value, str) and (
                    part.value in NAMES):
                yield f"line {part.lineno}: {part.value}"


def test_no_other_room_knows_a_form_by_its_name() -> None:
    files = [file for file in files_of() if "teeth" not in file.parts]
    assert len(files) > 200
    found = {str(file.relative_to(ROOT)): names for file in files
             if (names := list(known_by_name(text_of(file))))}
    assert not found


@pytest.mark.parametrize("planted", [
    'if part.form == "ratchet": pass', 'if "involute" != part.form: pass',
    'form: Literal["cycloidal", "x"]', 'form: Literal["ratchet"]',
    'able = form in ("cycloidal-wheel",)', 'able = form in {"ratchet"}', 'all = ["involute"]',
    'match form:\n    case "ratchet": pass', 'by = {"involute": 1}', 'by["ratchet"]',
    'made.form.startswith("cycloidal")',
])
def test_a_name_planted_is_found(planted: str) -> None:
    assert not list(known_by_name(planted.replace("ratchet", "a").replace(
        "involute", "b").replace("cycloidal", "c")))
    assert list(known_by_name(planted))


def test_names_are_unmistakable() -> None:
    names = [form.name for form in FORMS]
    assert len(names) == len(set(names))
    for form in FORMS:
        assert form.teeth
        for teeth in form.teeth:
            assert form_named(form.name).of(teeth.part) is teeth
            assert cut_by(teeth.made_for).build is teeth.build
    with pytest.raises(ValueError, match="cycloidal, involute, ratchet"):
        form_named("lantern")
    with pytest.raises(ValueError, match="a pinion cannot have ratchet teeth"):
        teeth_of("ratchet", ToothedPart.PINION)


def test_one_word_means_one_thing() -> None:
    def having(most: float) -> Teeth:
        word = OwnWord("front", Number(most=most), 0.0, "a", "b")
        return Teeth(ToothedPart.WHEEL, "x", "xs", FORMS[0].teeth[0].build, (word,))

    assert len(_words([having(1), having(1)])) == 1
    with pytest.raises(ValueError, match="word front"):
        _words([having(1), having(2)])
