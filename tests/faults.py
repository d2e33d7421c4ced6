"""Make any one call fail by which a save changes the disk, and see what is left."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from contextlib import contextmanager
from pathlib import Path
from types import SimpleNamespace

from baybook.files import write
from baybook.files.write import sweep
from baybook.problems import WriteFailed


@contextmanager
def failing_calls(*numbers: int, code: int = errno.EIO):
    """Count the calls that change the disk, and let those of the numbers given (from 1) fail."""
    made: list[str] = []

    def wrapped(name, real):
        def call(*args):
            made.append(name)
            if len(made) not in numbers:
                return real(*args)
            if name == "close":
                real(*args)  # it fails and the number is free all the same
            raise OSError(code, os.strerror(code))

        return call

    real = write._os
    write._os = SimpleNamespace(**{name: wrapped(name, call) for name, call in vars(real).items()})
    try:
        yield made
    finally:
        write._os = real


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def fail_every_step(save: Callable[[], object], folder: Path, code: int = errno.EIO) -> tuple[int, int]:
    """Run the save once for each of its calls, that one failing; return how many failed and how many were saved.

    After a failure everything in the folder is as it was before; a save that does not fail, although a call did, must
    have brought the folder to the state of an undisturbed one.
    """
    before = contents(folder)

    def restore():
        for path in folder.iterdir():
            path.unlink()
        for name, data in before.items():
            (folder / name).write_bytes(data)

    with failing_calls() as made:
        save()
    after, steps = contents(folder), len(made)
    failed = 0
    for number in range(1, steps + 1):
        restore()
        said = None
        try:
            with failing_calls(number, code=code):
                save()
        except WriteFailed as error:
            said = str(error)
        if said is None:
            if made[number - 1] == "unlink":
                sweep(folder, older_than_s=-1)  # what cannot be removed now is swept another day
            assert contents(folder) == after, f"call {number} ({made[number - 1]}) failed and the save is not whole"
        else:
            failed += 1
            assert contents(folder) == before, f"call {number} ({made[number - 1]}) left something behind"
            assert said
            assert "\n" not in said
    restore()
    return failed, steps - failed
