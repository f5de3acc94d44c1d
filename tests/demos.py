"""The demo jobs, planned, written and proved once for all tests of a run that only look at them."""

from __future__ import annotations

from functools import lru_cache

from camgen.make.chain import Proved, Wish, proved_job
from camgen.shipped import shipped_folder

__all__ = ["proved_demo"]


def proved_demo(stem: str, wish: Wish | None = None) -> Proved:
    """A demo job by its file's name, as one who only looks at it may have it."""
    return _proved(stem, wish or Wish())


@lru_cache(maxsize=40)
def _proved(stem: str, wish: Wish) -> Proved:
    return proved_job(shipped_folder("jobs") / f"{stem}.yaml", wish)
