"""Every write whole or not at all: the one seam through which the program changes a disk."""

from __future__ import annotations

import errno
import io
import os
import re
import secrets
import shutil
import stat
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from types import SimpleNamespace
from typing import IO, Any, cast

from baybook.problems import Problem, WriteFailed

__all__ = ["backup", "sweep", "whole_file", "write_bytes"]

# Every call that changes the disk is made through this table, so that a test can make any one of them fail.
_os = SimpleNamespace(
    open=os.open,
    write=os.write,
    fsync=os.fsync,
    close=os.close,
    replace=os.replace,
    link=os.link,
    unlink=os.unlink,
    chown=getattr(os, "chown", None),
    chmod=os.chmod,
)

_TEMPORARY = re.compile(r"\.baybook-[0-9a-f]{16}\.tmp")
_DAY_S = 86_400.0
_FRESH = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)

_CAUSES = {
    errno.ENOSPC: "the disk is full; free some space and run again",
    errno.EDQUOT: "your share of the disk is used up; free some space and run again",
    errno.EFBIG: "the file is larger than this disk or account allows; choose another folder",
    errno.EACCES: "you may not write there; close it in other programs, check the folder's permissions, "
    "or choose another folder",
    errno.EPERM: "you may not write there; check the folder's permissions or choose another folder",
    errno.EROFS: "the disk is read-only; choose another folder",
    errno.ENOENT: "the folder does not exist; make it first or correct its name",
    errno.ENOTDIR: "the folder does not exist; make it first or correct its name",
    errno.ENAMETOOLONG: "the name is too long; shorten it",
    errno.EIO: "the disk reports a fault; choose another disk and have this one checked",
    errno.EBUSY: "the file is in use; close it in other programs and run again",
}


@contextmanager
def whole_file(path: str | os.PathLike[str], *, inside: str | os.PathLike[str] | None = None) -> Iterator[IO[bytes]]:
    """Open a file that appears under its name whole, or not at all.

    What is written goes to a temporary file in the same folder; when the block ends without an error it reaches the
    disk and takes the name in one step. Until then, and after any error, what stood there before still stands.

    Parameters
    ----------
    path : path
        The file to write. The permissions of a file of that name are kept; a symbolic link is refused.
    inside : path, optional
        The folder that the file must not leave, whatever the path says.

    Yields
    ------
    IO[bytes]
        A binary stream that can seek.

    Raises
    ------
    WriteFailed
        If the file may not or cannot be written. Errors of the block itself pass unchanged.
    """
    target = Path(path)
    _check_target(target, inside)
    with _whole(target, like=target, fresh=False) as stream:
        yield stream


def write_bytes(path: str | os.PathLike[str], data: bytes, *, inside: str | os.PathLike[str] | None = None) -> None:
    """Write the data whole or not at all; parameters and errors as for `whole_file`."""
    with whole_file(path, inside=inside) as stream:
        stream.write(data)


def backup(path: str | os.PathLike[str]) -> Path:
    """Copy a file beside itself under a dated name; no file is ever overwritten.

    Parameters
    ----------
    path : path
        The file to keep a copy of.

    Returns
    -------
    Path
        The copy, such as ``deck before 2025-11-25 090612.xlsx``; a second one of the same second ends in ``(2)``.

    Raises
    ------
    WriteFailed
        If the file cannot be read or the copy cannot be written.
    """
    original = Path(path)
    _check_target(original, None)
    stem, number = f"{original.stem} before {_now()}", 1
    while True:
        copy = original.with_name(f"{stem}{f' ({number})' if number > 1 else ''}{original.suffix}")
        try:
            with _reading(original) as source, _whole(copy, like=original, fresh=True) as stream:
                shutil.copyfileobj(source, stream)
        except FileExistsError:
            number += 1
        else:
            return copy


def sweep(folder: str | os.PathLike[str], *, older_than_s: float = _DAY_S) -> tuple[Path, ...]:
    """Remove the temporary files that killed runs of this program left in a folder.

    Parameters
    ----------
    folder : path
        Only files directly in it are looked at, and only those that `whole_file` named.
    older_than_s : float
        Younger ones may belong to a run that is still writing. [s]

    Returns
    -------
    tuple of Path
        What was removed; a file that cannot be removed is left for the next time.
    """
    removed = []
    now = time.time()
    with suppress(OSError):
        for path in sorted(Path(folder).iterdir()):
            if not _TEMPORARY.fullmatch(path.name):
                continue
            with suppress(OSError):
                found = path.lstat()
                if stat.S_ISREG(found.st_mode) and now - found.st_mtime > older_than_s:
                    _os.unlink(path)
                    removed.append(path)
    return tuple(removed)


def _now() -> str:
    return datetime.now().astimezone().strftime("%Y-%m-%d %H%M%S")


class _Descriptor(io.RawIOBase):
    """The temporary file, written through the table of calls; its errors are told as the target's."""

    def __init__(self, descriptor: int, target: Path) -> None:
        super().__init__()
        self.descriptor, self.target = descriptor, target

    def writable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def write(self, data: Any, /) -> int:
        with told(self.target):
            return cast("int", _os.write(self.descriptor, data))

    def seek(self, offset: int, whence: int = os.SEEK_SET, /) -> int:
        return os.lseek(self.descriptor, offset, whence)

    def truncate(self, size: int | None = None, /) -> int:
        size = self.tell() if size is None else size
        with told(self.target):
            os.ftruncate(self.descriptor, size)
        return size

    def close(self) -> None:
        if not self.closed:
            super().close()  # first: a failing close must not be tried again on a number that may be reused
            with told(self.target):
                _os.close(self.descriptor)


@contextmanager
def _whole(target: Path, *, like: Path, fresh: bool) -> Iterator[IO[bytes]]:
    """`whole_file` without its checks; ``fresh`` raises FileExistsError where a file of that name stands."""
    temporary = target.with_name(f".baybook-{secrets.token_hex(8)}.tmp")
    with told(target):
        raw = _Descriptor(_os.open(temporary, _FRESH, 0o666), target)
    stream = io.BufferedWriter(raw, 1 << 16)
    try:
        with told(target):
            _dress(temporary, like)
        yield stream
        stream.flush()
        with told(target):
            _os.fsync(raw.descriptor)
        stream.close()
        with told(target):
            _put_in_place(temporary, target, fresh=fresh)
    except BaseException:
        with suppress(WriteFailed):
            raw.close()  # before the stream is let go, which would flush again
        with suppress(OSError):
            _os.unlink(temporary)
        raise
    _sync_folder(target.parent)


def _dress(temporary: Path, like: Path) -> None:
    """Give the temporary the group and the permissions of the file it stands for."""
    try:
        old = like.stat()
    except FileNotFoundError:
        return
    new = temporary.stat()
    if _os.chown is not None and (old.st_uid, old.st_gid) != (new.st_uid, new.st_gid):
        with suppress(OSError):  # only the superuser may give files away
            _os.chown(temporary, old.st_uid, old.st_gid)
    mode = stat.S_IMODE(old.st_mode) & 0o777
    if mode != stat.S_IMODE(new.st_mode):  # some disks know no permissions and refuse the question
        _os.chmod(temporary, mode)


def _put_in_place(temporary: Path, target: Path, *, fresh: bool) -> None:
    if not fresh:
        _os.replace(temporary, target)
        return
    try:
        _os.link(temporary, target)  # unlike a rename it never overwrites
    except FileExistsError:
        raise
    except OSError:  # a disk without hard links
        if os.path.lexists(target):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target)) from None
        _os.replace(temporary, target)
    else:
        with suppress(OSError):
            _os.unlink(temporary)


def _sync_folder(folder: Path) -> None:
    """Ask the disk to keep the new name; not all can, and the file is whole under its name either way."""
    with suppress(OSError):
        descriptor = _os.open(folder, os.O_RDONLY | getattr(os, "O_DIRECTORY", 0))
        try:
            _os.fsync(descriptor)
        finally:
            _os.close(descriptor)


def _check_target(target: Path, inside: str | os.PathLike[str] | None) -> None:
    """Refuse what a write must not touch: a link, a folder, a device, a read-only file, a place outside."""
    if target.name in {"", ".", ".."} or "\0" in str(target):
        raise _failed(target, f"{str(target)!r} cannot be a file name; choose another")
    with told(target):
        if inside is not None and not target.parent.resolve().is_relative_to(Path(inside).resolve()):
            raise _failed(target, f"the path leads out of the folder {inside}; files are written only inside it")
        try:
            mode = target.lstat().st_mode
        except FileNotFoundError:
            return
    if stat.S_ISLNK(mode):
        raise _failed(target, "a symbolic link of that name stands there; remove it or choose another name")
    if not stat.S_ISREG(mode):
        raise _failed(target, "something that is no ordinary file has that name; choose another name")
    if not os.access(target, os.W_OK):
        raise _failed(target, "the file is read-only; allow writing to it or choose another name")


@contextmanager
def _reading(path: Path) -> Iterator[IO[bytes]]:
    with told(path, "could not be read"):
        source = path.open("rb")
    with source:
        yield source


@contextmanager
def told(target: Path, what: str = "nothing was written") -> Iterator[None]:
    """Turn an error of the disk into one sentence; a file that exists already is the caller's to handle."""
    try:
        yield
    except FileExistsError:
        raise
    except OSError as error:
        cause = _CAUSES.get(error.errno or 0, f"{error.strerror or error}; try another folder")
        raise _failed(target, f"{what} in {target.parent}: {cause}") from error


def _failed(target: Path, message: str) -> WriteFailed:
    return WriteFailed(Problem(target.name, 0, "", message))
