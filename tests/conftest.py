"""How the tests are run: without a window, and property tests alike every time.

The same examples every time: a run that must be green may not depend on luck. To look further, set
``HYPOTHESIS_PROFILE=search``; what is found then becomes an example of its test.
"""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Generator
from pathlib import Path

import pytest
from hypothesis import settings
from sampling import Run, few

from camgen.commands.terminal.screen import begin_speaking

settings.register_profile("same", derandomize=True, deadline=None, print_blob=False,
                          max_examples=few(100))
settings.register_profile("search", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))

# Run side by side, tests are told how wide the window is in which they were started; answers are
# looked at as they are without one.
os.environ.pop("COLUMNS", None)

# Answers are English unless a test asks for another language.
os.environ.pop("CAMGEN_LANGUAGE", None)

# What is compiled once serves every program that a test starts.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

# Nothing that is loaded or collected is let go of before the end: no search for lost cycles need go
# through it.
gc.disable()


def pytest_configure(config: pytest.Config) -> None:
    Run.long = "not long" not in config.option.markexpr
    config.pluginmanager.register(WithExamples())


@pytest.hookimpl(trylast=True)
def pytest_collection_finish() -> None:
    gc.freeze()
    gc.set_threshold(50_000, 20, 100)
    gc.enable()


@pytest.fixture(autouse=True)
def speaks_afresh() -> None:
    """A command is run in a process of its own: what one test asked for is forgotten in the next.
    """
    begin_speaking()


class WithExamples:
    """Documented examples are looked for where there are some."""

    @pytest.hookimpl(wrapper=True)
    def pytest_collect_file(
        self, file_path: Path
    ) -> Generator[None, list[pytest.Collector], list[pytest.Collector]]:
        found = yield
        if file_path.suffix != ".py" or ">>> " in file_path.read_text("utf-8"):
            return found
        return [one for one in found if isinstance(one, pytest.Module)]
