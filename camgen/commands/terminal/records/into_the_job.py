"""What was corrected at the machine, written into the job: asked, told, or done."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path

import click

from camgen.commands.terminal.screen import in_spoken
from camgen.faults import Refused
from camgen.job.reading import parse_job
from camgen.library.over_runs.corrections import corrections_of
from camgen.library.record import Run
from camgen.make.causes.corrected_pair import corrected_pair_faults
from camgen.make.chain import Proved
from camgen.make.runs.word_to_write import WordToWrite, job_with
from camgen.messages import Message
from camgen.plan import plan_job
from camgen.steps import step_words
from camgen.values import dataclass

__all__ = ["IntoJob", "asked_into_job", "job_taking"]


@dataclass(frozen=True)
class IntoJob:
    """The words that go into the job with a run, and what is told of those that do not."""

    words: tuple[WordToWrite, ...]
    told: tuple[Message, ...]


def asked_into_job(proved: Proved, run: Run, *, take: bool, asks: bool) -> IntoJob:
    """What of a run's corrections goes into the job: all with ``take``, or as answered where one
    ``asks`` at a terminal. The rest is told with the word to write."""
    job = proved.job_file.job
    found = corrections_of(job, run.corrections, None)
    words = tuple(WordToWrite(one.setup, one.number, one.kind, one.word, one.now, one.wanted)
                  for one in found if not one.is_taken)
    if not words:
        return IntoJob((), (Message("nothing was corrected that a word of the job could say"),)
                       if take else ())
    said = tuple(word.told(job) for word in words)
    if asks and not take and sys.stdin.isatty():
        take = click.confirm(in_spoken(Message("write {words} into the job", words=said)),
                             default=False)
    if take:
        return IntoJob(words, (Message("{file} says so now: {words}", file=proved.job_file.path,
                                       words=said),))
    return IntoJob((), tuple(
        Message("the job does not say so: {correction} (or record with --take)",
                correction=one.told(job)) for one in found if not one.is_taken))


def job_taking(proved: Proved, words: tuple[WordToWrite, ...]) -> Mapping[Path, bytes]:
    """The job file with these words in it, by its path; nothing where there are none.

    Raises Refused where the job would be refused with them, or they cannot be written there.
    """
    if not words:
        return {}
    path = proved.job_file.path
    text = job_with(proved.job_file, words)
    job_file = parse_job(text, path, step_words())
    plan_job(job_file, proved.machine, proved.workshop)
    spoiled = corrected_pair_faults(job_file)
    if spoiled:
        raise Refused(spoiled)
    return {path: text}
