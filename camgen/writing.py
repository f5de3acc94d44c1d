"""Files are written whole or not at all, and a set of files as one.

What is being written stands in a hidden folder beside its place until all of it is safely on the
disk. That folder is locked while its writer lives; one that a writer left when it was killed is
found by its lock being free, and is cleared away, or where all was ready carried out to its end,
by whoever writes there next.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
import shutil
import stat
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import BinaryIO, Final

__all__ = ["locked", "write_all", "write_set", "write_whole"]

_HIDDEN: Final = ".camgen-writing-"
_LOCK: Final = "lock"
_PLAN: Final = "plan.json"
# How long to wait for another writer of the same folder, s.
_PATIENCE: Final = 10.0


def write_whole(path: Path, content: bytes) -> None:
    """Write ``content`` to ``path`` so that a reader sees the old file or the new one, never half.

    Raises OSError when the folder cannot be written to.
    """
    write_all({path: content})


def write_all(files: Mapping[Path, bytes]) -> None:
    """Write several files, in order; none appears before all are safely on the disk.

    Raises OSError when any cannot be written, or stands for a device or a folder; then none of the
    new contents is left behind.
    """
    with _staged(files) as staging:
        for number, path in enumerate(files):
            os.replace(staging / str(number), path)


def write_set(
    folder: Path, files: Mapping[str, bytes], stale: Sequence[str] = (),
    look: Callable[[], None] = lambda: None,
) -> None:
    """Write files that belong together into ``folder``, and take away those ``stale`` by name.

    Files of the old set and of the new one never stand side by side: the old ones go first, from
    the last to the first, and the new ones come in order. So the last name given, when it is there,
    tells that its whole set is. A writer that is killed between is carried on by the next.

    ``look`` is called while no other writer of sets can come between; what it raises goes out, with
    nothing changed. Raises OSError as :func:`write_all`; then the old set stands as it was.
    """
    named = {folder / name: content for name, content in files.items()}
    with _staged(named) as staging, _folder_locked(folder):
        look()
        _change_places(folder, staging, list(named), stale)


def _change_places(
    folder: Path, staging: Path, new: Sequence[Path], stale: Sequence[str]
) -> None:
    """The old files of a set go and the staged ones come; where that fails, all is as it was."""
    old = [path for path in (*(folder / name for name in stale), *reversed(new))
           if os.path.lexists(path)]
    plan = {"old": [path.name for path in old], "new": [path.name for path in new]}
    _put(staging / "plan.new", json.dumps(plan).encode())
    moved: list[tuple[Path, Path]] = []
    os.replace(staging / "plan.new", staging / _PLAN)
    try:
        for number, path in enumerate(old):
            os.replace(path, staging / f"old-{number}")
            moved.append((staging / f"old-{number}", path))
        for number, path in enumerate(new):
            os.replace(staging / str(number), path)
            moved.append((path, staging / str(number)))
    except BaseException:
        for where, back in reversed(moved):
            os.replace(where, back)
        (staging / _PLAN).unlink()
        raise
    (staging / _PLAN).unlink()


@contextlib.contextmanager
def _staged(files: Mapping[Path, bytes]) -> Iterator[Path]:
    """A hidden, locked folder with the contents by number; gone at the end, whatever happens."""
    for path in files:
        _may_be_replaced(path)
    if not files:
        yield Path()
        return
    parents = list(dict.fromkeys(path.parent for path in files))
    made = [folder for parent in parents for folder in _make(parent)]
    common = Path(os.path.commonpath([parent.absolute() for parent in parents]))
    try:
        _clear_away(common)
        staging, lock = _new_staging(common)
        try:
            for number, content in enumerate(files.values()):
                _put(staging / str(number), content)
            yield staging
        finally:
            lock.close()
            shutil.rmtree(staging, ignore_errors=True)
    except BaseException:
        for folder in reversed(made):
            with contextlib.suppress(OSError):
                folder.rmdir()
        raise


def _make(folder: Path) -> list[Path]:
    """Make a folder and those above it; gives back those that were not there."""
    missing = []
    above = folder
    while not above.exists() and above != above.parent:
        missing.append(above)
        above = above.parent
    folder.mkdir(parents=True, exist_ok=True)
    return missing[::-1]


def _put(path: Path, content: bytes) -> None:
    with open(path, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    os.chmod(path, 0o644)


def _new_staging(folder: Path) -> tuple[Path, BinaryIO]:
    """A new hidden folder and its lock, held."""
    while True:
        staging = Path(tempfile.mkdtemp(dir=folder, prefix=_HIDDEN))
        try:
            lock = open(staging / _LOCK, "wb")  # noqa: SIM115 - held until the writing is over
        except FileNotFoundError:
            continue  # another writer took it for one left over, before it was locked
        if locked(lock) and (staging / _LOCK).exists():
            return staging, lock
        lock.close()


def _clear_away(folder: Path) -> None:
    """End what killed writers left in a folder: what was ready is carried out, the rest goes."""
    for staging in folder.glob(f"{_HIDDEN}*"):
        try:
            with open(staging / _LOCK, "ab") as lock:
                if not locked(lock):
                    continue
                with contextlib.suppress(OSError, ValueError, KeyError, TypeError):
                    _carry_on(staging)
                shutil.rmtree(staging, ignore_errors=True)
        except OSError:
            continue


def _carry_on(staging: Path) -> None:
    """Do the rest of a plan that was begun."""
    plan = json.loads((staging / _PLAN).read_bytes())
    new = [str(name) for name in plan["new"]]
    for name in plan["old"]:
        if name not in new and os.sep not in name:
            (staging.parent / name).unlink(missing_ok=True)
    for number, name in enumerate(new):
        if os.sep not in name and (staging / str(number)).exists():
            os.replace(staging / str(number), staging.parent / name)


@contextlib.contextmanager
def _folder_locked(folder: Path) -> Iterator[None]:
    """Keep other writers of sets out of a folder while files change their places."""
    if sys.platform == "win32":
        yield  # a folder cannot be locked there
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        end = time.monotonic() + _PATIENCE
        while not locked(handle):
            if time.monotonic() > end:
                raise OSError(errno.EBUSY, "another program is writing there", str(folder))
            time.sleep(0.01)
        yield
    finally:
        os.close(handle)


def locked(handle: BinaryIO | int) -> bool:
    """Take the system's lock on an open file if nobody holds it; it is freed with the file."""
    try:
        if sys.platform == "win32":
            import msvcrt

            number = handle if isinstance(handle, int) else handle.fileno()
            msvcrt.locking(number, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _may_be_replaced(path: Path) -> None:
    """Raise OSError for what is no plain file: a device is not replaced by one."""
    try:
        kind = os.stat(path).st_mode
    except OSError:
        return
    if not stat.S_ISREG(kind):
        raise OSError(errno.EEXIST, "it is no plain file", str(path))
