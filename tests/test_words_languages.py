"""Sheet and program messages in every language: same figures, same motion, plain letters."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from demos import proved_demo
from message_templates import ROOT, left_in_english
from sampling import sampled

from camgen.library.fingerprint import motion_fingerprint
from camgen.library.record import (
    CutterUsed,
    Pieces,
    ProofRecord,
    RecordedCorrection,
    Run,
    SizeMeasured,
)
from camgen.library.standing import Standing
from camgen.make.chain import Proved, Wish
from camgen.make.runs.proving import program_sum
from camgen.make.told.report import times_of
from camgen.make.told.sheet_texts import sheet_of
from camgen.make.told.standing_line import standing_line
from camgen.messages import Message
from camgen.post.writer import write_programs
from camgen.reader import read_program
from camgen.shipped import demo_jobs
from camgen.steps import STEPS
from camgen.words import Words, languages, program_words, words

JOBS = demo_jobs()
OTHERS = [language for language in languages() if language != "en"]
TEXTS = ROOT / "words" / "texts"


class Heard:
    """Listens to what programs say, and leaves it as it is."""

    def __init__(self) -> None:
        self.told: list[str] = []

    def __call__(self, text: str) -> str:
        self.told.append(text)
        return text


class Listening(Words):
    """English words that hear all that is said."""

    def __init__(self) -> None:
        super().__init__("en", (TEXTS / "en.yaml").read_text(encoding="utf-8"))
        self.told: list[str] = []

    def say(self, text: str, section: str = "messages") -> str:
        self.told.append(text)
        return super().say(text, section)


# One of each kind of work; the long run looks at all.
FEW = ("balance-cock", "third-wheel", "seconds-pinion", "wheel-by-hand")


@pytest.fixture(scope="module", params=sampled([FEW, tuple(path.stem for path in JOBS)], 2,
                                               single=True))
def demos(request: pytest.FixtureRequest) -> dict[str, Proved]:
    return {stem: proved_demo(stem) for stem in request.param}


def test_no_sentence_of_a_demo_sheet_is_left_in_english(demos: dict[str, Proved]) -> None:
    for proved in demos.values():
        listening = Listening()
        sheet_of(proved, times_of(proved), {}, listening, None)
        assert len(listening.told) > 3
        # What holds the work is said in the job's own words.
        names = {setup.planned.setup.holding.by for setup in proved.setups
                 if setup.planned.setup.holding is not None}
        for language in OTHERS:
            catalogue = words(language)
            assert [one for text in listening.told if text not in names
                    for one in left_in_english(catalogue, text)] == []


def test_every_proof_of_the_demos_has_its_name_in_every_language(
        demos: dict[str, Proved]) -> None:
    names = {proof.name for proved in demos.values() for proof in proved.proofs}
    assert len(names) > 60
    for language in OTHERS:
        assert [one for name in sorted(names)
                for one in left_in_english(words(language), name)] == []


def test_every_step_has_its_title_in_every_language() -> None:
    for language in OTHERS:
        for kind in STEPS:
            title = "thread" if kind == "thread-mill" else str(STEPS[kind].words.called)
            for section in ("messages", "program"):
                assert title in words(language).sections()[section], (language, title)


@pytest.mark.parametrize("language", OTHERS)
def test_programs_say_all_in_plain_capitals_and_do_the_same(
        language: str, demos: dict[str, Proved]) -> None:
    # What is a name stays as it is, and what was said before it was filled in.
    own = re.compile(r"CAMGEN |TABLES |FIT CUTTER \d|SPACE \d")
    catalogue = words(language)
    for stem, english in demos.items():
        heard = Heard()
        for setup in english.setups:
            write_programs(setup.planned.moves, english.machine, stem="x", spoken=heard)
        assert heard.told
        assert [text for text in heard.told if not own.match(text)
                and left_in_english(catalogue, text, "program")] == []
        if stem != "wheel-by-hand":
            continue
        other = proved_demo(stem, Wish(language=language))
        assert not other.failed
        for one, two in zip(english.setups, other.setups, strict=True):
            assert [motion_fingerprint(read) for read in one.read] == [
                motion_fingerprint(read) for read in two.read]
            for program in two.programs:
                text = program.text.decode("ascii")
                assert text == text.upper()
                assert "FIRST RUN" not in text


@pytest.mark.parametrize("language", languages())
def test_a_spindle_started_by_hand_is_read_back_in_every_language(
        language: str, demos: dict[str, Proved]) -> None:
    proved = demos["third-wheel"]
    machine = proved.machine.model_copy(update={
        "spindle_words": proved.machine.spindle_words.model_copy(update={"by_program": False})})
    moves = proved.setups[0].planned.moves
    (program,) = write_programs(moves, machine, stem="x", spoken=program_words(language))
    read = read_program(program.text, machine, program.file)
    cutting = read.motion.speed[read.motion.feed > 0]
    assert set(cutting.round()) == {round(section.rpm) for section in moves.sections}


def test_a_jobs_standing_makes_no_program_another_in_any_language() -> None:
    states = [Standing("never run"), Standing("proven"), Standing("failed"), Standing("changed")]
    for language in languages():
        say = program_words(language) or str
        lines = [say(standing_line(state, "2026-03-01")) for state in states]
        programs = [f"%\r\n(CAMGEN 1 JOB 12)\r\n({line})\r\nM30\r\n" for line in lines]
        assert len({program_sum(text.encode()) for text in programs}) == 1


def test_german_spells_its_own_letters_out() -> None:
    say = program_words("de")
    assert say is not None
    assert say("Sekundenrad für Ölwerk") == "Sekundenrad fuer Oelwerk"


@pytest.mark.parametrize("language", OTHERS)
def test_the_last_run_is_told_in_the_sheets_language(
        language: str, demos: dict[str, Proved]) -> None:
    proved = demos["third-wheel"]
    setup = proved.setups[-1]
    run = Run(
        when="2026-03-01", post="plain-iso", pieces=Pieces(made=8, scrapped=1),
        prints=proved.prints,
        sizes=(SizeMeasured(size="tip", nominal=10.949, measured=(10.94, 10.95)),
               SizeMeasured(size="bore", nominal=0.8, measured=(0.801,))),
        corrections=(RecordedCorrection(setup=setup.name, what="depth", by=0.01),),
        cutters=(CutterUsed(name="teeth", verdict="chattered"),))
    record = ProofRecord(form=1, job="third wheel", runs=(run,))
    sheet = sheet_of(replace(proved, record=record, standing=Standing(
        "changed", (Message("the job file"),
                    Message("the machine file")))), times_of(proved), {}, words(language),
        None)
    english = sheet_of(replace(proved, record=record), times_of(proved), {}, words("en"), None)
    told = " ".join((sheet.standing, *sheet.last_run))
    for word in (" good of ", "should be", "corrected", "chattered", "Tip", "Bore", "since",
                 "file"):
        assert word not in told, told
    assert "10.94" in told
    assert "0.01 mm" in told
    assert len(sheet.last_run) == len(english.last_run) == 5
    assert english.last_run[1] == "Tip diameter: 10.94 to 10.95 mm, should be 10.949"
