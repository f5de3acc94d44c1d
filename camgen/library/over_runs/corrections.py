"""What was corrected at the machine, against the job: whether it has gone into it. Lengths mm."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from camgen.job.models import Job
from camgen.messages import Message
from camgen.values import dataclass
from camgen.yamlfile.length_units import MM_PER_INCH

if TYPE_CHECKING:
    from camgen.library.record import RecordedCorrection, Run

__all__ = ["OpenCorrection", "corrections_of", "only_corrected", "open_corrections"]

# Corrections are told to a micrometre; nearer than half of it they are the same.
SAME = 0.0005


@dataclass(frozen=True)
class OpenCorrection:
    """A correction made at the machine, by the word of the job that it belongs into.

    ``number`` of the step from 0; ``then`` what the job said on that day, ``now`` what it says,
    ``wanted`` what it would say with the correction.
    """

    setup: str
    number: int
    kind: str
    word: str
    then: float
    now: float
    wanted: float

    @property
    def is_open(self) -> bool:
        """Whether the job says what it said then, without the correction."""
        return abs(self.now - self.then) < SAME <= abs(self.now - self.wanted)

    @property
    def is_taken(self) -> bool:
        """Whether the job has the correction in it."""
        return abs(self.now - self.wanted) < SAME

    def told(self, job: Job) -> Message:
        """What was corrected, and what to write in the units of the job."""
        wanted = round(self.wanted / MM_PER_INCH, 6) if job.units == "inch" else round(
            self.wanted, 4)
        return Message("{setup}, step {number} {kind}: {word} by {by:+.3f} mm; write {word}: "
                       "{wanted:g}", setup=self.setup, number=self.number + 1, kind=self.kind,
                       word=self.word, by=self.wanted - self.then, wanted=wanted)


def corrections_of(
    job: Job, recorded: tuple[RecordedCorrection, ...], as_run: Mapping[str, Any] | None,
) -> tuple[OpenCorrection, ...]:
    """The recorded corrections that belong into a word of the job, one for each word.

    ``as_run`` is the job as meant on that day, None for the job as it is. What belongs into no
    word, such as a feed or a zero, is left out, and so is what is not clear.
    """
    found: dict[tuple[str, int, str], OpenCorrection] = {}
    for one in recorded:
        by = one.by * (MM_PER_INCH if one.unit == "inch" else 1.0)
        able = [(setup.name, number, step.kind, word.word, word.value)
                for setup in job.setups if one.setup in ("", setup.name)
                for number, step in enumerate(setup.steps)
                for word in step.declares().corrections if one.what in (word.word, word.added)]
        names = {setup for setup, *_ in able}
        if one.unit not in ("mm", "inch") or len(names) != 1:
            continue
        if len(able) > 1 and any(words[2:4] != able[0][2:4] for words in able):
            continue
        # Of several alike, the last leaves the size.
        setup, number, kind, word, now = able[-1]
        then = now if as_run is None else _then(as_run, setup, number, kind, word)
        if then is None:
            continue
        before = found.get((setup, number, word))
        found[setup, number, word] = OpenCorrection(
            setup, number, kind, word, then, now,
            (before.wanted if before is not None else then) + by)
    return tuple(found.values())


def open_corrections(job: Job, run: Run, *, unchanged: bool) -> tuple[OpenCorrection, ...]:
    """What was corrected in a run, and the job still says what it said then.

    ``unchanged``: the job is known to be the same as then; older records do not keep what it was.
    """
    meant = run.as_run.get("job") if run.as_run else None
    if not isinstance(meant, Mapping) and not unchanged:
        return ()
    found = corrections_of(job, run.corrections, meant if isinstance(meant, Mapping) else None)
    return tuple(one for one in found if one.is_open)


def only_corrected(job: Job, run: Run, meant: Mapping[str, Any]) -> tuple[OpenCorrection, ...]:
    """The corrections of a run, where they are all that has changed in the job since; else none.

    ``meant`` is the job as it is meant now.
    """
    was = run.as_run.get("job") if run.as_run else None
    if not isinstance(was, Mapping):
        return ()
    taken = tuple(one for one in corrections_of(job, run.corrections, was) if one.is_taken)
    if not taken or _without(was, taken) != _without(meant, taken):
        return ()
    return taken


def _step(meant: Mapping[str, Any], setup: str, number: int, kind: str) -> dict[str, Any] | None:
    """The words of a step in a job as meant; None where there is no such step."""
    for one in meant.get("setups", ()):
        if one.get("name") == setup:
            steps = one.get("steps", ())
            words = steps[number].get(kind) if number < len(steps) else None
            return words if isinstance(words, dict) else None
    return None


def _then(meant: Mapping[str, Any], setup: str, number: int, kind: str, word: str) -> float | None:
    words = _step(meant, setup, number, kind)
    if words is None:
        return None
    value = words.get(word, 0.0)
    return float(value) if isinstance(value, int | float) else None


def _without(meant: Mapping[str, Any], taken: tuple[OpenCorrection, ...]) -> dict[str, Any]:
    rest: dict[str, Any] = _listed(meant)
    for one in taken:
        words = _step(rest, one.setup, one.number, one.kind)
        if words is not None:
            words.pop(one.word, None)
    return rest


def _listed(value: Any) -> Any:
    """A copy with lists for tuples: files and models do not agree on which they give."""
    if isinstance(value, Mapping):
        return {key: _listed(item) for key, item in value.items()}
    return [_listed(item) for item in value] if isinstance(value, list | tuple) else value
