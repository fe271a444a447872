"""One writer at a time: a lock on a file beside what is written, which ends with the process that holds it."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path


class Busy(Exception):  # noqa: N818
    """Another process is writing there now."""


@contextmanager
def locked(target: Path) -> Iterator[None]:
    """Holds the lock of `target` (a file or folder to be, whose parent is there).

    The system lets go of it when the process ends, however that happens; only an empty file may then be left, which blocks
    nobody and goes with the next build. Raises Busy when another process holds it, and OSError. Where a file system knows
    no locks, nothing is locked.
    """
    file = target.with_name(f".{target.name}.lock")
    handle = _opened(file)
    try:
        yield
    finally:
        with suppress(OSError):
            file.unlink()
        os.close(handle)


def _opened(file: Path) -> int:
    """A locked handle of the file that stands there now: one that its last holder took away is opened anew."""
    while True:
        handle = os.open(file, os.O_RDWR | os.O_CREAT, 0o644)
        try:
            _lock(handle)
            if _stands(file, handle):
                return handle
        except BaseException:
            os.close(handle)
            raise
        os.close(handle)


def _stands(file: Path, handle: int) -> bool:
    try:
        return os.path.samestat(file.stat(), os.fstat(handle))
    except FileNotFoundError:
        return False


def _lock(handle: int) -> None:
    """Locks without waiting. Raises Busy."""
    if sys.platform == "win32":
        import msvcrt

        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            raise Busy from None
    else:
        import fcntl

        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise Busy from None
        except OSError:
            return
