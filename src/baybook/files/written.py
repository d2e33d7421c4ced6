"""What this program last wrote in a folder, so that a person's work on a file is told from its own."""

from __future__ import annotations

import hashlib
import json
import os
from pathlib import Path

from baybook.files.write import write_bytes

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
        self._known: dict[str, str] = {}
        try:
            read = json.loads(self._path.read_text("utf-8"))
        except (OSError, ValueError):
            return
        if isinstance(read, dict):
            self._known = {str(name): str(value) for name, value in read.items()}

    def changed_since(self, path: Path) -> bool:
        """Return whether a file is there and is not what this program last wrote."""
        return path.exists() and self._known.get(path.name) != digest(path.read_bytes())

    def note(self, name: str, data: bytes) -> None:
        """Remember what was written under a name, and save the record."""
        self._known[name] = digest(data)
        text = json.dumps(self._known, indent=1, sort_keys=True)
        write_bytes(self._path, text.encode("utf-8"), inside=self._path.parent)
