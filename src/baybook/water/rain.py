"""Design rain: NOAA Atlas 14 point estimates as they download, and published city values as suggestions.

The 5-minute rain of a place is about four times its 60-minute rain: a method is good only with the duration it was
made for.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from baybook.data import table
from baybook.problems import BookError, OutOfRange, Problem
from baybook.units import MM_PER_IN

__all__ = ["RainTable", "Suggestion", "no_coverage", "parse_atlas14", "rain_advice", "suggestions"]

_NOT_COVERED = {"ID": "Idaho", "MT": "Montana", "OR": "Oregon", "WA": "Washington", "WY": "Wyoming"}
_MINUTES = {"min": 1, "hr": 60, "day": 1440}
_UNITS = {"inches": ("depth", "in"), "millimeters": ("depth", "mm")}
_UNITS |= {f"{name}/hour": ("intensity", unit) for name, (_, unit) in _UNITS.items()}
_TITLE = re.compile(r"point precipitation frequency estimates \((.+?)\)", re.IGNORECASE)
_COLUMNS = re.compile(r"by duration for (ARI|AEP)[^,]*,(.*)", re.IGNORECASE)
_ROW = re.compile(r"([0-9]{1,4})-(min|hr|day):?\s*,(.*)", re.IGNORECASE | re.ASCII)
_KEY = re.compile(r"([A-Za-z][A-Za-z ()]*?)\s*:\s*(.*)")
_NUMBER = re.compile(r"-?[0-9]{1,6}(?:\.[0-9]{1,12})?")


@dataclass(frozen=True, slots=True)
class RainTable:
    """Rain of one place by duration and average recurrence interval, as NOAA Atlas 14 gives it.

    Parameters
    ----------
    source : str
        The file it came from.
    volume : str
        Volume and version, such as ``NOAA Atlas 14 Volume 8 Version 2``.
    series : str
        ``Partial duration`` or ``Annual maximum``, as the file says; an annual-maximum file's chance of 1/10 a year
        stands here as 10 years.
    data_type : str
        ``depth`` or ``intensity``: what the file holds.
    unit : str
        ``in`` or ``mm``, of depth or an hour.
    latitude, longitude : float
        The point. [deg]
    values : dict of (duration_min, ari_years) to float
        As read, in the file's own type and unit.
    """

    source: str
    volume: str
    series: str
    data_type: str
    unit: str
    latitude: float
    longitude: float
    values: dict[tuple[int, int], float]

    @property
    def durations_min(self) -> tuple[int, ...]:
        """Durations, short to long. [min]."""
        return tuple(sorted({duration for duration, _ in self.values}))

    @property
    def aris_years(self) -> tuple[int, ...]:
        """Average recurrence intervals, short to long. [years]."""
        return tuple(sorted({ari for _, ari in self.values}))

    @property
    def point(self) -> str:
        """File, volume, point and series, for a person."""
        series = f", {self.series.lower()}" if self.series else ""
        return f"{self.source}: {self.volume}, {self.latitude:g}, {self.longitude:g}{series}"

    def intensity(self, duration_min: int, ari_years: int) -> float:
        """Return the intensity of a duration and average recurrence interval that stands in the file.

        Parameters
        ----------
        duration_min : int
            Duration. [min]
        ari_years : int
            Average recurrence interval. [years]

        Returns
        -------
        float
            Intensity, not rounded: depth times 60 over the minutes, millimetres over 25.4. [in/h]

        Raises
        ------
        OutOfRange
            If the file has no such row or column; nothing is read between two of them.
        """
        if duration_min not in self.durations_min:
            has = ", ".join(map(str, self.durations_min))
            raise OutOfRange(f"duration_min is {duration_min:g}; {self.source} has {has} min")
        if ari_years not in self.aris_years:
            has = ", ".join(map(str, self.aris_years))
            raise OutOfRange(f"ari_years is {ari_years:g}; {self.source} has {has} years")
        value = self.values[duration_min, ari_years] / (MM_PER_IN if self.unit == "mm" else 1.0)
        return value * 60 / duration_min if self.data_type == "depth" else value


def parse_atlas14(text: str, source: str = "rainfall.csv") -> RainTable:
    """Read a NOAA Atlas 14 point estimate as it downloads: partial duration or annual maximum, depth or intensity.

    Parameters
    ----------
    text : str
        The file's text.
    source : str
        The file's name, for messages.

    Returns
    -------
    RainTable
        What the file says; units and type by its own first line.

    Raises
    ------
    BookError
        With all that is wrong, or that the place is not covered.

    References
    ----------
    .. [1] NOAA Atlas 14, Precipitation-Frequency Atlas of the United States, point data server.
    """
    lines = [line.strip().lstrip("\ufeff") for line in re.split(r"\r\n|\n|\r", text)]
    if any("not within a project area" in line.lower() for line in lines):
        states = ", ".join(_NOT_COVERED.values())
        message = f"the file says NOAA Atlas 14 does not cover this place ({states} are not): {_TYPE_IT}"
        raise BookError(Problem(source, 0, "rainfall", message))
    if not any(_TITLE.search(line) or _COLUMNS.match(line) for line in lines):
        raise BookError(Problem(source, 1, "rainfall", "this is no NOAA Atlas 14 file; download the point's CSV again"))
    head, problems = _head(lines, source)
    values, more = _values(lines, source)
    problems += more
    if not problems:
        problems += _contradictions(values, head["data type"], source)
    if problems:
        raise BookError(problems)
    latitude, longitude = float(head["latitude"]), float(head["longitude"])
    series = head.get("time series type", "")
    return RainTable(source, head["volume"], series, head["data type"], head["unit"], latitude, longitude, values)


def _head(lines: list[str], source: str) -> tuple[dict[str, str], list[Problem]]:
    """Volume, series, type, unit and point from the lines before the table."""
    found: dict[str, str] = {}
    places: dict[str, int] = {}
    for number, line in enumerate(lines, start=1):
        if title := _TITLE.search(line):
            found["title"], places["title"] = title[1].strip().lower(), number
        elif line.lower().startswith("noaa atlas 14"):
            found["volume"] = line.rstrip(", ")
        elif _COLUMNS.match(line):
            break
        elif pair := _KEY.fullmatch(line.rstrip(", ")):
            key = pair[1].lower()
            found[key], places[key] = pair[2].strip(), number
    problems = _point(found, places, source)
    what, found["unit"] = _UNITS.get(found.get("title", ""), ("", ""))
    if not what:
        message = (
            "the first line must be 'Point precipitation frequency estimates (inches)', (inches/hour) or the same "
        )
        message += "in millimeters, as NOAA Atlas 14 files begin"
        problems.append(Problem(source, places.get("title", 1), "units", message))
    stated = found.get("data type", "").lower()
    if what and stated and what not in stated:
        message = f"the first line speaks of {what}, this line of '{found['data type']}': download the file again"
        problems.append(Problem(source, places["data type"], "data type", message))
    found["data type"] = what
    return found, problems


def _point(found: dict[str, str], places: dict[str, int], source: str) -> list[Problem]:
    """Check the volume and the point, and keep the degrees alone."""
    problems = []
    if not found.setdefault("volume", ""):
        problems.append(Problem(source, 0, "volume", "no line names the NOAA Atlas 14 volume; download the file again"))
    for key, most in (("latitude", 90), ("longitude", 180)):
        degrees = _NUMBER.match(found.get(key, ""))
        if degrees and abs(float(degrees[0])) <= most:
            found[key] = degrees[0]
        else:
            message = f"'{found.get(key, '')}' is no {key}; the file must have a line like '{key.title()}: 39.0 Degree'"
            problems.append(Problem(source, places.get(key, 0), key, message))
    return problems


def _values(lines: list[str], source: str) -> tuple[dict[tuple[int, int], float], list[Problem]]:
    """Values by duration and interval, from the first table of the file."""
    start = next((index for index, line in enumerate(lines) if _COLUMNS.match(line)), None)
    columns = _COLUMNS.match(lines[start]) if start is not None else None
    if start is None or columns is None:
        message = "no line begins 'by duration for ARI (years):'; download the file from NOAA Atlas 14 as CSV"
        return {}, [Problem(source, 0, "durations", message)]
    aris, problems = _intervals(columns[1], columns[2], source, start + 1)
    if problems:
        return {}, problems
    values: dict[tuple[int, int], float] = {}
    for number, line in enumerate(lines[start + 1 :], start=start + 2):
        row = _ROW.fullmatch(line)
        if not row:
            if values:
                break
            continue
        cells = [cell.strip() for cell in row[3].rstrip(", ").split(",")]
        duration = int(row[1]) * _MINUTES[row[2].lower()]
        field = f"{row[1]}-{row[2]}"
        numbers = [float(cell) for cell in cells if _NUMBER.fullmatch(cell)]
        if len(numbers) != len(cells) or len(cells) != len(aris) or min(numbers) <= 0 or duration == 0:
            message = f"'{line}' must hold a duration and {len(aris)} numbers over 0, one for each interval above"
            problems.append(Problem(source, number, field, message))
        elif any((duration, ari) in values for ari in aris):
            problems.append(Problem(source, number, field, "this duration stands twice; keep one row"))
        else:
            values |= {(duration, ari): value for ari, value in zip(aris, numbers, strict=True)}
    if not values and not problems:
        problems.append(
            Problem(
                source, start + 1, "durations", "no row such as '60-min:, 0.690,0.818' follows: download the file again"
            )
        )
    return values, problems


def _intervals(kind: str, text: str, source: str, number: int) -> tuple[list[int], list[Problem]]:
    """Intervals in years: whole numbers, or chances written '1/10 in an annual-maximum file."""
    shape = re.compile(r"'?1/([0-9]{1,6})" if kind.upper() == "AEP" else r"([0-9]{1,6})")
    cells = [cell.strip() for cell in text.rstrip(", ").split(",")]
    found = [shape.fullmatch(cell) for cell in cells]
    years = [int(match[1]) for match in found if match]
    if len(years) == len(cells) and years[0] > 0 and years == sorted(set(years)):
        return years, []
    message = f"'{text.strip()}' must be the intervals in years, rising, as 1,2,5,10,25,50,100"
    return years, [Problem(source, number, "intervals", message)]


def _contradictions(values: dict[tuple[int, int], float], what: str, source: str) -> list[Problem]:
    """Depth grows with duration and intensity falls; both grow with the interval."""
    durations = sorted({duration for duration, _ in values})
    aris = sorted({ari for _, ari in values})
    sign = 1 if what == "depth" else -1
    for ari in aris:
        column = [sign * values[duration, ari] for duration in durations]
        if column != sorted(column):
            way = "grow" if what == "depth" else "fall"
            message = f"the first line speaks of {what}, but the {ari}-year values do not {way} with the duration"
            return [Problem(source, 0, "data type", f"{message}: download the file again")]
    for duration in durations:
        row = [values[duration, ari] for ari in aris]
        if row != sorted(row):
            message = f"the {duration}-minute values do not grow with the interval: download the file again"
            return [Problem(source, 0, "intervals", message)]
    return []


_TYPE_IT = "type the intensity the adopted code or the local building department gives"


def no_coverage(state: str) -> str:
    """Return the sentence to show for a state NOAA Atlas 14 does not cover.

    Parameters
    ----------
    state : str
        Postal abbreviation or name.

    Returns
    -------
    str
        The sentence; empty for any other state.

    Examples
    --------
    >>> no_coverage("OR")[:44]
    'NOAA Atlas 14 has no estimates for Oregon as'
    >>> no_coverage("CO")
    ''
    """
    named = state.strip().casefold()
    for short, name in _NOT_COVERED.items():
        if named in {short.casefold(), name.casefold()}:
            return f"NOAA Atlas 14 has no estimates for {name} as far as this table knows: {_TYPE_IT}"
    return ""


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A published rain of a city: shown as a suggestion, never used unless typed.

    Parameters
    ----------
    place, state : str
        City and postal abbreviation of its state.
    rain_in_per_h : float
        Intensity. [in/h]
    duration_min : int
        Its duration. [min]
    ari_years : int
        Its average recurrence interval. [years]
    basis : str
        Source, edition, clause and page.
    """

    place: str
    state: str
    rain_in_per_h: float
    duration_min: int
    ari_years: int
    basis: str


def suggestions(state: str = "") -> tuple[Suggestion, ...]:
    """Return published city rains to suggest.

    Parameters
    ----------
    state : str
        Postal abbreviation; empty for all.

    Returns
    -------
    tuple of Suggestion
        In the table's order; empty if none is published here.

    Examples
    --------
    >>> suggestions("GA")[0].basis
    'suggestion: International Plumbing Code 2018, Appendix B, p. 129'

    References
    ----------
    .. [1] International Plumbing Code, 2018, Appendix B, p. 129.
    """
    wanted = state.strip().upper()
    return tuple(
        Suggestion(
            row["place"],
            row["state"],
            float(row["value"]),
            int(row["duration_min"]),
            int(row["ari_years"]),
            f"suggestion: {row['source']} {row['edition']}, {row['clause']}, p. {row['page']}",
        )
        for row in table("rain_cities")
        if not wanted or row["state"] == wanted
    )


_STATE = re.compile(r"\b([A-Z]{2})(?:\s+[0-9]{5}(?:-[0-9]{4})?)?\s*$")


def rain_advice(site: str) -> str:
    """Return what to add where a job has no rain: published values of its state, or that the atlas leaves it out.

    Parameters
    ----------
    site : str
        The site as typed; its state is read off a postal abbreviation at its end.

    Returns
    -------
    str
        A sentence in brackets; a suggestion is never used unless typed.

    Examples
    --------
    >>> rain_advice("4 Spruce Way, Boise ID 83702")[:46]
    ' (NOAA Atlas 14 has no estimates for Idaho as '
    """
    state = _STATE.search(site)
    if state is None:
        return f" (it does not cover {', '.join(_NOT_COVERED.values())})"
    found = suggestions(state[1])
    named = "; ".join(f"{one.place} {one.rain_in_per_h:g} in/h" for one in found)
    last = found[-1] if found else None
    said = [no_coverage(state[1])]
    if last:
        said.append(f"{last.basis}, {last.duration_min} min, {last.ari_years} years: {named}; used only if you type it")
    words = "; ".join(filter(None, said))
    return f" ({words})" if words else ""
