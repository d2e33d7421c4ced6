"""What a book says of rain, posts, the adopted code and accepted checks, settled and checked against the rest of it."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Sequence
from dataclasses import replace
from typing import Protocol

from baybook.job.rates import Rates
from baybook.job.records import CAN_FAIL, Acceptance, Area, CodeRow, Job, JobInputs, Place, Post, RainSource
from baybook.numbers import same_or_less
from baybook.problems import OutOfRange

__all__ = ["SourceRain", "check_codes", "with_drainage"]

Say = Callable[[Place, str, str], None]


class SourceRain(Protocol):
    """The rain of one point as a file reader gives it."""

    @property
    def point(self) -> str:
        """File, volume, point and series, for a person."""
        ...

    def intensity(self, duration_min: int, ari_years: int) -> float:
        """Return an intensity [in/h]; `OutOfRange` if the file has none."""
        ...


def _maybe(rain: SourceRain, duration_min: int, years: int) -> float | None:
    try:
        return rain.intensity(duration_min, years)
    except OutOfRange:
        return None


def settle_rain(job: Job, rates: Rates, rain: SourceRain | None, advice: str, say: Say) -> tuple[Job, RainSource]:
    """W1. The job's design rain: as typed, else of the point's file at the duration and interval the rates give.

    Parameters
    ----------
    job : Job
        With a rain of 0 where none was typed.
    rates : Rates
        ``rain_duration_min`` and ``rain_return_years``.
    rain : SourceRain or None
        The point's file.
    advice : str
        Where else a rain may be found, added to the problem of a job that has none.
    say : callable
        Told place, column and sentence of a problem.

    Returns
    -------
    tuple of Job and RainSource
        The job with its rain, and where that comes from.
    """
    years = rates.rain_return_years
    beside = (None, None) if rain is None else (_maybe(rain, 60, years), _maybe(rain, 5, years))
    if job.rain_in_per_h > 0:
        return job, RainSource(years=years if rain else 0, hour_in_per_h=beside[0], five_minutes_in_per_h=beside[1])
    if rain is None:
        say(
            job.place,
            "rainfall",
            "is empty: type the design rain with its unit (4.7 in/h, 120 mm/h), or put NOAA Atlas 14's file of the "
            f"point in the book as rainfall.csv{advice}",
        )
        return job, RainSource()
    try:
        value = rain.intensity(rates.rain_duration_min, years)
    except OutOfRange as found:
        say(job.place, "rainfall", f"{found}: change rain_duration_min or rain_return_years in rates.csv")
        return job, RainSource()
    text = f"{rain.point}, {rates.rain_duration_min} min, {years} years"
    return replace(job, rain_in_per_h=value), RainSource(text, years, *beside)


def check_posts(posts: Iterable[Post], areas: Iterable[Area], written: Container[tuple[str, str]], say: Say) -> None:
    """Hold posts to the areas they stand in; an area that could not be read was reported where it stands."""
    by_name = {area.area.casefold(): area for area in areas}
    for post in posts:
        area = by_name.get(post.area.casefold())
        if area is None:
            if (post.job.casefold(), post.area.casefold()) not in written:
                known = ", ".join(one.area for one in by_name.values())
                say(post.place, "area", f"{post.area!r} is no area of job {post.job}: it has {known}")
            continue
        for column, value, most, what in (
            ("x", post.x_in, area.width_in, "wide"),
            ("y", post.y_in, area.projection_in, "deep"),
        ):
            if not same_or_less(value, most):
                say(post.place, column, f"{value / 12:g} ft lies outside area {area.area}, {most / 12:g} ft {what}")


def check_codes(rows: Sequence[CodeRow], say: Say) -> None:
    """W2. Hold a typed code table to one value a row, one row a size and fall, and one edition a kind."""
    seen: dict[tuple[str, str, str, float | None], CodeRow] = {}
    named: dict[tuple[str, str], CodeRow] = {}
    for row in rows:
        if (row.capacity_gpm is None) == (row.area_sq_ft is None):
            say(row.place, "capacity_gpm", "give capacity_gpm or area_sq_ft (at 1 in/h), one of the two")
        if row.kind == "leader" and row.fall_in_per_ft is not None:
            say(row.place, "fall", "a leader stands upright: leave the fall empty")
        key = (row.job.casefold(), row.kind, row.size.casefold(), row.fall_in_per_ft)
        first = seen.setdefault(key, row)
        if first is not row:
            say(row.place, "size", f"{row.size} stands already in line {first.place.line} for the same fall: keep one")
        other = named.setdefault(key[:2], row)
        if (other.code.casefold(), other.edition.casefold()) != (row.code.casefold(), row.edition.casefold()):
            say(
                row.place,
                "edition",
                f"{row.code} {row.edition} stands beside {other.code} {other.edition} of line {other.place.line}: "
                "editions differ by a factor of two; keep the adopted one",
            )


def codes_of(job: str, rows: Sequence[CodeRow]) -> tuple[CodeRow, ...]:
    """W2. The code rows of a job: its own, and of a kind it has none of those for all jobs."""
    mine = [row for row in rows if row.job.casefold() == job.casefold()]
    own = {row.kind for row in mine}
    return tuple(row for row in rows if row in mine or (not row.job and row.kind not in own))


def settle_acceptances(rows: Iterable[Acceptance], say: Say) -> tuple[Acceptance, ...]:
    """Return acceptances with their rule as rules are written; one of a rule that cannot fail is a problem."""
    settled = [replace(row, rule=row.rule.upper()) for row in rows]
    seen: dict[tuple[str, str], Acceptance] = {}
    for row in settled:
        if row.rule not in CAN_FAIL:
            say(row.place, "rule", f"{row.rule!r} has no check that fails: use {', '.join(CAN_FAIL)}")
        first = seen.setdefault((row.rule, row.where.casefold()), row)
        if first is not row:
            say(
                row.place,
                "where",
                f"{row.rule} at {row.where} is accepted already in line {first.place.line}: keep one",
            )
    return tuple(settled)


def with_drainage(
    inputs: JobInputs,
    posts: Sequence[Post],
    codes: Sequence[CodeRow],
    acceptances: Sequence[Acceptance],
    rain: SourceRain | None,
    advice: Callable[[str], str],
    written: Container[tuple[str, str]],
    say: Say,
) -> JobInputs:
    """Return a job with its rain settled, its posts, the adopted code's rows and the accepted checks.

    Parameters
    ----------
    inputs : JobInputs
        The job as read so far.
    posts, acceptances
        Its own rows.
    codes : sequence of CodeRow
        Those of the whole book.
    rain : SourceRain or None
        The point's file.
    advice : callable
        Site to what else is known of its rain.
    written : container of (job, area)
        Areas that stand in the book, readable or not, without case.
    say : callable
        Told place, column and sentence of a problem.

    Returns
    -------
    JobInputs
        The whole job.
    """
    job, source = settle_rain(inputs.job, inputs.rates, rain, advice(inputs.job.site), say)
    check_posts(posts, inputs.areas, written, say)
    return replace(
        inputs,
        job=job,
        rain=source,
        posts=tuple(posts),
        codes=codes_of(job.job, codes),
        acceptances=settle_acceptances(acceptances, say),
    )
