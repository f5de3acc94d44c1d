"""Which way the spindle must lie for an arrangement of the head, against what the machine says."""

from __future__ import annotations

import re

import pytest
from message_templates import left_in_english
from workshop import DRIVEN, TEETH, WHEEL, read

from camgen.job.checks.whole_job import job_faults
from camgen.plan import plan_job
from camgen.shop.machine import Arrangement, DrivenHead, Machine
from camgen.words import words

ACROSS = {"Z": ("-X", "+Y"), "X": ("+Y", "-Z"), "Y": ("-Z", "+X")}
MADE = WHEEL.replace("job: third wheel",
                     "job: third wheel\nmade-elsewhere: [bore, outline, crossing]")


def text(across: str | None) -> str:
    job = MADE + TEETH % ("touch", "")
    if across is None:
        return job
    along, infeed = ACROSS[across]
    said = f"arrangement: {{along: {along}, infeed: {infeed}, across: {across}}}, zero:"
    return job.replace("zero:", said)


def machine(lies: str | None, across: str = "Z") -> Machine:
    along, infeed = ACROSS[across]
    head = DrivenHead(arrangement=Arrangement(
        along=along, infeed=infeed, across=across))  # type: ignore[arg-type]
    spindle = DRIVEN.spindle.model_copy(update={"lies": lies})
    return DRIVEN.model_copy(update={"dividing": head, "spindle": spindle})


def lying(across: str | None, one: Machine) -> list[str]:
    found = job_faults(read(text(across)), one)
    return [f"{fault.message} | {fault.remedy}" for fault in found if "must lie" in fault.message]


@pytest.mark.parametrize("across", ACROSS)
@pytest.mark.parametrize("lies", [None, *ACROSS])
@pytest.mark.parametrize("said", ["by the job", "by the machine file"])
def test_an_arrangement_that_needs_another_spindle_is_refused_by_both_words(
    across: str, lies: str | None, said: str
) -> None:
    by_job = said == "by the job"
    found = lying(across if by_job else None, machine(lies, "Z" if by_job else across))
    assert bool(found) == (lies is not None and lies != across)
    for one in found:
        assert f"across: {across}" in one
        assert f"lies: {lies}" in one


@pytest.mark.parametrize("across", ACROSS)
@pytest.mark.parametrize("lies", [None, "same"])
def test_where_the_machine_is_silent_the_way_is_told(across: str, lies: str | None) -> None:
    """ISO 841 has Z along the spindle: with the head across Z there is nothing to look at."""
    one = machine(across if lies else None, across)
    (setup,) = plan_job(read(text(None)), one).setups
    told = [remark for remark in setup.remarks if "must lie along" in remark]
    assert len(told) == (lies is None and across != "Z")
    for remark in told:
        assert re.search(rf"along {across}, not along Z", remark)
        assert all(not left_in_english(words(language), remark) for language in ("de", "fr"))
