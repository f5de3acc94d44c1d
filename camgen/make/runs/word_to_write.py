"""An answer to sizes as measured: what is told, and the words to write in the job."""

from __future__ import annotations

from camgen.faults import Fault, Refused
from camgen.job.models import Job
from camgen.job.reading import JobFile
from camgen.messages import Message
from camgen.plainfile import plain_text
from camgen.values import dataclass
from camgen.yamlfile.length_units import MM_PER_INCH
from camgen.yamlfile.written import with_number

__all__ = ["Answer", "WordToWrite", "as_said", "in_file_units", "job_with", "where"]


def in_file_units(job: Job, value: float) -> float:
    """A length of mm as the job file has it."""
    return round(value / MM_PER_INCH, 6) if job.units == "inch" else round(value, 4)


def as_said(job: Job, value: float) -> str:
    """A length of mm as it is told, in the units of the job.

    To a micrometre, or a hundred thousandth of an inch, which is named: the dial may be metric.
    """
    return f"{value / MM_PER_INCH:.5f} in" if job.units == "inch" else f"{value:.3f}"


def where(setup: str, number: int, kind: str) -> Message:
    """A step, as it is found in the job; ``number`` from 0."""
    return Message("{setup}, step {number} {kind}", setup=setup, number=number + 1, kind=kind)


@dataclass(frozen=True)
class WordToWrite:
    """A word of a step with the number to write, ``now`` and then, mm; ``number`` from 0.

    ``far``: it takes ``far: true`` beside it. ``supposed``: it is right only if the cutter is.
    """

    setup: str
    number: int
    kind: str
    word: str
    now: float
    value: float
    far: bool = False
    supposed: bool = False

    def told(self, job: Job) -> Message:
        """The word as it is written, and what stands there now."""
        value, now = (f"{in_file_units(job, one):g}" for one in (self.value, self.now))
        said = (Message("{word}: {value} (inches; now {now} in)", word=self.word, value=value,
                        now=now) if job.units == "inch" else
                Message("{word}: {value} (now {now})", word=self.word, value=value, now=now))
        return Message("{said}, and far: true beside it", said=said) if self.far else said


@dataclass(frozen=True)
class Answer:
    """What sizes as measured ask for."""

    told: tuple[Message, ...]
    words: tuple[WordToWrite, ...] = ()


def job_with(job_file: JobFile, words: tuple[WordToWrite, ...]) -> bytes:
    """The job file's text with these words in it, its comments and layout kept.

    Raises Refused where one of them cannot be written there; then none is.
    """
    text, faults = plain_text(job_file.path), []
    for word in words:
        setup = next(n for n, one in enumerate(job_file.job.setups) if one.name == word.setup)
        path = ("setups", setup, "steps", word.number, word.kind)
        document = job_file.document
        number = in_file_units(job_file.job, word.value)
        elsewhere = document.file_of(path)
        if word.far:
            faults.append(Fault(
                Message("{word}: {number:g} takes far: true beside it", word=word.word,
                        number=number),
                Message("look for the cause first, then write both by hand"),
                document.place(path)))
        elif word.supposed:
            faults.append(Fault(
                Message("{word}: {number:g} is right only if the cutter is, and nothing measured "
                        "tells it", word=word.word, number=number),
                Message("measure the root too, or write the word by hand"),
                document.place(path)))
        elif path not in document.values or elsewhere != document.file:
            faults.append(Fault(
                Message("the step stands in {file}, and other jobs may be based on it",
                        file=elsewhere),
                Message("write {word}: {number:g} there, or take the step over into this job",
                        word=word.word, number=number), document.place(path)))
        else:
            try:
                text = with_number(text, str(job_file.path), document.values[path], word.word,
                                   number)
            except Refused as no:
                faults += no.faults
    if faults:
        raise Refused(faults)
    return text.encode("utf-8")
