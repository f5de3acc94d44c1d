"""Moving house: a job with all it needs in one archive, and its safe unpacking elsewhere.

The archive is a ZIP file with a list of its files and their SHA-256 sums in ``contents.json``. The
same files give the same bytes.
"""

from __future__ import annotations

import hashlib
import io
import json
import lzma
import posixpath
import struct
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from pathlib import Path, PurePosixPath
from typing import Final

from camgen import __version__
from camgen.faults import Fault, Place, Refused
from camgen.library.record import JobFingerprints
from camgen.messages import Message
from camgen.plainfile import plain_bytes
from camgen.signs import in_one_line
from camgen.writing import write_all
from camgen.yamlfile import load_yaml

__all__ = ["CONTENTS", "MOST_PACKED", "packed", "packed_fingerprints", "unpack", "unpacked"]

CONTENTS = "contents.json"
_FORM = 1
# A packed job is small; more than this is no packed job but a trap, bytes.
MOST_PACKED: Final = 200_000_000
_MOST = 5_000
# A file's name in bytes that every usual system takes, with the folder that it is unpacked into.
_LONGEST_NAME = 200
# Every packed file carries the same time: the archive of the same files is the same archive.
_TIME = (1980, 1, 1, 0, 0, 0)
_PACK_AGAIN = Message("pack the job again where it came from")


def packed(
    files: Mapping[str, bytes], job: str, job_file: str = "", prints: JobFingerprints | None = None
) -> bytes:
    """An archive of ``files``, named by paths below the workshop folder.

    ``job_file`` is the job's own among them, ``prints`` its fingerprints where it is packed.
    Raises Refused when a name leads out of the folder.
    """
    faults = [f for name in files if (f := _name_fault(name, "")) is not None]
    faults += _led_out(files, "")
    if faults:
        raise Refused(faults)
    sums = {name: hashlib.sha256(files[name]).hexdigest() for name in sorted(files)}
    contents = json.dumps({
        "form": _FORM, "job": job, "job-file": job_file, "version": __version__, "files": sums,
        "prints": prints.model_dump() if prints is not None else None,
    }, indent=1, sort_keys=True).encode()
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in ((CONTENTS, contents), *sorted(files.items())):
            info = zipfile.ZipInfo(name, _TIME)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            archive.writestr(info, content)
    return buffer.getvalue()


def packed_fingerprints(archive: Path) -> tuple[str, JobFingerprints] | None:
    """The job's file in an archive, and its fingerprints where it was packed.

    None where the archive does not tell. The archive must be one that :func:`unpack` took.
    """
    with zipfile.ZipFile(archive) as opened:
        contents = json.loads(opened.read(CONTENTS))
    try:
        job_file = str(contents["job-file"])
        prints = JobFingerprints.model_validate(contents["prints"])
    except (KeyError, TypeError, ValueError):
        return None
    # Nothing is read that the archive did not bring: a name may lead anywhere.
    return (job_file, prints) if job_file in contents["files"] else None


def unpacked(archive: bytes, name: str = "archive") -> dict[str, bytes]:
    """The files of an archive, each checked against its sum.

    Raises Refused with every fault: not such an archive, a name that leads out, a file missing,
    added or changed, too much.
    """
    place = Place(name)
    try:
        with zipfile.ZipFile(io.BytesIO(archive)) as opened:
            members = opened.infolist()
            if len(members) > _MOST or sum(member.file_size for member in members) > MOST_PACKED:
                raise Refused(_too_large(place))
            names = [member.filename for member in members]
            files = {member.filename: _content(opened, member) for member in members}
    except (zipfile.BadZipFile, OSError, EOFError, NotImplementedError, RuntimeError, IndexError,
            KeyError, MemoryError, OverflowError, TypeError, ValueError, lzma.LZMAError,
            struct.error, zlib.error) as why:
        raise Refused(Fault(
            Message("this is no packed job, or it is damaged: {why}", why=str(why)[:120]),
            _PACK_AGAIN, place)) from why
    return _checked(files, names, name)


def _too_large(place: Place) -> Fault:
    return Fault(Message("this archive is too large to be a packed job"), place=place)


def _content(opened: zipfile.ZipFile, member: zipfile.ZipInfo) -> bytes:
    """One file's bytes, never more than the archive says it holds."""
    with opened.open(member) as file:
        content = file.read(member.file_size + 1)
    if len(content) != member.file_size:
        raise ValueError(f"{member.filename} is longer than the archive says")
    return content


def _checked(files: dict[str, bytes], names: list[str], archive: str) -> dict[str, bytes]:
    place = Place(archive)
    try:
        contents = json.loads(files.pop(CONTENTS))
        sums = contents["files"]
        if contents["form"] != _FORM or not isinstance(sums, dict):
            raise ValueError(contents["form"])
    except (KeyError, RecursionError, ValueError, TypeError) as why:
        raise Refused(Fault(
            Message("the archive has no list of its files ({contents})", contents=CONTENTS),
            Message("it was not packed by `camgen library pack`"), place)) from why
    faults = [Fault(Message("{name} is in the archive twice", name=repr(name)), place=place)
              for name in sorted(set(names)) if names.count(name) > 1]
    faults += [fault for name in files if (fault := _name_fault(name, archive)) is not None]
    faults += [Fault(Message("{name} is missing from the archive", name=name), place=place)
               for name in sums if name not in files]
    for name, content in files.items():
        if name not in sums:
            faults.append(Fault(Message("{name} is not in the archive's list", name=name),
                                place=place))
        elif hashlib.sha256(content).hexdigest() != sums[name]:
            faults.append(Fault(Message("{name} was changed after packing", name=name),
                                _PACK_AGAIN, place))
    faults += [Fault(Message("{name} is a file and a folder at once", name=repr(name)), place=place)
               for name in files if any(str(above) in files
                                        for above in PurePosixPath(name).parents)]
    faults += _led_out(files, archive)
    if faults:
        raise Refused(faults)
    return files


def _name_fault(name: str, archive: str) -> Fault | None:
    """Why ``name`` may not be unpacked: only plain paths below the folder may, and none hidden."""
    parts = PurePosixPath(name).parts
    good = (
        bool(parts) and not name.startswith("/") and "\\" not in name and ":" not in name
        and "\0" not in name and not name.endswith("/")
        and len(name.encode("utf-8", "replace")) <= _LONGEST_NAME
        and all(part and not part.startswith(".") and part == part.strip()
                for part in name.split("/"))
        and in_one_line(name) == name
    )
    said = repr(name if len(name) <= _LONGEST_NAME else f"{name[:60]}...")
    return None if good else Fault(
        Message("{name} leads out of the workshop folder, is hidden, or is no plain file",
                name=said), Message("do not unpack this archive"), Place(archive))


def _led_out(files: Mapping[str, bytes], archive: str) -> list[Fault]:
    """Files outside the folder that job files in an archive would have read."""
    faults = []
    for name, content in files.items():
        if not name.endswith((".yaml", ".yml")):
            continue
        try:
            data = load_yaml(content.decode(), name).data
        except (Refused, UnicodeDecodeError):
            continue  # What cannot be read leads nowhere.
        for word, said in _files_named(data):
            goal = posixpath.normpath(posixpath.join(posixpath.dirname(name), said))
            if goal.startswith(("/", "..")) or "\\" in said or ":" in said:
                faults.append(Fault(
                    Message("{name} says {word}: {file}, which is outside the workshop folder",
                            name=name, word=word, file=in_one_line(said)),
                    Message("put that file beside the job, and name it from there"),
                    Place(archive or name)))
    return faults


def _files_named(data: object) -> Iterator[tuple[str, str]]:
    """Each file that a job names, and the word that names it."""
    if isinstance(data, Mapping):
        for word, value in data.items():
            if word in ("based-on", "drawing", "kept") and isinstance(value, str):
                yield str(word), value
            elif word == "post" and isinstance(value, str) and (
                    "/" in value or value.endswith((".yaml", ".yml"))):
                yield "post", value  # a machine file by its path, not by its name
            elif word == "matches" and isinstance(value, Mapping) and isinstance(
                    value.get("job"), str):
                yield "matches: job", value["job"]
            else:
                yield from _files_named(value)
    elif isinstance(data, list | tuple):
        for value in data:
            yield from _files_named(value)


def unpack(archive: Path, folder: Path) -> tuple[Path, ...]:
    """Unpack ``archive`` into ``folder``; returns the files written.

    A file that is there already with the same content is left alone. Raises Refused when one is
    there with another, and for every fault of the archive; then nothing is written.
    """
    content = plain_bytes(archive, most=MOST_PACKED + 1)
    if len(content) > MOST_PACKED:
        raise Refused(_too_large(Place(str(archive))))
    files = {folder / name: data for name, data in unpacked(content, str(archive)).items()}
    root = folder.resolve()
    faults = []
    for path, data in files.items():
        if not path.resolve().is_relative_to(root):
            faults.append(Fault(
                Message("{path} would be written outside {folder}, through a link", path=path,
                        folder=folder), place=Place(str(archive))))
        elif path.exists() and (not path.is_file() or path.read_bytes() != data):
            faults.append(Fault(
                Message("{path} is there already and differs", path=path),
                Message("unpack into another folder, or move that file away"),
                Place(str(archive))))
    if faults:
        raise Refused(faults)
    write_all({path: data for path, data in files.items() if not path.exists()})
    return tuple(files)
