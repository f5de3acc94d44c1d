"""Messages as data: catalogues and code agree, a language is one file, numbers bend words."""

from __future__ import annotations

import ast
import copy
import json
import pickle
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
import yaml
from message_templates import Template, amiss, templates, templates_in
from program_source import ROOT, files_of, nodes_of, text_of

import camgen.words
from camgen.messages import Message, counted, verbatim
from camgen.words import Words, languages, words

OTHERS = [language for language in languages() if language != "en"]
TEXTS = ROOT / "words" / "texts"


@pytest.mark.parametrize("language", OTHERS)
def test_a_catalogue_has_every_message_of_the_code_and_no_other(language: str) -> None:
    assert len(templates()) > 100
    assert amiss(words(language), templates()) == []


@pytest.mark.parametrize("language", languages())
def test_a_catalogue_is_yaml_however_it_is_read(language: str) -> None:
    text = (TEXTS / f"{language}.yaml").read_text(encoding="utf-8")
    whole = yaml.load(text, Loader=yaml.CSafeLoader)
    assert {name: texts or {} for name, texts in whole.items()} == words(language).sections()


def test_all_catalogues_say_the_same_in_the_same_sections() -> None:
    model = words(OTHERS[0]).sections()
    for language in OTHERS[1:]:
        other = words(language).sections()
        assert {name: set(texts) for name, texts in model.items()} == {
            name: set(texts) for name, texts in other.items()}


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("section", ["messages", "program", "descriptions"])
def test_a_section_of_messages_is_read_as_quickly_as_can_be(language: str, section: str) -> None:
    """Every entry on one line and in double quotes, so that thousands are read as JSON."""
    text = (TEXTS / f"{language}.yaml").read_text(encoding="utf-8")
    lines = re.split(r"^(\S+):\n", text, flags=re.MULTILINE)
    entries = lines[lines.index(section) + 1].split("\n")
    amiss = []
    for entry in entries:
        if entry and not entry.lstrip().startswith("#"):
            try:
                json.loads(f"{{{entry}}}")
            except ValueError:
                amiss.append(entry)
    assert amiss == []


@pytest.mark.parametrize("language", languages())
def test_no_text_stands_twice_in_a_section(language: str) -> None:
    lines = (TEXTS / f"{language}.yaml").read_text(encoding="utf-8").split("\n")
    section, known = "", set()
    twice = []
    for line in lines:
        if found := re.match(r"([a-z-]+):", line):
            section = found[1]
        if found := re.match(r'  ("(?:[^"\\]|\\.)*"|[^ "#:][^:]*):', line):
            key = (section, found[1].strip('"'))
            twice += [key] if key in known else []
            known.add(key)
    assert len(known) > 100
    assert twice == []


def test_a_language_is_one_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = {file.name: file.read_bytes() for file in TEXTS.iterdir()}
    for name, text in before.items():
        (tmp_path / name).write_bytes(text)
    monkeypatch.setattr(camgen.words, "_FOLDER", tmp_path)
    lines = before["de.yaml"].decode().split("\n")
    # One in ten messages is not translated yet: each is named.
    first = lines.index("messages:") + 1
    left_out = [line for line in lines[first:] if line.startswith('  "')][::10]
    (tmp_path / "nl.yaml").write_text("\n".join(
        line for line in lines if line not in left_out), encoding="utf-8")
    added = {file.name for file in tmp_path.iterdir()} - set(before)
    assert added == {"nl.yaml"}
    assert "nl" in languages()
    try:
        missing = amiss(words("nl"), templates())
        named = {one.rsplit(" (", 1)[0] for one in missing if one.startswith("lacks")}
        texts = words("de").sections()
        expected = {f"lacks {text!r}" for name in ("messages", "cutter-names", "part-names")
                    for text in texts[name] if text not in words("nl").sections()[name]
                    and (name != "messages" or text not in texts["program"])}
        assert named == expected
        assert named
        kept = verbatim(next(text for text, said in words("nl").sections()["messages"].items()
                             if isinstance(said, str)))
        assert words("nl").say(kept) == words("de").say(kept)
    finally:
        words.cache_clear()


@pytest.mark.parametrize("language", OTHERS)
def test_a_new_message_fails_until_every_catalogue_has_it(language: str) -> None:
    new = [*templates(), *templates_in('say(Message("oil the {what}", what=what))', "new.py")]
    catalogue = (TEXTS / f"{language}.yaml").read_text(encoding="utf-8")
    assert amiss(Words(language, catalogue), new) == ["lacks 'oil the {what}' (new.py:1)"]
    with_it = catalogue.replace("\nmessages:\n", '\nmessages:\n  "oil the {what}": "{what} ÖL"\n')
    assert amiss(Words(language, with_it), new) == []
    (stale,) = amiss(Words(language, with_it), templates())
    assert stale == "has what is said nowhere: 'oil the {what}' (messages)"
    other = with_it.replace("{what} ÖL", "{was} ÖL")
    assert amiss(Words(language, other), new) == [
        "other fields: '{was} ÖL' for 'oil the {what}'"]


def patterns() -> Iterator[tuple[str, str]]:
    """Every pattern written in the code, with its place; the reader's read programs, not us."""
    for file in files_of():
        if "reader" in file.parts or "re." not in text_of(file):
            continue
        for node in nodes_of(text_of(file), ast.Call):
            if isinstance(node.func, ast.Attribute) and ast.unparse(node.func).startswith("re."):
                yield from ((f"{file.name}:{node.lineno}", text.value) for text in node.args
                            if isinstance(text, ast.Constant) and isinstance(text.value, str))


def in_pairs(text: str) -> set[tuple[str, str]]:
    """Words of a text that stand side by side; what is not said in letters parts them."""
    return {pair for run in re.split(r"[^A-Za-z' ]+", text.lower())
            for pair in pairwise(run.split()) if min(map(len, pair)) > 1}


def test_no_pattern_recognises_a_finished_sentence() -> None:
    sentences = {pair for one in templates() for pair in in_pairs(one.text)}
    assert ("sides", "first") not in sentences
    assert in_pairs(r"turn the crank to just before space (\d+)") & sentences
    found = list(patterns())
    assert len(found) > 40
    assert [(place, text) for place, text in found if in_pairs(text) & sentences] == []
    # Catalogues are looked up, and their templates never made into patterns.
    source = (ROOT / "words" / "__init__.py").read_text(encoding="utf-8")
    assert source.count("re.") == source.count("re.split(") + source.count("re.MULTILINE")


def test_a_message_must_be_written_out_and_filled() -> None:
    with pytest.raises(ValueError, match="not written out"):
        list(templates_in('Message(f"oil the {what}")'))
    with pytest.raises(ValueError, match="nothing fills"):
        list(templates_in('Message("oil the {what}", who=what)'))
    assert list(templates_in('counted("{n} part", "{n} parts", 3)')) == [
        Template("{n} part", "{n} parts", "", ":1")]


def test_numbers_bend_words_as_each_language_has_it() -> None:
    # Nothing of a thing is plural in English and German, singular in French (GNU gettext manual,
    # "Plural forms").
    said = {language: [words(language).say(counted("{n} hole", "{n} holes", n))
                       for n in (0, 1, 2)] for language in ("en", "de", "fr")}
    assert said == {"en": ["0 holes", "1 hole", "2 holes"],
                    "de": ["0 Löcher", "1 Loch", "2 Löcher"],
                    "fr": ["0 trou", "1 trou", "2 trous"]}


def test_a_language_with_more_forms_of_number_has_them() -> None:
    # Polish has three forms (GNU gettext manual, "Plural forms").
    polish = Words("pl", """language:
  plural: "n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2"
  spelt-out: {}
messages:
  "{n} hole": ["{n} otwór", "{n} otwory", "{n} otworów"]
""")
    assert [polish.say(counted("{n} hole", "{n} holes", n)) for n in (1, 3, 5, 22)] == [
        "1 otwór", "3 otwory", "5 otworów", "22 otwory"]


def test_a_message_is_its_english_and_never_changes() -> None:
    inner = Message("drill")
    said = Message("{title}: {depth:.2f} mm, {axes}", title=inner, depth=0.5, axes=("X", "Y"))
    assert said == "drill: 0.50 mm, X, Y"
    assert f"{said:>22}" == "  drill: 0.50 mm, X, Y"
    with pytest.raises(AttributeError):
        said.template = "another"
    for twin in (copy.deepcopy(said), pickle.loads(pickle.dumps(said))):
        assert (twin, twin.template, twin.fields) == (said, said.template, said.fields)
    assert words("de").say(said) == "drill: 0.50 mm, X, Y".replace("drill", "Bohren")


def test_a_word_of_several_meanings_has_a_context() -> None:
    german = words("de")
    assert german.say(Message("drill")) == "Bohren"
    assert german.say(Message("drill", "cutter-names")) == "Bohrer"
    assert german.say(Message("drill"), "program") == "BOHREN"


def test_what_others_fill_keeps_its_braces() -> None:
    assert words("de").say(verbatim("FIT CUTTER {cutter} {text}"), "program") == (
        "WERKZEUG {cutter} EINSETZEN: {text}")
    assert words("de").say(verbatim("{never} said")) == "{never} said"
