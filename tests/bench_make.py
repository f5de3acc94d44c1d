"""How long the main job takes: ``python tests/bench_make.py``.

Told are the processor seconds of ``camgen make`` on the third wheel without pictures, those that
Python takes to import the libraries alone, and their ratio (wanted: 2.5 at most); then the chain
itself for wheels of 75 to 300 teeth (wanted: no more than in proportion).
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from camgen.make.chain import proved_job
from camgen.shipped import shipped_folder

THIRD = shipped_folder("jobs") / "third-wheel.yaml"
# The model library loads what is asked of it only: asked for is what every model needs.
LIBRARIES = ("import numpy, shapely, yaml, click, pydantic; "
             "from pydantic import BaseModel, ConfigDict, Field")
COMMAND = "from camgen.cli import main; main()"
TIMES = 9


def seconds(*words: str) -> float:
    """Processor seconds of one run of Python."""
    # Bytecode is kept, as it is after an ordinary installation.
    kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    before = os.times()
    subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL, env=kept)
    after = os.times()
    return (after.children_user - before.children_user
            + after.children_system - before.children_system)


def whole_command() -> None:
    """The command against its libraries."""
    with tempfile.TemporaryDirectory() as folder:
        make = ("-c", COMMAND, "make", str(THIRD), "--no-pictures", "--out", folder)
        seconds(*make)
        pairs = [(seconds("-c", LIBRARIES), seconds(*make)) for _ in range(TIMES)]
    bare, made = (sorted(column)[TIMES // 2] for column in zip(*pairs, strict=True))
    print(f"libraries alone {bare:.2f} s, make {made:.2f} s, ratio {made / bare:.2f} "
          f"(middle of {TIMES}; least {min(p[0] for p in pairs):.2f} and "
          f"{min(p[1] for p in pairs):.2f} s)")


def by_teeth() -> None:
    """The teeth's setup alone, for growing wheels of the same module."""
    text = THIRD.read_text(encoding="utf-8")
    head, setups = text.split("setups:")
    setups = "setups:\n  - name: teeth" + setups.split("- name: teeth")[1]
    with tempfile.TemporaryDirectory() as folder:
        for teeth in (75, 150, 300):
            job = Path(folder) / f"wheel-{teeth}.yaml"
            job.write_text((head + setups).replace("teeth: 75", f"teeth: {teeth}")
                           .replace("hub: 2.4", "hub: 4"), encoding="utf-8")
            times = []
            for _ in range(5):
                begin = time.process_time()
                proved_job(job)
                times.append(time.process_time() - begin)
            print(f"{teeth} teeth: {min(times) * 1000:.0f} ms")


if __name__ == "__main__":
    whole_command()
    by_teeth()
