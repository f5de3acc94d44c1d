"""Every message in the code, and what a language's catalogue lacks of them or has too many."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache

from program_source import ROOT, files_of, nodes_of, text_of

from camgen.messages import Message
from camgen.words import Words

# Sections of a catalogue that hold messages; all others hold texts by key.
SECTIONS = ("messages", "program", "cutter-names", "part-names", "descriptions")
FIELD = re.compile(r"{(\w+(?::[^}]*)?)}")


@dataclass(frozen=True)
class Template:
    """A message as the code has it: its template, the one for many, its context and its place."""

    text: str
    many: str = ""
    context: str = ""
    place: str = ""


def templates_in(source: str, name: str = "") -> Iterator[Template]:
    """The messages in one file; Raises ValueError where one is not written out in full."""
    for node in nodes_of(source, ast.Call):
        if not isinstance(node.func, ast.Name):
            continue
        place = f"{name}:{node.lineno}"
        if node.func.id in ("Field", "OwnWord"):
            yield from (Template(text, context="descriptions", place=place)
                        for text in _descriptions(node))
        if node.func.id not in ("Message", "counted", "verbatim"):
            continue
        texts = [one.value if isinstance(one, ast.Constant) else None for one in node.args]
        if node.func.id == "verbatim":
            if isinstance(texts[0], str) and texts[0]:
                yield Template(texts[0], place=place)
            continue
        wanted = 2 if node.func.id == "counted" else 1
        if not all(isinstance(one, str) for one in texts[:wanted]) or len(texts) < wanted:
            raise ValueError(f"{place}: a message that is not written out in full")
        given = set(FIELD.sub("", "")) | {one.arg for one in node.keywords}
        given |= {"n"} if node.func.id == "counted" else set()
        for text in texts[:wanted]:
            named = {one.split(":")[0] for one in FIELD.findall(str(text))}
            if None not in given and not named <= given:
                raise ValueError(f"{place}: nothing fills {sorted(named - given)}")
        many = str(texts[1]) if wanted == 2 else ""
        context = str(texts[1]) if wanted == 1 and len(texts) == 2 else ""
        yield Template(str(texts[0]), many, context, place)


def _descriptions(node: ast.Call) -> Iterator[str]:
    """What a word of a file is, as its model says it; of a form's own word in a job and of a
    cutter."""
    said = [one.value for one in node.keywords if one.arg == "description"]
    for one in node.args[3:5] if isinstance(node.func, ast.Name) and (
            node.func.id == "OwnWord") else said:
        if isinstance(one, ast.Constant) and isinstance(one.value, str):
            yield one.value


@cache
def templates() -> tuple[Template, ...]:
    """Every message in the code."""
    return tuple(one for file in files_of()
                 for one in templates_in(text_of(file), str(file.relative_to(ROOT))))


def amiss(catalogue: Words, wanted: Iterable[Template]) -> list[str]:
    """What is wrong with a catalogue, a line for each template."""
    wanted = list(wanted)
    sections = {name: catalogue.sections().get(name) or {} for name in SECTIONS}
    found = []
    for one in wanted:
        places = [one.context] if one.context else ["messages", "program"]
        texts = [sections[place][one.text] for place in places if one.text in sections[place]]
        if not texts:
            found.append(f"lacks {one.text!r} ({one.place})")
        for text in texts:
            forms = [text] if isinstance(text, str) else text
            if (len(forms) > 1) != bool(one.many):
                found.append(f"has {len(forms)} forms of {one.text!r} ({one.place})")
            fields = set(FIELD.findall(one.text))
            found += [f"other fields: {form!r} for {one.text!r}"
                      for form in forms if set(FIELD.findall(form)) != fields]
    known = {(one.context, one.text) for one in wanted}
    for name, texts in sections.items():
        context = "" if name in ("messages", "program") else name
        found += [f"has what is said nowhere: {text!r} ({name})"
                  for text in texts if (context, text) not in known]
    return found


def left_in_english(catalogue: Words, text: str, section: str = "messages") -> list[str]:
    """What of a text stays as it is: templates that the catalogue lacks, or a text of no message.
    """
    if not isinstance(text, Message):
        return [text]
    lacking: list[str] = []

    def look_up(message: Message) -> str | None:
        sections = catalogue.sections()
        for name in (message.context or section, "messages", "program"):
            if message.template in sections.get(name, {}):
                return message.template
        lacking.append(message.template)
        return None

    text.said(look_up)
    return lacking
