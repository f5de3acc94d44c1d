"""Beside a proof that fails stands where in the job file its cause is looked for."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from demos import proved_demo
from sampling import sampled

from camgen.commands.make import check
from camgen.job.order.deeds import features_of_job
from camgen.make.causes.job_places import in_words, job_place
from camgen.make.chain import Proved, Wish, proved_job
from camgen.messages import NOTHING, Message
from camgen.proof.common.said import in_plan
from camgen.proof.result import Proof, ProofId
from camgen.shipped import shipped_folder
from camgen.words import languages, words

JOBS = ["third-wheel", "balance-cock"]


@pytest.fixture(scope="module", params=JOBS)
def proved(request: pytest.FixtureRequest) -> Proved:
    return proved_demo(request.param)


def failing(setup: str, program: str = "", line: int = 0, of: str = "",
            where: Message = NOTHING) -> Proof:
    return Proof(ProofId("flat", "any", of), Message("any"), setup, False, 2.0, 1.0, "mm", where,
                 line, program=program)


def test_at_every_line_that_moves_the_step_named_is_one_of_the_cutter_that_moves(
        proved: Proved) -> None:
    text = proved.job_file.path.read_text("utf-8").splitlines()
    seen = set()
    for number, setup in enumerate(proved.setups):
        motion = setup.evidence.motion
        cutters = {one.cutter_number: one.cutter for one in setup.planned.moves.sections}
        for piece in range(0, len(motion), 7):
            program = setup.read[int(setup.evidence.program_of[piece])].name
            found = job_place(proved.job_file, setup,
                              failing(setup.name, program, int(motion.line[piece])))
            if not found.number:
                # Before the first step's first move.
                assert piece < 20
                continue
            said = proved.job_file.job.setups[number].steps[found.number - 1]
            assert said.kind == found.kind
            assert said.cutter == cutters[int(motion.cutter[piece])]
            assert f"{found.kind}:" in text[found.place.line - 1]
            assert f"cutter: {said.cutter}" in found.says
            seen.add((number, found.number))
    assert seen == {(number, step) for number, setup in enumerate(proved.job_file.job.setups)
                    for step in range(1, len(setup.steps) + 1)}


def test_every_proof_of_a_demo_has_a_place_in_its_file_were_it_to_fail(proved: Proved) -> None:
    for setup in proved.setups:
        for proof in setup.proofs:
            found = job_place(proved.job_file, setup, proof)
            assert found.place.line
            if proof.line:
                assert found.setup == setup.name
            for language in languages():
                told = words(language).say(in_words(found))
                assert str(found.place.line) in told
                assert "{" not in told.replace("{count", "")


def test_a_proof_about_one_thing_that_nothing_cut_has_the_place_of_that(proved: Proved) -> None:
    lines = proved.job_file.path.read_text("utf-8").splitlines()
    setup = proved.setups[0]
    named = [one for one in features_of_job(proved.job_file.job) if one.group]
    for one in named:
        floor = Message("floor of {name}", name=one.name)
        for proof in (failing(setup.name, of=one.name),
                      failing(setup.name, where=in_plan(1, 2, one.name)),
                      failing(setup.name, where=in_plan(1, 2, floor))):
            found = job_place(proved.job_file, setup, proof)
            assert found.thing == one.group
            name = one.at[-1] if one.at[-1] in lines[found.place.line - 1] else one.at[2]
            assert name in lines[found.place.line - 1]


@pytest.mark.parametrize("wish", sampled([Wish(air=30.0), Wish(setup="blanks", from_step=2)], 2))
def test_of_a_program_that_begins_within_its_setup_the_same_step_is_named(wish: Wish) -> None:
    proved = proved_demo("third-wheel", wish)
    for setup in proved.setups:
        for evidence in setup.evidences:
            line = int(evidence.motion.line[-1])
            found = job_place(proved.job_file, setup,
                              failing(setup.name, evidence.programs[-1].name, line))
            assert found.setup == setup.name.split("-")[0]
            assert found.number == len(next(
                one for one in proved.job_file.job.setups if one.name == found.setup).steps)


@pytest.mark.parametrize(("language", "said"), sampled([
    ("en", "step 2 (drill)"), ("de", "Arbeitsgang 2 (drill)"), ("fr", "opération 2 (drill)")], 3))
def test_the_command_prints_it_beside_each_proof_that_fails(
    language: str, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = shipped_folder("jobs") / "third-wheel.yaml"
    whole = proved_job(job, Wish(language=language))
    setup = whole.setups[0]
    section = next(one for one in setup.planned.moves.sections if one.step == 1)
    piece = int((setup.evidence.motion.cutter == section.cutter_number).nonzero()[0][-1])
    bad = failing(setup.name, setup.read[0].name, int(setup.evidence.motion.line[piece]))
    spoiled = replace(whole, setups=(replace(setup, proofs=(*setup.proofs, bad)),
                                     *whole.setups[1:]))
    monkeypatch.setattr("camgen.commands.make.proved_job", lambda *_: spoiled)
    answer = CliRunner().invoke(check, [str(job)])
    assert answer.exit_code == 3
    lines = answer.output.splitlines()
    (at,) = [n for n, line in enumerate(lines) if "any: 2 mm, limit 1" in line]
    assert said in lines[at + 1]
    assert str(Path("third-wheel.yaml")) in lines[at + 1]
