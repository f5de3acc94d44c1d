"""Whether a job is proven, and what has changed since it was."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any, Literal

from camgen import __version__
from camgen.faults import parted
from camgen.library.fingerprint import fingerprint, model_as_meant
from camgen.library.job_fingerprints import JobFingerprints
from camgen.messages import Message
from camgen.shop.machine import Machine
from camgen.shop.materials import Material
from camgen.values import dataclass

if TYPE_CHECKING:
    from camgen.library.record import Run

__all__ = [
    "CHANGED",
    "Standing",
    "State",
    "last_good",
    "machine_values",
    "prints",
    "standing_of_job",
    "table_values",
    "with_corrections",
]

State = Literal["proven", "uncorrected", "changed", "failed", "never run"]

CHANGED = {
    "job": Message("the job file"),
    "tables": Message("a value of the material table"),
    "machine": Message("the machine file"),
    "writer": Message("the version of the program's writer"),
}


@dataclass(frozen=True, slots=True)
class Standing:
    """A job's state and, when it changed since it was proven, what of it did.

    ``corrected`` is what was corrected in that run and is not in the job, in words.
    """

    state: State
    changed: tuple[str, ...] = ()
    corrected: tuple[Message, ...] = ()

    def __str__(self) -> str:
        return str(self.told)

    @property
    def only_job_changed(self) -> bool:
        """Whether nothing but the job file has changed since it was proven."""
        return self.changed == (CHANGED["job"],)

    @property
    def told(self) -> Message:
        """The state in words."""
        if self.state == "uncorrected":
            return Message("proven, but the last good run was corrected at the machine and the job "
                           "is not: {things}", things=parted(self.corrected))
        if self.state == "changed":
            return Message("proven, but changed since: {things}", things=self.changed)
        return {"proven": Message("proven and unchanged"),
                "failed": Message("run, no piece came right"),
                "never run": Message("never run")}[self.state]


def table_values(material: Material) -> dict[str, Any]:
    """The values of a material that planning uses, with no word of sources or cautions."""
    silent = ("title", "cautions", "own")
    found: dict[str, Any] = {}
    for item in fields(material):
        value = getattr(material, item.name)
        if item.name in silent or value is None:
            continue
        if isinstance(value, str | int | float):
            found[item.name] = value
        elif hasattr(value, "value"):
            found[item.name] = value.value
        else:
            found[item.name] = {key: getattr(one, "value", one) for key, one in value.items()}
    return found


def machine_values(machine: Machine) -> dict[str, Any]:
    """What a machine file means, less the sentence that describes it.

    Which words the control does not know writes nothing: whoever says it keeps what was proven.
    """
    meant = model_as_meant(machine, ("describes",))
    program = {word: value for word, value in meant.pop("program", {}).items()
               if word != "unknown-words"}
    return {**meant, "program": program} if program else meant


def prints(job_print: str, machine: Machine, material: Material) -> JobFingerprints:
    """Fingerprints of a job as it would be made now."""
    return JobFingerprints(
        job=job_print,
        tables=fingerprint(table_values(material)),
        machine=fingerprint(machine_values(machine)),
        writer=__version__,
    )


def last_good(runs: tuple[Run, ...]) -> Run | None:
    """The last run that made a good piece, or None."""
    good = [run for run in runs if run.pieces.made > run.pieces.scrapped]
    return good[-1] if good else None


def with_corrections(state: Standing, corrected: tuple[Message, ...]) -> Standing:
    """A standing of a job whose last good run was ``corrected``, which the job does not say."""
    if not corrected or state.state not in ("proven", "changed"):
        return state
    return Standing("uncorrected", state.changed, corrected)


def standing_of_job(now: JobFingerprints, runs: int, proven: JobFingerprints | None) -> Standing:
    """The state of a job with ``runs`` runs, of which the last good one had ``proven``.

    >>> was = JobFingerprints(job="a", tables="b", machine="c", writer="1")
    >>> str(standing_of_job(was.model_copy(update={"machine": "d"}), 2, was))
    'proven, but changed since: the machine file'
    """
    if runs == 0:
        return Standing("never run")
    if proven is None:
        return Standing("failed")
    changed = tuple(
        said for word, said in CHANGED.items() if getattr(now, word) != getattr(proven, word)
    )
    return Standing("changed", changed) if changed else Standing("proven")
