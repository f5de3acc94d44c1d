"""What is wrong with a file is said in every language, and no part of it is English put together.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from message_templates import left_in_english
from sampling import sampled

from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import check_job
from camgen.job.reading import read_job
from camgen.messages import Message, verbatim
from camgen.plainfile import plain_text
from camgen.post.machine_file.explain import fields
from camgen.shipped import shipped_folder
from camgen.shop.machine import Machine
from camgen.steps import step_words
from camgen.words import languages, words
from camgen.yamlfile import load_yaml, read_yaml, validate

FILES = sorted((Path(__file__).parent / "data" / "bad_jobs").glob("*.yaml"))
OTHERS = [language for language in languages() if language != "en"]
# Two words in a row: a sentence, or a part of one, if nobody typed them and nobody shall.
WORDS = re.compile(r"[a-z]{2,} [a-z]{2,}")


@pytest.fixture(scope="module")
def machine() -> Machine:
    return validate(Machine, read_yaml(shipped_folder("postprocessors") / "plain-iso.yaml"))


def parts_in_no_language(text: object) -> Iterator[str]:
    """What a message is filled with that can be said in one way only."""
    if isinstance(text, tuple):
        for one in text:
            yield from parts_in_no_language(one)
    elif isinstance(text, Message):
        yield from parts_in_no_language(tuple(text.fields.values()))
    elif isinstance(text, str):
        yield text


def amiss(fault: Fault, typed: str) -> list[str]:
    """What of a fault cannot be said in every language; ``typed`` is what the person wrote."""
    found = [f"{language}: {one}" for language in OTHERS for text in (fault.message, fault.remedy)
             for one in left_in_english(words(language), text) if one]
    # Words to be typed are in braces.
    return found + [part for text in (fault.message, fault.remedy)
                    for part in parts_in_no_language(text)
                    if WORDS.search(part) and part not in typed and part[:1] not in "{["]


def test_english_in_a_fault_is_found() -> None:
    half = Fault(Message("the file is {held}, not words with their values", held="a long list"),
                 Message("write it shorter"))
    assert amiss(half, "") == ["a long list"]
    assert amiss(half, "a long list") == []
    own = Fault(verbatim("this was never translated"), Message("write it shorter"))
    assert amiss(own, "") == [f"{language}: this was never translated" for language in OTHERS]


@pytest.mark.parametrize("path", sampled(FILES, 12, 1), ids=lambda path: path.stem)
def test_every_fault_of_a_job_can_be_said_in_every_language(path: Path, machine: Machine) -> None:
    with pytest.raises(Refused) as no:
        check_job(read_job(path, step_words()), machine)
    typed = path.read_text("utf-8")
    assert [one for fault in no.value.faults for one in amiss(fault, typed)] == []


@pytest.mark.parametrize("text", [
    "name: m\ndescribes: a mill\nspindle: {highest: fast}\narcs: {stile: radius}\nnumbers: 3\n",
    "name: m\nx: {travel: -1, rapid: 0,5}\nblocks: [1, 2\n",
    "name: m\ntiming: 1:30\nblocks: {spaces: maybe, crlf: yes}\n",
])
def test_faults_of_a_machine_file_can_be_said_in_every_language(text: str) -> None:
    with pytest.raises(Refused) as no:
        validate(Machine, load_yaml(text, "m.yaml"))
    assert [one for fault in no.value.faults for one in amiss(fault, text)] == []


def test_what_is_no_file_can_be_said_in_every_language(tmp_path: Path) -> None:
    (tmp_path / "wheel.yaml").write_bytes(b"\xff\xfe")
    for name in ("", "weel.yaml", "wheel.yaml", "plate/wheel.yaml", "wheel.yaml/a", "a" * 300):
        with pytest.raises(Refused) as no:
            plain_text(tmp_path / name)
        assert [one for fault in no.value.faults for one in amiss(fault, "")] == []


def test_the_description_of_a_word_is_said_in_the_language_spoken() -> None:
    with pytest.raises(Refused) as no:
        validate(Machine, load_yaml("name: m\n", "m.yaml"))
    said = [fault.said(words("de").say) for fault in no.value.faults]
    assert any("zu welcher Art Maschine sie passt" in one for one in said), said


def test_a_machine_file_is_explained_in_the_language_spoken(machine: Machine) -> None:
    for language in OTHERS:
        say = words(language).say
        assert [field.path for field in fields(machine)
                if say(field.description) == field.description] == []
