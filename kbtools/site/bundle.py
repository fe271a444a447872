"""One edition as one zip file: a start page, the manual and the checksums of both; and how such a file is verified.

The same content gives the same bytes: files in order of their names, all with the content's date and the same permissions
(compressed bytes are those of the zlib at hand).
"""

from __future__ import annotations

import hashlib
import tempfile
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from kbtools.library import Library
from kbtools.site.build import BUSY, BuildFailed, build
from kbtools.site.edition import Edition
from kbtools.site.lock import Busy, locked
from kbtools.site.site import Site

START, SUMS, MANUAL = "START.html", "SHA256SUMS", "manual"
"""The start page and the checksums at the top of a bundle, and the folder of the manual."""

_MODE = 0o100644 << 16
_CHUNK = 1 << 20
_UNSAFE = set('\\:*?"<>|') | {chr(code) for code in (*range(32), 127)}
"""Characters that no file name may hold on one or the other system."""


class NoBundle(Exception):  # noqa: N818
    """What was to be verified is no bundle at all; the message says why."""


@dataclass(frozen=True)
class Bundled:
    """A finished bundle: how many files it holds, its size in bytes, and its SHA-256."""

    files: int
    size: int
    digest: str


def bundle(library: Library, edition: Edition, out: Path) -> Bundled:
    """Builds an edition of a validated library and packs it into `out`, which is replaced only when all went well.

    Raises BuildFailed, also when `out` cannot be written.
    """
    with tempfile.TemporaryDirectory(prefix="kbtools-") as folder:
        built = build(library, edition, Path(folder)).folder
        site = Site(edition.library_for(library), edition)
        files = {f"{MANUAL}/{name}": (built / name).read_bytes() for name in _names(built)}
        files[START] = str(site.render("kb/start.html", f"{MANUAL}/", site=site)).encode()
        if bad := sorted(filter(_unsafe, files)):
            raise BuildFailed(f"a bundle cannot hold a file called {bad[0]!r}; rename the page")
        try:
            with locked(out):
                _replace(out, files, site.date)
        except Busy:
            raise BuildFailed(f"{BUSY.format(out)}, or choose another file with --out") from None
        except OSError as error:
            raise BuildFailed(f"cannot write {out}: {error.strerror or error}") from error
    return Bundled(len(files) + 1, out.stat().st_size, digest_of(out))


def digest_of(file: Path) -> str:
    """SHA-256 (FIPS 180-4) of a file, in hexadecimal."""
    with file.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _names(folder: Path) -> list[str]:
    return sorted(file.relative_to(folder).as_posix() for file in folder.rglob("*") if file.is_file())


def _replace(out: Path, files: Mapping[str, bytes], date: str) -> None:
    fresh = out.with_name(f".{out.name}.new")
    try:
        _pack(fresh, files, date)
        fresh.replace(out)
    finally:
        with suppress(OSError):
            fresh.unlink()


def _pack(out: Path, files: Mapping[str, bytes], date: str) -> None:
    """The start page first, then the checksums, then the manual."""
    sums = "".join(f"{hashlib.sha256(files[name]).hexdigest()}  {name}\n" for name in sorted(files))
    day = (int(date[:4]), int(date[5:7]), int(date[8:10]), 0, 0, 0)
    whole = {START: files[START], SUMS: sums.encode(), **dict(sorted(files.items()))}
    with zipfile.ZipFile(out, "w") as archive:
        for name, data in whole.items():
            info = zipfile.ZipInfo(name, max(day, (1980, 1, 1, 0, 0, 0)))
            info.create_system, info.external_attr = 3, _MODE
            archive.writestr(info, data, zipfile.ZIP_DEFLATED, 9)


def verify(file: Path) -> list[str]:
    """What is wrong with a bundle, or with the folder into which one was unpacked: missing, changed, added or unsafe files.

    Nothing is unpacked. Raises NoBundle for something else than a bundle, and OSError when the file cannot be read.
    """
    if file.is_dir():
        _at_least_a_part(_names(file))
        return _compare({name: (name, digest_of(file / name)) for name in _names(file)}, _text_of(file / SUMS))
    with file.open("rb") as stream:
        if stream.read(2) != b"PK":
            raise NoBundle("it is no zip file")
    try:
        with zipfile.ZipFile(file) as archive:
            listed = archive.infolist()
            names = [info.filename for info in listed]
            _at_least_a_part(names)
            wrong = [f"unsafe name: {name!r}" for name in names if _unsafe(name)]
            wrong += [f"unsafe, a link: {info.filename!r}" for info in listed if _is_link(info)]
            wrong += [
                f"there twice: {name}" for name in sorted(name for name, count in Counter(names).items() if count > 1)
            ]
            found = {info.filename: (info.filename, _digest_in(archive, info)) for info in listed if not info.is_dir()}
            sums = _read(archive, SUMS) if SUMS in found else b""
            return wrong + _compare(found, sums)
    except zipfile.BadZipFile:
        return ["not a whole zip file: cut off or damaged"]


def _at_least_a_part(names: Iterable[str]) -> None:
    if not any(name in (START, SUMS) or name.startswith(f"{MANUAL}/") for name in names):
        raise NoBundle(f"it holds no {SUMS}, no {START} and no folder {MANUAL}")


def _text_of(file: Path) -> bytes:
    return file.read_bytes() if file.is_file() else b""


def _compare(found: Mapping[str, tuple[str, str]], sums: bytes) -> list[str]:
    """Differences between digests by name and the lines of a checksums file."""
    if not sums:
        return [f"missing: {SUMS}"]
    listed: dict[str, str] = {}
    wrong = []
    for number, line in enumerate(sums.decode("utf-8", "replace").splitlines(), 1):
        digest, name = line[:64], line[66:]
        if line[64:66] not in ("  ", " *") or len(digest.strip("0123456789abcdef")) or not name:
            wrong.append(f"{SUMS}, line {number}: not a checksum and a name")
        else:
            listed[name] = digest
    wrong += [f"missing: {name}" for name in sorted(listed.keys() - found.keys())]
    wrong += [f"changed: {name}" for name in sorted(listed.keys() & found.keys()) if found[name][1] != listed[name]]
    return wrong + [f"added: {name}" for name in sorted(found.keys() - listed.keys() - {SUMS})]


def _digest_in(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> str:
    """SHA-256 of a file in the archive; empty when it cannot be read."""
    digest = hashlib.sha256()
    try:
        for chunk in _chunks(archive, info):
            digest.update(chunk)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError):
        return ""
    return digest.hexdigest()


def _chunks(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> Iterator[bytes]:
    with archive.open(info) as stream:
        while chunk := stream.read(_CHUNK):
            yield chunk


def _read(archive: zipfile.ZipFile, name: str) -> bytes:
    try:
        return archive.read(name)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError):
        return b""


def _is_link(info: zipfile.ZipInfo) -> bool:
    return (info.external_attr >> 16) & 0o170000 == 0o120000


def _unsafe(name: str) -> bool:
    """True for a name that could be unpacked outside its folder, or cannot be unpacked everywhere.

    >>> [_unsafe(name) for name in ("manual/a.html", "../a", "/a", "C:\\\\a", "a/../../b", "manual/")]
    [False, True, True, True, True, False]
    """
    parts: Iterable[str] = PurePosixPath(name).parts
    return name.startswith("/") or ".." in parts or not name or bool(_UNSAFE & set(name))
