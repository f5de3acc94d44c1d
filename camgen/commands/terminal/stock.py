"""``camgen make``, ``check`` and ``preview`` of parts of several jobs on one stock."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from camgen.commands.terminal.progress import doing
from camgen.commands.terminal.proofs import proof_words
from camgen.commands.terminal.screen import job_called, speak_as_job, tell, wrong_use
from camgen.commands.terminal.written import draw_failures
from camgen.make.chain import Proved
from camgen.make.variants import Wish
from camgen.messages import Message

if TYPE_CHECKING:
    from camgen.make.files import Output
    from camgen.make.one_stock.chain import ProvedStock

__all__ = ["made_of_stock", "stock_as_job"]


def made_of_stock(
    path: Path, wish: Wish, as_json: bool, *, pictures: bool, failures: Path | None = None
) -> tuple[Proved, Callable[[], Output]]:
    """The whole as one job, as far as it is wished for, and what makes its files.

    If a proof fails it is told where the job of its part has the step, and the exit status is 3.
    """
    # Loaded when asked for: few jobs are such.
    from camgen.make.one_stock.told import output_of_stock

    stock, proved = stock_as_job(path, wish)
    if proved.failed or stock.failed:
        _tell_failed(stock, proved, as_json, failures)
        sys.exit(3)
    return proved, partial(output_of_stock, stock, wish, pictures=pictures)


def stock_as_job(path: Path, wish: Wish) -> tuple[ProvedStock, Proved]:
    """Parts on one stock through the chain, and the whole as one job."""
    from camgen.make.one_stock.as_job import as_one_job
    from camgen.make.one_stock.chain import proved_stock

    if wish.from_space is not None or wish.dry_index:
        raise wrong_use(Message("no teeth are cut on a stock of plates: leave {words} out",
                                words="--from-space" if wish.from_space else "--dry-index"))
    with doing(Message("planning, writing and proving the programs")):
        stock = proved_stock(path, wish.post, wish.language)
        proved = as_one_job(stock, wish)
    speak_as_job(proved.language)
    return stock, proved


def _tell_failed(
    stock: ProvedStock, proved: Proved, as_json: bool, failures: Path | None
) -> None:
    from camgen.make.one_stock.as_job import kinds_as_jobs
    from camgen.make.one_stock.failed import places_of_failed
    from camgen.make.one_stock.metal import stock_account
    from camgen.make.one_stock.told import report_of_stock
    from camgen.make.told.report import times_of

    if as_json:
        click.echo(json.dumps(report_of_stock(stock, proved, times_of(proved),
                                              stock_account(stock)), indent=1))
    failed = stock.failed or proved.failed
    tell(Message("{job}: {failed} of {count} proofs fail; no program was written.",
                 job=job_called(proved.job_file.job.job), failed=len(failed),
                 count=len(proved.proofs)), err=True)
    for proof, place in places_of_failed(stock, failed):
        tell(proof_words(proof), before="  ", err=True)
        if place is not None:
            tell(place, before="    ", err=True)
    if failures is not None:
        whole = [(side.name, proved, side.evidence, side.whole) for side in stock.sides]
        draw_failures(failures, whole + [
            (f"{stock.stem}-{setup.name}", part, setup.evidence, setup.proofs)
            for part in kinds_as_jobs(stock) for setup in part.setups])
