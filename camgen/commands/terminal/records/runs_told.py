"""The runs of a record, told: pieces, corrections, sizes over all runs, what cutters have done."""

from __future__ import annotations

from camgen.commands.terminal.screen import tell
from camgen.faults import parted
from camgen.library.over_runs.measurements import made_with
from camgen.library.over_runs.statistics import (
    ENOUGH,
    CutterLife,
    SizeHistory,
    capability,
    chart_limits,
)
from camgen.library.record import RecordedCorrection, Run
from camgen.messages import Message

__all__ = ["history_words", "life_words", "tell_correction", "tell_run"]

_VERDICTS = {"fine": Message("fine"), "chattered": Message("chattered"), "broke": Message("broke"),
             "worn": Message("worn")}


def tell_run(number: int, run: Run) -> None:
    """One run of a record."""
    text = Message("run {number}, {when}, {machine}: {good} good of {made}", number=number,
                   when=run.when, machine=run.post, good=run.pieces.made - run.pieces.scrapped,
                   made=run.pieces.made)
    tell(Message("{run}, material lot {lot}", run=text, lot=run.material_lot)
         if run.material_lot else text)
    with_ = made_with(run)
    if with_:
        tell(Message("machine as measured: {words}", words=with_), before="  ")
    for fix in run.corrections:
        tell_correction(fix)
    for used in run.cutters:
        if used.verdict:
            came = Message("cutter {cutter}: {verdict}", cutter=used.name,
                           verdict=_VERDICTS[used.verdict])
            tell(Message("{verdict} at {feed:g} mm/min", verdict=came, feed=used.feed)
                 if used.feed else came, before="  ")
    if run.remarks:
        for line in run.remarks.splitlines():
            tell(f"  {line}")


def tell_correction(fix: RecordedCorrection) -> None:
    """What was corrected at the machine, with its unit."""
    what = (Message("{where}: {what}", where=fix.setup, what=fix.what) if fix.setup
            else fix.what)
    tell(Message("corrected {what} by {by:g} {unit}", what=what, by=fix.by, unit=fix.unit),
         before="  ")


def life_words(life: CutterLife) -> Message:
    """What one cutter has done."""
    text = Message("cutter {cutter} ({what}): {spaces} spaces, {minutes:.0f} min in the cut",
                   cutter=life.name, what=life.what, spaces=life.spaces, minutes=life.minutes)
    if not life.lives:
        return text
    return Message("{life}; before: {ended}", life=text, ended=parted(
        Message("{verdict} after {spaces} spaces, {minutes:.0f} min", verdict=_VERDICTS[how],
                spaces=spaces, minutes=minutes) for how, spaces, minutes in life.lives))


def history_words(history: SizeHistory) -> Message:
    """One size over all runs."""
    values = history.values
    text = Message(
        "{size}: should be {nominal:g} {unit}, {count} measured, {least:g} to {most:g}",
        size=history.size, nominal=history.nominal, unit=history.unit, count=len(values),
        least=min(values), most=max(values))
    if history.outside:
        text = Message("{text}, {count} outside its limits", text=text, count=history.outside)
    if len(values) >= 2:
        limits = chart_limits(values)
        text = Message("{text}; run chart {lower:.4f} to {upper:.4f}", text=text,
                       lower=limits.lower, upper=limits.upper)
        if limits.beyond:
            text = Message("{text}, {count} beyond", text=text, count=len(limits.beyond))
    if len(values) >= ENOUGH and (history.lower is not None or history.upper is not None):
        found = capability(values, history.lower, history.upper)
        if found.nearest is not None:
            text = Message("{text}; Ppk {share:.2f}", text=text, share=found.nearest)
    return text
