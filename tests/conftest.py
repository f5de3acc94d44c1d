"""How the tests are run: without a window, and property tests alike every time.

The same examples every time: a run that must be green may not depend on luck. To look further, set
``HYPOTHESIS_PROFILE=search``; what is found then becomes an example of its test.
"""

from __future__ import annotations

import os
import sys

from hypothesis import settings
from sampling import few

settings.register_profile("same", derandomize=True, deadline=None, print_blob=False,
                          max_examples=few(100))
settings.register_profile("search", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))

# Run side by side, tests are told how wide the window is in which they were started; answers are
# looked at as they are without one.
os.environ.pop("COLUMNS", None)

# What is compiled once serves every program that a test starts.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False
