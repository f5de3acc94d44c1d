"""Files that a user names are opened in one place, and what is no plain file is said in words."""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from camgen.faults import Fault, Place, Refused, nearest
from camgen.messages import Message

__all__ = ["plain_bytes", "plain_text", "why_not"]

# What the system says of a file that cannot be had, in words of all languages.
_WHY: Final[Mapping[int, Message]] = {
    errno.ENOENT: Message("it is not there"),
    errno.EEXIST: Message("it is there already"),
    errno.EACCES: Message("you have no right to it"),
    errno.EPERM: Message("you have no right to it"),
    errno.ENOTDIR: Message("a part of its path is no folder"),
    errno.EISDIR: Message("it is a folder"),
    errno.ENAMETOOLONG: Message("its name is too long"),
    errno.ELOOP: Message("its links lead round in a circle"),
    errno.EROFS: Message("the disk can only be read"),
    errno.ENOSPC: Message("the disk is full"),
    errno.EIO: Message("the disk does not answer as it should"),
}


def plain_bytes(path: Path, name: str = "", most: int = -1) -> bytes:
    """The bytes of the plain file at ``path``, at most ``most`` of them where that is not negative.

    ``name`` is what it is called in faults, else the path. A pipe or a device is never opened: it
    might be waited for for ever. Raises Refused when there is no such file, or it is a folder, no
    plain file, or cannot be opened.
    """
    place = Place(name or str(path))
    try:
        kind = os.stat(path).st_mode
        if stat.S_ISDIR(kind):
            raise Refused(Fault(Message("this is a folder, not a file"),
                                Message("name the file in it that is meant"), place))
        if not stat.S_ISREG(kind):
            raise Refused(Fault(Message("this is no plain file"),
                                Message("name a file that holds text"), place))
        with path.open("rb") as file:
            return file.read(most)
    except FileNotFoundError:
        if path.is_symlink():
            raise Refused(Fault(Message("this is a link to a file that is not there"),
                                Message("it leads to {target}: put that file back, or name another",
                                        target=os.readlink(path)), place)) from None
        raise Refused(Fault(Message("there is no such file"), _neighbour(path), place)) from None
    except (OSError, ValueError) as error:
        reason = why_not(error) if isinstance(error, OSError) else Message("its name is not one")
        raise Refused(Fault(Message("the file cannot be opened: {reason}", reason=reason),
                            Message("look at its name and at who may read it"), place)) from None


def plain_text(path: Path, name: str = "") -> str:
    """The text of the plain file at ``path``. Raises Refused as above, and when it is not UTF-8."""
    try:
        return plain_bytes(path, name).decode("utf-8")
    except UnicodeDecodeError:
        raise Refused(Fault(Message("this is not text, or not in UTF-8"),
                            Message("save it as UTF-8"), Place(name or str(path)))) from None


def why_not(error: OSError) -> str:
    """Why a file or a folder cannot be had: in words of all languages, or else in the system's.

    >>> why_not(OSError(errno.ENOSPC, "No space left on device"))
    'the disk is full'
    """
    return _WHY.get(error.errno or 0) or error.strerror or str(error)


def _neighbour(path: Path) -> Message:
    folder = path.parent
    try:
        near = nearest(path.name, [entry.name for entry in folder.iterdir()])
    except (OSError, ValueError):
        return Message("there is no folder {folder} either", folder=folder)
    if near:
        return Message("did you mean {near}?", near=folder / near)
    return Message("look at what is in {folder}", folder=folder)
