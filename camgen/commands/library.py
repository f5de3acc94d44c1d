"""``camgen library``: the proven jobs of a workshop."""

from __future__ import annotations

import csv
import io
import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from camgen.faults import Fault, Place, Refused
from camgen.library.compare import changes, in_words
from camgen.library.fingerprint import as_meant
from camgen.library.pack import packed, unpack
from camgen.library.record import (
    Prints,
    ProofRecord,
    Run,
    add_run,
    read_record,
    record_path,
)
from camgen.library.shelf import Entry, Wanted, found, shelf
from camgen.library.standing import Standing, last_good, prints, standing
from camgen.library.statistics import (
    ENOUGH,
    SizeHistory,
    capability,
    chart_limits,
    cutter_lives,
    size_histories,
)
from camgen.make.chain import Proved, Wish, proved_job
from camgen.make.proving import drift
from camgen.make.recording import blank_form, filled_run, luggage
from camgen.shop.machines import find_machine
from camgen.shop.materials import find_material
from camgen.steps import step_words
from camgen.writing import write_whole

__all__ = ["library"]

_SORTED = ("file", "job", "teeth", "module", "material", "post", "runs", "last")
