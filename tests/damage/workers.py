"""Very many inputs soon: few processes, each within bounds, taking one input after another.

A worker tells in shared memory which input it is at and since when. One that is at the same input
for too long is ended, and another goes on after it; the same where memory runs out.
"""

from __future__ import annotations

import contextlib
import mmap
import os
import random
import resource
import shutil
import signal
import struct
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from camgen.faults import Refused
from camgen.signs import UNSEEN, shown
from camgen.values import dataclass
from damage.kinds import KINDS

__all__ = ["LONGEST", "MOST_MEMORY", "Found", "answers", "try_one"]

LONGEST = 20.0
"""So many seconds of a processor's time, and no longer, is an input looked at."""
# By the clock, where a processor is shared, or where nothing is reckoned and all is waited for.
_LONGEST_WAIT = 900.0
MOST_MEMORY = 1_000_000_000
"""Bytes a process may come to hold above what it has before its first input."""
_AT = struct.Struct("qd")


@dataclass(frozen=True, slots=True)
class Found:
    """What came of the inputs of one kind: how many of each answer, and each fault in words."""

    kind: str
    answers: Counter[str]
    faults: tuple[str, ...]
    seconds: float


class TooLong(BaseException):
    """Raised in an input that is not over; no net for faults catches it."""


def _too_long(number: int, frame: object) -> None:
    raise TooLong


def try_one(kind: str, seed: int, folder: Path) -> tuple[str, str]:
    """The answer to one input, and what is at fault, empty where nothing is."""
    try:
        return KINDS[kind](random.Random(seed), folder), ""
    except Refused as no:
        said = [f"{fault}" for fault in no.faults]
        if not said or not all(fault.message.strip() for fault in no.faults):
            return "refused", "refused without a word"
        if any(UNSEEN.search(shown(one)) for one in said):
            return "refused", "signs that are not seen"
        if any(len(fault.message) > 3000 for fault in no.faults):
            return "refused", f"a fault of {max(map(len, said))} characters"
        return "refused", ""
    except TooLong:
        return "without end", f"not over after {LONGEST:.0f} s\n" + traceback.format_exc(limit=-6)
    except MemoryError:
        return "fault", "memory beyond its bound"
    except Exception:  # whatever it is: that is what is looked for
        return "fault", traceback.format_exc(limit=-6)


def _worker(kind: str, seeds: range, at: mmap.mmap, out: int, bounded: bool) -> None:
    """Try the inputs in turn; every answer is one line on ``out``."""
    folder = Path(tempfile.mkdtemp(prefix="damaged-"))
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    signal.signal(signal.SIGPROF, _too_long)
    held = _held()
    if bounded:
        bound = held + MOST_MEMORY
        resource.setrlimit(resource.RLIMIT_DATA, (bound + 500_000_000, bound + 500_000_000))
    with os.fdopen(out, "w") as lines:
        for seed in seeds:
            at[:_AT.size] = _AT.pack(seed, time.monotonic())
            signal.setitimer(signal.ITIMER_PROF, LONGEST)
            answer, fault = try_one(kind, seed, folder)
            signal.setitimer(signal.ITIMER_PROF, 0)
            most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
            if not fault and most > held + MOST_MEMORY:
                fault = f"{most / 1e9:.1f} GB held"
            lines.write(f"{seed}\t{answer}\t{fault!r}\n")
            lines.flush()
            if most > held + MOST_MEMORY:
                break
    shutil.rmtree(folder, ignore_errors=True)


def _held() -> int:
    with open("/proc/self/statm", encoding="ascii") as file:
        return int(file.read().split()[1]) * resource.getpagesize()


@contextlib.contextmanager
def _started(kind: str, seeds: range, at: mmap.mmap) -> Iterator[tuple[int, int]]:
    """A worker's number and the end of its pipe; ended whatever happens."""
    into, out = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(into)
            _worker(kind, seeds, at, out, True)
        finally:
            os._exit(0)
    os.close(out)
    try:
        yield child, into
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(into)


def answers(kind: str, first: int, count: int, until: float = float("inf")) -> Found:
    """Try ``count`` inputs of a kind from the seed ``first``, or as many as are tried by ``until``.

    ``until`` is on the clock of ``time.monotonic``.
    """
    begun = time.monotonic()
    counted: Counter[str] = Counter()
    faults: list[str] = []
    at = mmap.mmap(-1, _AT.size)
    done, last = first, first + count
    # What is prepared once is prepared before the first fork.
    with contextlib.suppress(Refused):
        for seed in range(3):
            try_one(kind, seed, Path(tempfile.gettempdir()))
    while done < last and time.monotonic() < until:
        at[:_AT.size] = _AT.pack(done, time.monotonic())
        with _started(kind, range(done, last), at) as (_, into):
            os.set_blocking(into, False)
            rest = b""
            ended = False
            while not ended:
                time.sleep(0.02)
                new = b""
                with contextlib.suppress(BlockingIOError):
                    new = os.read(into, 1 << 20)
                    ended = not new
                *lines, rest = (rest + new).split(b"\n")
                for line in lines:
                    seed, answer, fault = line.decode("utf-8", "replace").split("\t", 2)
                    counted[answer] += 1
                    done = int(seed) + 1
                    if fault != "''":
                        faults.append(f"{kind} {seed}: {fault}")
                now, since = _AT.unpack(at[:_AT.size])
                if not ended and time.monotonic() - since > _LONGEST_WAIT:
                    counted["without end"] += 1
                    faults.append(f"{kind} {now}: not over after {_LONGEST_WAIT:.0f} s waited")
                    done, ended = now + 1, True
                elif time.monotonic() > until:
                    ended = True
            else:
                now, _ = _AT.unpack(at[:_AT.size])
                if done <= now < last and time.monotonic() < until and (
                        not faults or f"{kind} {now}:" not in faults[-1]):
                    counted["ended"] += 1
                    faults.append(f"{kind} {now}: its process came to an end")
                    done = now + 1
    return Found(kind, counted, tuple(faults), time.monotonic() - begun)
