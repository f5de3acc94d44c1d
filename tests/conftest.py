"""How the property tests are run.

The same examples every time: a run that must be green may not depend on luck. To look further, set
``HYPOTHESIS_PROFILE=search``; what is found then becomes an example of its test.
"""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None, print_blob=False)
settings.register_profile("search", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))
