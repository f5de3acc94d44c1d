"""Whether a job makes all that it says, and in an order that can be.

A feature that no step makes would be missing on the finished piece with nothing said. So each has
a step that makes it, or stands under ``made-elsewhere``. Blanks that only go on the dividing head
come to it turned and bored: such a job needs no word for that.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from camgen.faults import Fault
from camgen.job.file import JobFile
from camgen.job.made_holes import HOLE_STEPS, hole_faults
from camgen.job.models import Job, Setup, StepWords

__all__ = ["making_faults", "order_remarks", "stack_remarks"]


def making_faults(job_file: JobFile) -> list[Fault]:
    """Features that no step makes, and setups in an order in which they cannot be done."""
    job = job_file.job
    if job.plate is not None:
        return list(_plate(job_file))
    if job.wheel is None and job.pinion is None:
        return []
    return [*_toothed(job_file), *_setups_in_order(job_file)]


def _steps(setups: Iterable[Setup], *kinds: str) -> list[StepWords]:
    return [step for setup in setups for step in setup.steps if step.kind in kinds]


def _unmade(job_file: JobFile, what: str, word: str, step: str, *at: str) -> Fault:
    remedy = f"Add the step - {step}: {{cutter: …}}"
    return Fault(f"no step makes {what}",
                 f"{remedy}, or say made-elsewhere: [{word}] where another job or hand does.",
                 job_file.place(*at, key=True))


def _toothed(job_file: JobFile) -> Iterator[Fault]:
    job = job_file.job
    part = "wheel" if job.wheel is not None else "pinion"
    elsewhere = set(job.made_elsewhere)
    flat = [setup for setup in job.setups if setup.stock is not None]
    if "teeth" not in elsewhere and not _steps(job.setups, "cut-teeth"):
        word = "teeth" if part == "wheel" else "leaves"
        yield _unmade(job_file, f"the {word}", "teeth", "cut-teeth", part, word)
    if not flat:
        return
    yield from hole_faults(job_file)
    if ("crossing" not in elsewhere and job.wheel is not None and job.wheel.crossing is not None
            and not _steps(flat, "cross-out")):
        yield _unmade(job_file, "the crossing", "crossing", "cross-out", "wheel", "crossing")
    # A single disc may be turned to size before it comes here; a sheet is not.
    whole = any(setup.stock is not None and (setup.stock.rectangle or setup.repeat)
                for setup in flat)
    if "outline" not in elsewhere and whole and not _steps(flat, "outline"):
        yield _unmade(job_file, "the blank's outline", "outline", "outline", part)


def _plate(job_file: JobFile) -> Iterator[Fault]:
    job = job_file.job
    plate = job.plate
    assert plate is not None
    elsewhere = set(job.made_elsewhere)
    yield from hole_faults(job_file)
    for feature, single, named, words, kinds in (
        ("openings", "opening", plate.openings, "openings", ("cut-out",)),
        ("pockets", "pocket", plate.pockets, "pockets", ("pocket",)),
        ("slots", "slot", [n for n, one in plate.slots.items() if one.depth is None],
         "openings", ("cut-out",)),
        ("slots", "slot", [n for n, one in plate.slots.items() if one.depth is not None],
         "pockets", ("pocket",)),
    ):
        if feature in elsewhere or not named:
            continue
        asked: list[tuple[str, ...] | None] = [
            getattr(step, words, None) for step in _steps(job.setups, *kinds)]
        if None in asked:
            continue
        made = {name for names in asked for name in names or ()}
        for name in named:
            # One of several from a drawing may be named with its number.
            if not any(one == name or one.startswith(f"{name}-") for one in made):
                yield _unmade(job_file, f"the {single} {name}", feature, kinds[0],
                              "plate", feature, name)
    if "outline" not in elsewhere and not _steps(job.setups, "outline"):
        yield _unmade(job_file, "the plate's outline", "outline", "outline", "plate", "outline")


def _setups_in_order(job_file: JobFile) -> Iterator[Fault]:
    """Teeth cut before the blank is there, or before the bore that the arbor goes through."""
    job = job_file.job
    for number, setup in enumerate(job.setups):
        if setup.dividing is None:
            continue
        before, after = job.setups[:number], job.setups[number + 1:]
        what = ""
        if _steps(after, "outline"):
            what = "is cut out"
        elif (setup.dividing.stack > 1 and "bore" not in job.made_elsewhere
                and _steps(after, *HOLE_STEPS) and not _steps(before, *HOLE_STEPS)):
            what = "is bored"
        if what:
            late = next(other for other in after
                        if _steps([other], "outline", *HOLE_STEPS))
            yield Fault(f"setup {setup.name} cuts the teeth before setup {late.name}, in which "
                        f"the blank {what}", f"Put {late.name} first.",
                        job_file.place("setups", number, "name"))


def order_remarks(setup: Setup) -> tuple[str, ...]:
    """What comes after the piece was set free but for its tabs, a skin or what holds it below.

    An outline that leaves the piece loose is refused where the step is planned.
    """
    kinds = [step.kind for step in setup.steps]
    if "outline" not in kinds:
        return ()
    rest = [kind for kind in kinds[kinds.index("outline") + 1:] if kind != "outline"]
    if not rest:
        return ()
    outline = setup.steps[kinds.index("outline")]
    by = ("its tabs" if getattr(outline, "tabs", None) is not None else
          "a skin" if getattr(outline, "kept_skin", None) is not None else "what it lies on")
    return (f"outline comes before {rest[0].replace('-', ' ')}: from then on only {by} holds the "
            "piece; outline is best last",)


def stack_remarks(job: Job) -> tuple[str, ...]:
    """Stacks of more blanks than there are pieces asked for."""
    return tuple(
        f"stack of {setup.dividing.stack}, but {_pieces(job.quantity)} asked for"
        for setup in job.setups
        if setup.dividing is not None and setup.dividing.stack > job.quantity
    )


def _pieces(quantity: int) -> str:
    """
    >>> _pieces(1), _pieces(3)
    ('1 piece is', '3 pieces are')
    """
    return "1 piece is" if quantity == 1 else f"{quantity} pieces are"
