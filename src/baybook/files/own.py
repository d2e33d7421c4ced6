"""Files that come with the program, or with a library it stands on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from importlib import resources
from importlib.resources.abc import Traversable

__all__ = ["library_file", "program_files"]


def _files(place: Traversable, path: str) -> Iterator[tuple[str, bytes]]:
    if place.is_dir():
        for one in sorted(place.iterdir(), key=lambda one: one.name):
            if one.name != "__pycache__":
                yield from _files(one, f"{path}/{one.name}")
    elif path.endswith((".py", ".csv")):
        yield path, place.read_bytes()


def program_files(paths: Iterable[str]) -> dict[str, bytes]:
    """Return modules and tables of this program.

    Parameters
    ----------
    paths : iterable of str
        Files and folders within the package, with ``/``.

    Returns
    -------
    dict of str to bytes
        Path to content; of folders the ``.py`` and ``.csv`` files, in the order of their names.

    Raises
    ------
    FileNotFoundError
        If the program has no such file.
    """
    root = resources.files("baybook")
    found: dict[str, bytes] = {}
    for path in paths:
        place = root.joinpath(*path.split("/"))
        if not (place.is_dir() or place.is_file()):
            raise FileNotFoundError(f"the program has no {path}")
        found.update(_files(place, path))
    return found


def library_file(library: str, name: str) -> bytes:
    """Return a file that an installed library brings.

    Parameters
    ----------
    library : str
        The library's import name; it is imported to find it.
    name : str
        The file within it.

    Returns
    -------
    bytes
        Its content.

    Raises
    ------
    ModuleNotFoundError
        If the library is not installed.
    FileNotFoundError
        If it has no such file.
    """
    return resources.files(library).joinpath(name).read_bytes()
