"""``camgen cutters``: the kinds of cutter, what is taken for each, and the workshop's own."""

from __future__ import annotations

from pathlib import Path

import click

from camgen.commands.terminal.screen import in_spoken, narrowed, tell
from camgen.messages import Message
from camgen.shop.cutters import RECORDS, cutter_text, own_cutters
from camgen.shop.cutters.records import CutterRecord, End, Way
from camgen.shop.tables import block

__all__ = ["cutters"]

_ENDS = {End.SOLID: Message("straight into metal"), End.SIDEWAYS: Message("by a ramp, or beside"),
         End.OPEN: Message("into an open hole")}


@click.command()
def cutters() -> None:
    """Kinds of cutter with what is taken where a job does not say, and the workshop's own.

    Run in a workshop folder, the cutters of its own table are named too.

    Example: camgen cutters
    """
    own = own_cutters(Path.cwd())
    rows = [[in_spoken(one) for one in (
        Message("kind"), Message("what it is"), Message("edges"), Message("stands out"),
        Message("rev/min at most"), Message("goes down"))]]
    rows += [_row(record) for record in RECORDS.values()]
    for line in narrowed(rows, 1, 4, 2):
        click.echo(line)
    tell(Message("What stands out is in diameters, where a job does not say reach."))
    if own:
        tell(Message("\nOf this workshop:"))
        for name, cutter in own.items():
            tell(f"  {name}: {cutter_text(cutter)}", rest="    ")


def _row(record: CutterRecord) -> list[str]:
    usual = block("cutters", record.kind)

    def figure(word: str) -> str:
        return f"{usual[word]['value']:g}" if word in usual else "–"

    return [record.kind, in_spoken(record.name), figure("flutes"), figure("reach"),
            figure("highest-speed"), in_spoken(_goes_down(record))]


def _goes_down(record: CutterRecord) -> Message:
    if record.way is Way.TOUCHING:
        return Message("cuts nothing")
    return Message("comes from beside") if record.on_arbor else _ENDS[record.end]
