"""Where the files that come with the program are: demo jobs and machine files.

They stand at the top of a checkout and inside the package after an ordinary installation; callers
ask here and need not know which.
"""

from __future__ import annotations

from pathlib import Path

__all__ = ["demo_jobs", "shipped_folder"]


def shipped_folder(name: str) -> Path:
    """The folder ``jobs`` or ``postprocessors`` as shipped.

    Raises FileNotFoundError when the installation is damaged.
    """
    here = Path(__file__).resolve().parent
    for candidate in (here / "shipped" / name, here.parent / name):
        if candidate.is_dir():
            return candidate
    raise FileNotFoundError(f"the installation lacks its folder {name!r}")


def demo_jobs() -> tuple[Path, ...]:
    """The demo jobs as shipped, in the order of their names, without the records beside them."""
    return tuple(sorted(path for path in shipped_folder("jobs").glob("*.yaml")
                        if ".proof" not in path.name))
