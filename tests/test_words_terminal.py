"""What is told at the terminal, in every language: nothing is left in English but what is data.

Each command is run in a language whose catalogue strikes out every letter that a message says by
itself. What can still be read is what fills the messages: names, figures, words of files.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from demos import proved_demo
from message_templates import ROOT, left_in_english

from camgen.cli import group
from camgen.commands import library, make
from camgen.commands.terminal import screen
from camgen.commands.terminal.records import run_form
from camgen.commands.trying import asking
from camgen.faults import Refused
from camgen.library.record import read_record, record_path
from camgen.make.variants import Wish
from camgen.messages import Message
from camgen.shipped import shipped_folder
from camgen.shop.machines import find_machine
from camgen.words import Words, languages, words

OTHERS = [language for language in languages() if language != "en"]
# Two words of small letters side by side are a sentence's: no name of the demo data has them.
SENTENCE = re.compile(r"(?<![\w./<>-])[a-z]{2,} [a-z]{2,}(?![\w./=-])")
# What is said by data: a demo job's and a machine file's own words, and commands to type.
OWN = re.compile(
    r"minute wheel|edge radius|File is not a zip file|camgen [a-z]+( [a-z]+)?( [a-z-]+)?|"
    r"record JOB|"
    r"carbide end-mill [0-9.]+ mm, 2 flutes, reach [0-9.]+")


class Struck(Words):
    """A catalogue that has every message, with each letter of its own struck out."""

    def __init__(self) -> None:
        super().__init__("de", (ROOT / "words" / "texts" / "de.yaml").read_text(encoding="utf-8"))
        self.told: list[Message] = []

    def say(self, text: str, section: str = "messages") -> str:
        if isinstance(text, Message) and text:
            self.told.append(text)
        return super().say(text, section)

    def _template(self, message: Message, section: str) -> str | None:
        return "".join(part if part.startswith("{") else re.sub(r"[^\W\d_]", "¤", part)
                       for part in re.split(r"(\{[^{}]*\})", message.template))


@pytest.fixture
def struck(monkeypatch: pytest.MonkeyPatch) -> Struck:
    catalogue = Struck()
    monkeypatch.setattr(screen, "_catalogue", lambda: catalogue)
    return catalogue


@pytest.fixture(autouse=True)
def english_again() -> Iterator[None]:
    yield
    screen.begin_speaking()


@pytest.fixture
def workshop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A workshop with one job that was run; all of a job's work is done once for all tests."""
    def proved(path: Path, wish: Wish | None = None, *_: object) -> object:
        done = proved_demo("wheel-by-hand")
        return replace(done, job_file=replace(done.job_file, path=path), workshop=tmp_path,
                       record=read_record(record_path(path)))

    for room in (make, library):
        monkeypatch.setattr(room, "proved_job", proved)
    (tmp_path / "jobs").mkdir()
    shutil.copy(shipped_folder("jobs") / "wheel-by-hand.yaml", tmp_path / "jobs")
    (tmp_path / "jobs" / "broken.yaml").write_text("job: broken\nteeht: 3\n")
    (tmp_path / "plate.nc").write_text(
        "%\nN10 G90 G21 G17 G40\nG54 G64\nT1 M6 (END MILL D1)\nM3 S9000\nG0 X0 Y0\nG43 H2 Z5.\n"
        "G1 Z-1. F100\nG2 X1. Y1. R0.1\nG68 X0 Y0 R10\nM61 Q2\nX1 2 &\n(NOT CLOSED\nM5\n"
        "M98 P77\nM30\n%\n")
    (tmp_path / "other.nc").write_text("%\nG90 G21\nM3 S100\nG0 Z9.\nX1.\nG1 Z0. F9.\nM30\n%\n")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def told(*line: str, given: str | None = None) -> str:
    """All that a command says; what it refuses as the terminal shows it."""
    result: Result = CliRunner().invoke(group, line, input=given)
    text = result.output
    if isinstance(result.exception, Refused):
        text += "\n".join(fault.said(screen.in_spoken) for fault in result.exception.faults)
    elif result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return text


RUNS = (
    "divide 75 --pitch-diameter 10.5",
    "divide 42 --ratio 40 --plates 21,24",
    "divide 127 --ratio 40 --plates 20 --nearest",
    "divide --degrees 7 --ratio 40 --plates 21,24",
    "mesh 30 0.2 8 --form involute --cutter-teeth 12 --off-centre 0.05",
    "speeds --material brass --cutter end-mill_0.4_2_flutes_reach_1.6 --sources",
    "post new corner-mill --set numbers.decimals=2", "post show plain-iso",
    "post show hand-dividing", "post try plain-iso",
    "read plate.nc", "read other.nc --against plate.nc", "read plate.nc other.nc",
    "schema --out schema.json", "post schema --out machine.json",
    "library list", "library list --teeth 9999", "library status",
    "library record jobs/wheel-by-hand.yaml --blank", "preview plate.nc --page --out pages",
    "check jobs/wheel-by-hand.yaml",
    "start shop",
)

REFUSED = (
    "divide 75 --plates a,b", "divide 3000", "divide", "divide --degrees 7",
    "mesh 30 0.2 8 --form no",
    "speeds --material brass --cutter end-mill_0.4_2_flutes --picture a.bmp",
    "speeds --material bras --cutter end-mil",
    "speeds --material brass --cutter drill_1 --at-once",
    "post show plain-is", "post new a --set nothing", "post new a --set numbers.decimal=2",
    "post try plain-iso --out plate.nc/x", "read nothing.nc",
    "read plate.nc --against-post plain-iso", "read plate.nc --air 2",
    "read plate.nc --picture a.bmp", "words teethh", "library show jobs/wheel-by-hand.yaml",
    "library record jobs/wheel-by-hand.yaml", "library compare jobs/wheel-by-hand.yaml",
    "library record jobs/wheel-by-hand.yaml --when 2026-03-01 --made 1 --scrapped 2 --size bore=9 "
    "--cutter no=fine",
    "library record jobs/wheel-by-hand.yaml --when 2999-03-01 --made 1 --size bore",
    "library unpack plate.nc --to x",
    "check nothing.yaml --post plain-iso --from-step 2 --dry-index",
    "start plate.nc", "start .",
)


def _line(words: str, language: str = "de") -> list[str]:
    line = [word.replace("_", " ") for word in words.split()]
    at = 2 if line[0] in ("post", "library") and len(line) > 1 else 1
    return [*line[:at], "--language", language, *line[at:]]


def _readable(text: str) -> list[str]:
    """Sentences that can still be read, but for what is data and what is said by the parser."""
    for machine in map(find_machine, ("plain-iso", "hand-dividing", "small-memory")):
        text = text.replace(machine.describes, "")
    lines = [line for line in text.splitlines()
             if not line.startswith(("Usage:", "Try ", "[", "      ", "  job file: "))]
    kept = re.sub(r"Error: (Invalid value for [^:]*:)?", "", "\n".join(lines))
    return [found[0] for found in SENTENCE.finditer(OWN.sub("", kept))]


def _is_all_messages(text: str, struck: Struck) -> None:
    assert struck.told, text
    assert _readable(text) == [], text
    for language in OTHERS:
        assert [one for message in struck.told
                for one in left_in_english(words(language), message)] == []


@pytest.mark.parametrize("line", RUNS)
def test_what_a_command_tells_is_all_messages(line: str, workshop: Path, struck: Struck) -> None:
    _is_all_messages(told(*_line(line)), struck)


@pytest.mark.parametrize("line", REFUSED)
def test_what_a_command_refuses_is_all_messages(
        line: str, workshop: Path, struck: Struck) -> None:
    _is_all_messages(told(*_line(line)), struck)


@pytest.mark.parametrize("line", ["divide 75 --json", "post show plain-iso --json",
                                  "read plate.nc --json"])
def test_what_is_for_a_program_to_read_is_the_same_in_every_language(
        line: str, workshop: Path) -> None:
    assert len({told(*_line(line, language)) for language in languages()}) == 1


def test_the_language_is_that_of_the_word_else_of_the_variable_else_english(
        monkeypatch: pytest.MonkeyPatch) -> None:
    assert "72 divisions" in told("divide", "72")
    assert "72 Teilungen" in told("divide", "72", "--language", "de")
    monkeypatch.setenv("CAMGEN_LANGUAGE", "fr")
    assert "pas de commande 'divid'. Vouliez-vous dire 'divide' ?" in told("divid")
    assert "72 divisions de 5 degrés" in told("divide", "72")
    assert "72 Teilungen" in told("divide", "72", "--language", "de")
    assert "72 divisions of" in told("divide", "72", "--language", "en")
    assert "pas de textes en langue 'dee'" in told("divide", "72", "--language", "dee")
    monkeypatch.setenv("CAMGEN_LANGUAGE", "xx")
    assert "72 divisions of" in told("divide", "72")


def test_a_job_is_told_in_its_own_language_where_no_other_is_asked_for(
        workshop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def in_german(path: Path, wish: Wish | None = None, *_: object) -> object:
        return replace(proved_demo("wheel-by-hand"), language="de")

    monkeypatch.setattr(make, "proved_job", in_german)
    assert "Alle" in told("check", "jobs/wheel-by-hand.yaml")
    monkeypatch.setenv("CAMGEN_LANGUAGE", "en")
    assert "proofs hold" in told("check", "jobs/wheel-by-hand.yaml")


def test_a_run_recorded_shown_and_compared_is_told_in_messages(
        workshop: Path, struck: Struck) -> None:
    job = "jobs/wheel-by-hand.yaml"
    for line in (
        f"library record {job} --when 2026-03-01 --made 3 --scrapped 1 --cutter fly=worn "
        "--size bore=1,1.001 --lot 12 --remark fine --correction teeth:depth=0.01",
        f"library record {job} --when 2026-03-02 --made 3 --size bore=1.003",
        f"library show {job}", f"library compare {job}", "library status", "library list",
        f"check {job}",
    ):
        text = told(*_line(line))
        assert "¤¤" in text, text
        _is_all_messages(text, struck)


def test_proofs_that_fail_are_told_in_messages_with_their_places_in_the_job(
        workshop: Path, struck: Struck, monkeypatch: pytest.MonkeyPatch) -> None:
    done = proved_demo("wheel-by-hand")
    # Where the worst is, proofs say themselves.
    failing = replace(done, setups=tuple(
        replace(setup, proofs=tuple(replace(proof, holds=False, where="")
                                    for proof in setup.proofs)) for setup in done.setups))
    monkeypatch.setattr(make, "proved_job", lambda *_: failing)
    text = told(*_line("check jobs/wheel-by-hand.yaml"))
    assert text.count("\n") > 2 * len(done.proofs)
    _is_all_messages(re.sub(r"(?<=\)), ¤¤¤¤¤ ¤¤¤¤ .*", "", text), struck)


def test_what_is_asked_at_the_keyboard_is_asked_in_messages(
        struck: Struck, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []

    def prompt(text: str, **more: object) -> object:
        asked.append(text)
        answer = more.get("default", "2026-03-01")
        take = more.get("value_proc")
        return take(answer) if callable(take) else answer

    monkeypatch.setenv("CAMGEN_LANGUAGE", "de")
    screen.begin_speaking()
    monkeypatch.setattr(run_form.click, "prompt", prompt)
    run_form._asked(proved_demo("wheel-by-hand"))
    asking.asked()
    assert len(asked) > 15
    _is_all_messages("\n".join(re.sub(r"^(.*), ¤¤¤¤", "¤¤¤¤", one) for one in asked), struck)


@pytest.mark.parametrize(("line", "language", "said"), [
    ("speeds --material brass", "de", "--cutter fehlt"),
    ("speeds --material brass", "fr", "--cutter manque"),
    ("mesh 75", "de", "MODULE fehlt"),
    ("speeds --cuter x", "de", "keine Option '--cuter'. Ist '--cutter' gemeint?"),
    ("speeds --cuter x", "fr", "pas d'option '--cuter'. Vouliez-vous dire '--cutter' ?"),
    ("mesh --qqq", "fr", "pas d'option '--qqq'."),
])
def test_an_option_that_is_missing_or_none_is_told_so(
        line: str, language: str, said: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CAMGEN_LANGUAGE", language)
    answer = CliRunner().invoke(group, line.split())
    assert answer.exit_code == 2
    assert f"Error: {said}\n" in answer.output
