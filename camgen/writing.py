"""Files are written whole or not at all."""

from __future__ import annotations

import errno
import os
import stat
import tempfile
from collections.abc import Mapping
from pathlib import Path

__all__ = ["write_all", "write_whole"]


def write_whole(path: Path, content: bytes) -> None:
    """Write ``content`` to ``path`` so that a reader sees the old file or the new one, never half.

    Raises OSError when the folder cannot be written to.
    """
    write_all({path: content})


def write_all(files: Mapping[Path, bytes]) -> None:
    """Write several files; none appears before all are safely on the disk.

    Raises OSError when any cannot be written, or stands for a device or a folder; then none of the
    new contents is left behind.
    """
    waiting: list[tuple[Path, Path]] = []
    try:
        for path, content in files.items():
            _may_be_replaced(path)
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
            waiting.append((Path(name), path))
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            os.chmod(name, 0o644)
        for temporary, path in waiting:
            os.replace(temporary, path)
        waiting.clear()
    finally:
        for temporary, _ in waiting:
            temporary.unlink(missing_ok=True)


def _may_be_replaced(path: Path) -> None:
    """Raise OSError for what is no plain file: a device is not replaced by one."""
    try:
        kind = os.stat(path).st_mode
    except OSError:
        return
    if not stat.S_ISREG(kind):
        raise OSError(errno.EEXIST, "it is no plain file", str(path))
