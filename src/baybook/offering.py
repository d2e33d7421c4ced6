"""What stands in the way of an offer: failed checks that no named person has accepted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from baybook.job.records import Acceptance, JobInputs
from baybook.problems import Problem
from baybook.takeoff.model import Finding

__all__ = ["accepted", "idle_acceptances", "open_failures", "refusals"]


def _key(rule: str, where: str) -> tuple[str, str]:
    return rule.upper(), where.casefold()


def accepted(inputs: JobInputs, findings: Iterable[Finding]) -> tuple[tuple[Finding, Acceptance], ...]:
    """Return the failed checks that a named person accepted, each with the acceptance."""
    known = {_key(row.rule, row.where): row for row in inputs.acceptances}
    failed = [one for one in findings if one.failed]
    return tuple((one, known[_key(one.rule, one.where)]) for one in failed if _key(one.rule, one.where) in known)


def open_failures(inputs: JobInputs, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the failed checks that nobody accepted."""
    known = {_key(row.rule, row.where) for row in inputs.acceptances}
    return tuple(one for one in findings if one.failed and _key(one.rule, one.where) not in known)


def idle_acceptances(inputs: JobInputs, findings: Iterable[Finding]) -> Iterator[Finding]:
    """Yield a word on each acceptance of a check that has not failed: a slip, or mended since."""
    failed = {_key(one.rule, one.where) for one in findings if one.failed}
    for row in inputs.acceptances:
        if _key(row.rule, row.where) not in failed:
            yield Finding(
                row.rule,
                failed=False,
                where=row.where,
                message=f"{row.person} accepted this check, which has not failed: mend its name, or take the row out",
            )


def refusals(inputs: JobInputs, findings: Iterable[Finding]) -> tuple[Problem, ...]:
    """Return why a job that is offered may not be: a problem for each failed check that nobody accepted.

    Parameters
    ----------
    inputs : JobInputs
        The job and its acceptances.
    findings : iterable of Finding
        What its estimate found.

    Returns
    -------
    tuple of Problem
        At the job's row; empty for a job of any other status.
    """
    job = inputs.job
    if job.status != "offered":
        return ()
    return tuple(
        job.place.problem(
            "status",
            f"job {job.job} is offered, but a check has failed: {one}. Mend it, or let a named person accept it, in "
            f"acceptances.csv or the workbook's accepted checks: {job.job},{one.rule},{one.where},PERSON,REASON,DATE",
        )
        for one in open_failures(inputs, findings)
    )
