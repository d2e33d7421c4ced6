"""A journal of a long run: what is about to be written, line by line on the disk before it is."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from baybook.files import write
from baybook.files.write import told
from baybook.problems import Problem, WriteFailed

__all__ = ["Journal"]

_APPENDED = os.O_WRONLY | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)


class Journal:
    """A file of JSON lines that only grows; a line that a killed run left torn is passed over.

    Parameters
    ----------
    path : path
        The file; it is made with the first line.

    Attributes
    ----------
    lines : list of mapping
        What stood in it when it was opened.

    Raises
    ------
    WriteFailed
        If it is there and cannot be read.
    """

    def __init__(self, path: str | os.PathLike[str]) -> None:
        self.path = Path(path)
        self.lines: list[Mapping[str, Any]] = []
        self._torn = False
        with told(self.path, "could not be read"):
            data = self.path.read_bytes() if self.path.exists() else b""
        self._torn = bool(data) and not data.endswith(b"\n")
        for line in data.split(b"\n"):
            try:
                read = json.loads(line)
            except ValueError:
                continue
            if isinstance(read, dict):
                self.lines.append(read)

    def add(self, lines: Iterable[Mapping[str, Any]]) -> None:
        """Put lines on the disk; when this returns they are there.

        Parameters
        ----------
        lines : iterable of mapping
            What JSON can hold.

        Raises
        ------
        WriteFailed
            If the disk refuses.
        """
        lines = list(lines)
        if not lines:
            return
        text = "".join(json.dumps(line, ensure_ascii=False, separators=(",", ":")) + "\n" for line in lines)
        data = ("\n" if self._torn else "").encode() + text.encode("utf-8", "surrogatepass")
        calls, fresh = write._os, not self.path.exists()  # noqa: SLF001  the one table of calls that change the disk
        try:
            with told(self.path):
                descriptor = calls.open(self.path, _APPENDED, 0o666)
                try:
                    self._torn = True  # until the last byte stands
                    while data:
                        data = data[calls.write(descriptor, data) :]
                    calls.fsync(descriptor)
                    self._torn = False
                finally:
                    calls.close(descriptor)
            if fresh:
                write._sync_folder(self.path.parent)  # noqa: SLF001  as every new file
        except FileExistsError:
            raise WriteFailed(Problem(self.path.name, 0, "", "is no ordinary file; remove it and run again")) from None
