"""Metal in and metal out of a stock with parts of several jobs, by weight, from their geometry."""

from __future__ import annotations

import shapely

from camgen.cutting.metal import MetalAccount, grams, metal_account
from camgen.job.models import Metal
from camgen.make.chain import Proved
from camgen.make.one_stock.as_job import kinds_as_jobs
from camgen.make.one_stock.chain import ProvedStock
from camgen.make.told.account import cut_free, part_volume
from camgen.values import dataclass

__all__ = ["PieceWeighed", "StockWeighed", "stock_account"]


@dataclass(frozen=True)
class PieceWeighed:
    """Pieces of one kind: how many, and what one of them weighs, g."""

    name: str
    pieces: int
    grams: float


@dataclass(frozen=True)
class StockWeighed:
    """The account of all together, and of each kind."""

    account: MetalAccount
    kinds: tuple[PieceWeighed, ...]


def stock_account(stock: ProvedStock) -> StockWeighed:
    """What the stock weighs, what each part, and what of it is chips and what stays whole: the
    frame and the slugs of openings that are cut along their edge."""
    parts = [one for one, kind in zip(kinds_as_jobs(stock), stock.stock_file.kinds, strict=True)
             if kind in stock.stock_file.parts]
    frame = stock.parts[0].layout
    height = frame.top - frame.bottom
    volumes = [_volume(one) for one in parts]
    counts = [len(one.flat[0].layout.places) for one in parts]
    cut = [cut_free(one.job_file.job, [each.planned.setup for each in one.setups],
                    one.flat[0].layout) for one in parts]
    whole = frame.stock.difference(shapely.union_all([region for region, _ in cut]))
    left = float(whole.area) + sum(slugs for _, slugs in cut)
    metal = stock.stock_file.words.metal or parts[0].job_file.job.metal or Metal()
    pieces = sum(counts)
    account = metal_account(
        stock.material, stock_volume=frame.stock.area * height,
        part_volume=sum(volume * count for volume, count in zip(volumes, counts, strict=True))
        / pieces, pieces=pieces, offcut_volume=left * (height - frame.over),
        recoverable=metal.recoverable, price=metal.price)
    density = stock.material.density.value
    return StockWeighed(account, tuple(
        PieceWeighed(kind.name, count, grams(volume, density))
        for kind, count, volume in zip(stock.stock_file.parts, counts, volumes, strict=True)))


def _volume(part: Proved) -> float:
    """Volume of one finished piece, mm³."""
    return part_volume(None, part.flat[0].layout.part, 0.0, part.job_file.job.part.height)
