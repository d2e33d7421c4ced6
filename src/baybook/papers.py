"""The papers that leave the office, each a file of its own: as a workbook of values, or as PDF."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterator, Sequence
from pathlib import Path

from baybook.batch import estimates_of
from baybook.estimate import Estimate
from baybook.files.example import ready_folder
from baybook.files.pdf import HOW, office, pdf_of
from baybook.files.text import safe_name
from baybook.files.write import write_bytes
from baybook.offering import refusals
from baybook.problems import BookError, Problem
from baybook.workbook.build import Values, spec_of, title_of
from baybook.workbook.declare import Layout, layout
from baybook.workbook.paper import paper

__all__ = ["QUOTE", "SITE", "SIZES", "write_papers"]

QUOTE, SITE = ("Quote",), ("Site", "Labels")  # the sheets of each paper
SIZES = {"letter": "Letter", "a4": "A4"}
_WORKBOOKS = {".xlsx", ".xlsm"}
Worked = tuple[Estimate, Layout, Values]


def write_papers(
    source: str | os.PathLike[str],
    out: str | os.PathLike[str],
    today: dt.date,
    when: dt.datetime,
    *,
    job: str = "",
    titles: Sequence[str] = QUOTE,
    size: str = "",
    pdf: bool = False,
) -> tuple[Path, ...]:
    """Write papers of the jobs of a book, or of the job of a workbook.

    Parameters
    ----------
    source : path
        A book, or a workbook: its inputs are worked out anew, whatever values are stored in it.
    out : path
        Folder for the papers, made if it is not there.
    today : date
        Quote date of jobs in pricing that name none.
    when : datetime
        The moment of the run.
    job : str
        Only this job; empty: all of the book.
    titles : sequence of str
        The sheets to write.
    size : str
        Letter or A4; empty: A4 for metric jobs, else Letter.
    pdf : bool
        As PDF; else as workbooks that hold values alone.

    Returns
    -------
    tuple of Path
        What was written.

    Raises
    ------
    BookError
        If the inputs have problems, no job has that code, a price is refused, or no PDF can be made.
    """
    if pdf and not office():
        raise BookError(Problem(Path(source).name, 0, "", f"LibreOffice makes the PDF and is not here: {HOW}"))
    made: list[tuple[str, bytes]] = []
    taken: list[str] = []
    for estimate, placed, values in _worked(Path(source), today, when, job):
        taken.append(safe_name(estimate.inputs.job.job, taken))
        chosen = size or ("A4" if estimate.inputs.rates.units == "metric" else "Letter")
        for title in titles:
            data = paper(placed, values, title, title_of(estimate), when, chosen)
            name = f"{taken[-1]} {title.lower()}"
            made.append((f"{name}.pdf", pdf_of(data, name)) if pdf else (f"{name}.xlsx", data))
    place = ready_folder(out)
    for name, data in made:
        write_bytes(place / name, data, inside=place)
    return tuple(place / name for name, _ in made)


def _worked(source: Path, today: dt.date, when: dt.datetime, job: str) -> Iterator[Worked]:
    from baybook.workbook.evaluate import evaluate
    from baybook.workbook.prove import prove

    if source.suffix.lower() in _WORKBOOKS:
        yield _of_workbook(source, when, job)
        return
    estimates = _chosen(estimates_of(source, today), job, source)
    refused = [problem for one in estimates for problem in refusals(one.inputs, one.findings)]
    if refused:
        raise BookError(refused)
    for estimate in estimates:
        spec = spec_of(estimate, when)
        placed = layout(spec)
        values = evaluate(spec, placed)
        prove(estimate, placed, values)
        yield estimate, placed, values


def _of_workbook(source: Path, when: dt.datetime, job: str) -> Worked:
    from baybook.workbook.evaluate import evaluate
    from baybook.workbook.read import read_workbook
    from baybook.workbook.redeclare import redeclare

    found = redeclare(read_workbook(source), when)
    (estimate,) = _chosen((found.estimate,), job, source)
    refused = list(refusals(estimate.inputs, estimate.findings))
    values = evaluate(found.spec, found.layout)
    if isinstance(values[found.layout.address("quote_price")], str):
        what = "its checks refuse a price: see its sheet Checks, mend that, then baybook refresh"
        refused.append(Problem(source.name, 0, "", what))
    if refused:
        raise BookError(refused)
    return estimate, found.layout, values


def _chosen(estimates: Sequence[Estimate], job: str, source: Path) -> tuple[Estimate, ...]:
    codes = [one.inputs.job.job for one in estimates]
    found = tuple(one for one in estimates if not job or one.inputs.job.job.casefold() == job.casefold())
    if not found:
        raise BookError(Problem(source.name, 0, "", f"no job is called {job!r}: it has {', '.join(codes)}"))
    return found
