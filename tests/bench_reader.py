"""How fast programs are read. Run it: ``python tests/bench_reader.py``.

Prints blocks a second for programs of several sizes, the memory at its peak, and
the same 100 000 blocks through the independent parsers of the registry.
"""

from __future__ import annotations

import random
import time
import tracemalloc
import warnings
from collections.abc import Callable

from reader_machines import PLAIN
from reader_texts import HEAD, TAIL, plain_line

from camgen.reader import read_program


def program(blocks: int) -> str:
    """Lines and arcs, about as many blocks as asked for."""
    dice = random.Random(7)
    place = [0.0, 0.0, -0.2]
    text = list(HEAD)
    while len(text) < blocks:
        text.extend(plain_line(dice, place).upper().split("\n"))
    return "\n".join((*text[:blocks], "G1", *TAIL)) + "\n"


def best(task: Callable[[], object], times: int = 3) -> float:
    """Least processor seconds of several runs."""
    least = float("inf")
    for _ in range(times):
        begun = time.process_time()
        task()
        least = min(least, time.process_time() - begun)
    return least


def main() -> None:
    """Measure and print."""
    for blocks in (1_000, 10_000, 100_000, 1_000_000):
        text = program(blocks)
        seconds = best(lambda text=text: read_program(text, PLAIN), 5 if blocks < 10**6 else 1)
        print(f"{blocks:>9} blocks  {seconds * 1e3:9.1f} ms  {blocks / seconds:9.0f} blocks/s")
    for blocks in (100_000, 1_000_000):
        text = program(blocks)
        tracemalloc.start()
        read_program(text, PLAIN)
        _, peak = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        print(f"{blocks:>9} blocks  {peak / 1e6:9.1f} MB at most, {peak / blocks:.0f} a block")
    text = program(100_000)
    ours = best(lambda: read_program(text, PLAIN))
    one_by_one = best(lambda: read_program(text, PLAIN, fast=False), 1)
    print(f"one by one: {one_by_one:.2f} s, {one_by_one / ours:.1f} times as long")
    import gcodeparser
    import pygcode

    # One of the parsers reads no number that ends with its point.
    theirs = text.replace(". ", ".0 ").replace(".\n", ".0\n").replace("%\n", "")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        seconds = best(lambda: gcodeparser.GcodeParser(theirs), 1)
    print(f"gcodeparser: {seconds:.2f} s, {seconds / ours:.1f} times as long")
    tenth = theirs.split("\n")[: 10_000]

    def pygcode_lines() -> None:
        for line in tenth:
            pygcode.Line(line)

    seconds = 10 * best(pygcode_lines, 1)
    print(f"pygcode, ten times the time of a tenth: {seconds:.2f} s, {seconds / ours:.1f} times")


if __name__ == "__main__":
    main()
