"""What this program last wrote in a folder, so that a person's work on a file is told from its own."""

from __future__ import annotations

import hashlib
import json
import os
from pathlib import Path

from baybook.files.write import told, write_bytes

__all__ = ["WRITTEN_NAME", "Written"]

WRITTEN_NAME = ".baybook-written.json"


def digest(data: bytes) -> str:
    """Return the SHA-256 of a file's content."""
    return hashlib.sha256(data).hexdigest()


class Written:
    """The files this program wrote in a folder, by name and digest.

    Parameters
    ----------
    folder : path
        The folder; a missing or unreadable record counts as an empty one, so that nothing unknown is overwritten.
    """

    def __init__(self, folder: str | os.PathLike[str]) -> None:
        self._path = Path(folder) / WRITTEN_NAME
        self._known: dict[str, list[str]] = {}
        try:
            read = json.loads(self._path.read_text("utf-8"))
        except (OSError, ValueError):
            return
        if isinstance(read, dict):
            self._known = {name: [str(one) for one in value] for name, value in read.items() if isinstance(value, list)}

    def changed_since(self, path: Path) -> bool:
        """Return whether a file is there and is not what this program last wrote."""
        return path.exists() and self._digest_of(path) not in self._known.get(path.name, ())

    @staticmethod
    def _digest_of(path: Path) -> str:
        with told(path, "could not be read"):
            return digest(path.read_bytes())

    def note(self, name: str, data: bytes) -> None:
        """Remember what is about to be written under a name, beside what of ours stands there, and save the record.

        Noted before it is written, a file is known for ours whether the write comes off or not.
        """
        path = self._path.with_name(name)
        there = [self._digest_of(path)] if path.exists() and not self.changed_since(path) else []
        self._known[name] = list(dict.fromkeys([*there, digest(data)]))
        text = json.dumps(self._known, indent=1, sort_keys=True)
        write_bytes(self._path, text.encode("utf-8"), inside=self._path.parent)
