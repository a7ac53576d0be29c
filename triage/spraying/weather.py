"""Daily weather from a file: NOAA GHCN-Daily by-station CSV, or a plain CSV. Inside: C, mm, km/h, %.

Layout, units and flags of GHCN-Daily: ghcn_by_station, ghcn_readme. The plain CSV is our own: a
header with date, tmin, tmax, rain and, if you have them, wind and humidity.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Literal

from triage.reasoning.yaml_text import BadInput, Problem, read_text

Units = Literal["metric", "us"]

_INCH, _MILE, _METRE_A_SECOND = 25.4, 1.609344, 3.6  # in mm, km and km/h
_MISSING = {"", "na", "n/a", "nan", "-9999", "9999", "-9999.0", "9999.0", "9999.9"}
_TRACE = {"t", "trace"}
_MOST_PROBLEMS = 5

# GHCN-Daily elements and what one unit of theirs is in ours. AWND and RHAV from memory.
_ELEMENTS = {"TMAX": 0.1, "TMIN": 0.1, "PRCP": 0.1, "AWND": 0.1 * _METRE_A_SECOND, "RHAV": 1.0}
_FIELDS = {"TMAX": "high", "TMIN": "low", "PRCP": "rain", "AWND": "wind", "RHAV": "humidity"}
_STATION = re.compile(r"[A-Z0-9_-]{11}")

# Our columns, each with the units its header may name: factor and offset to C, mm, km/h or %.
_COLUMNS: dict[str, dict[str, tuple[float, float]]] = {
    "tmin": {"c": (1, 0), "f": (5 / 9, -160 / 9)},
    "tmax": {"c": (1, 0), "f": (5 / 9, -160 / 9)},
    "rain": {"mm": (1, 0), "in": (_INCH, 0), "inch": (_INCH, 0), "inches": (_INCH, 0)},
    "wind": {"kmh": (1, 0), "mph": (_MILE, 0), "ms": (_METRE_A_SECOND, 0)},
    "humidity": {"": (1, 0), "pct": (1, 0), "percent": (1, 0)},
}
_PLAIN_FIELDS = {"tmin": "low", "tmax": "high", "rain": "rain", "wind": "wind", "humidity": "humidity"}
_IF_UNNAMED: dict[Units, dict[str, str]] = {
    "metric": {"tmin": "c", "tmax": "c", "rain": "mm", "wind": "kmh"},
    "us": {"tmin": "f", "tmax": "f", "rain": "in", "wind": "mph"},
}
# Outside these a figure is a slip of the pen or of the unit: judgement.
_BOUNDS = {"low": (-60, 60), "high": (-60, 60), "rain": (0, 2000), "wind": (0, 400), "humidity": (0, 100)}


@dataclass(frozen=True)
class Day:
    """One day. None: not known. `trace`: rain too little to measure. `asked`: a rough answer, nothing measured."""

    on: date
    low: float | None = None
    high: float | None = None
    rain: float | None = None
    wind: float | None = None
    humidity: float | None = None
    trace: bool = False
    asked: bool = False
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Weather:
    """Days by date, oldest first, from one file."""

    file: str
    days: tuple[Day, ...]
    _by_date: dict[date, Day] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_by_date", {day.on: day for day in self.days})

    def on(self, day: date) -> Day | None:
        return self._by_date.get(day)

    @property
    def first(self) -> date:
        return self.days[0].on

    @property
    def last(self) -> date:
        return self.days[-1].on

    @property
    def gaps(self) -> list[tuple[date, date]]:
        """First and last day of each stretch of days that the file leaves out."""
        one = timedelta(days=1)
        return [(a.on + one, b.on - one) for a, b in pairwise(self.days) if b.on - a.on > one]

    def temperatures(self, start: date, end: date | None = None) -> list[tuple[float, float] | None]:
        """Lowest and highest (C) of each day from `start` to `end` (the last of the file), None where unknown."""
        end = end or self.last
        found: list[tuple[float, float] | None] = []
        for n in range((end - start).days + 1):
            day = self.on(start + timedelta(days=n))
            known = day is not None and day.low is not None and day.high is not None
            found.append((day.low, day.high) if known else None)  # type: ignore[union-attr, arg-type]
        return found


def read_weather(path: Path, units: Units | None = None) -> Weather:
    """Read either format. `units` is for a plain file whose header does not name them.

    Raises BadInput that names file, line and column.
    """
    name = str(path)
    lines = read_text(path).removeprefix("\ufeff").splitlines()
    try:
        rows = list(_rows(lines))
    except csv.Error as error:
        raise _bad(name, None, "", f"is not a CSV file: {error}") from None
    if not rows:
        raise _bad(name, None, "", "holds no weather", "first a line of column names, then one line a day")
    first = [cell.upper() for cell in rows[0][1]]
    if any(cell.endswith("_ATTRIBUTES") for cell in first):
        wrong = "is the station file with one column an element, which this program does not read"
        raise _bad(name, rows[0][0], "", wrong, "get the GHCN-Daily by-station file, or make a plain CSV")
    if {"ELEMENT", "DATA_VALUE"} <= set(first):
        rows = rows[1:]
    elif not (len(first) >= 4 and _STATION.fullmatch(first[0]) and re.fullmatch(r"\d{8}", first[1])):
        return _plain(name, rows, units)
    return _ghcn(name, rows)


def _rows(lines: Sequence[str]) -> Iterator[tuple[int, list[str]]]:
    """Line number and cells of each line that holds any. A line that begins with # is a remark."""
    heads = [line for line in lines if line.strip() and not line.lstrip().startswith("#")]
    mark = ";" if heads and heads[0].count(";") > heads[0].count(",") else ","
    reader = csv.reader(("" if line.lstrip().startswith("#") else line for line in lines), delimiter=mark)
    for cells in reader:
        if any(cell.strip() for cell in cells):
            yield reader.line_num, [cell.strip() for cell in cells]


def _bad(file: str, line: int | None, column: str, wrong: str, mend: str = "") -> BadInput:
    return BadInput([Problem(file, line, column, wrong, mend)])


def _ghcn(name: str, rows: Sequence[tuple[int, list[str]]]) -> Weather:
    """One element of one day a line. A value counts only when its quality flag is blank (ghcn_readme)."""
    days: dict[date, Day] = {}
    seen: set[tuple[date, str]] = set()
    station = rows[0][1][0] if rows else ""
    for line, cells in rows:
        if len(cells) < 4:
            raise _bad(name, line, "", "has fewer than four fields", "station, date, element, value, then flags")
        if cells[0] != station:
            raise _bad(name, line, "station", f"{cells[0]} after {station}", "one station a file")
        element = cells[2].upper()
        on = _compact_date(name, line, cells[1])
        if element not in _ELEMENTS:
            continue
        if (on, element) in seen:
            raise _bad(name, line, element, f"{on} stands twice", "take one of them out")
        seen.add((on, element))
        days[on] = _with_element(name, line, days.get(on, Day(on)), element, [*cells, "", "", ""])
    if not days:
        raise _bad(name, None, "", "holds none of TMAX, TMIN and PRCP", "is it a daily file?")
    return Weather(name, tuple(_no_crossed(days[on]) for on in sorted(days)))


def _with_element(name: str, line: int, day: Day, element: str, cells: Sequence[str]) -> Day:
    measured, quality = cells[4].upper(), cells[5].upper()
    if not re.fullmatch(r"-?\d+", cells[3]):
        raise _bad(name, line, element, f"“{cells[3]}” is not a whole number")
    if cells[3] in _MISSING:
        return day
    if quality:
        return replace(day, notes=(*day.notes, f"{element} left out: it failed the station's check {quality}"))
    if element == "PRCP" and measured == "A":
        return replace(day, notes=(*day.notes, "rain left out: a total of several days"))
    value = round(int(cells[3]) * _ELEMENTS[element], 4)
    if element == "PRCP":
        return replace(day, rain=value, trace=measured == "T")
    return replace(day, **{_FIELDS[element]: value})  # type: ignore[arg-type]


def _no_crossed(day: Day) -> Day:
    """A lowest above the highest is rejected, never swapped."""
    if day.low is None or day.high is None or day.low <= day.high:
        return day
    return replace(day, low=None, high=None, notes=(*day.notes, "temperatures left out: lowest above highest"))


def _plain(name: str, rows: Sequence[tuple[int, list[str]]], units: Units | None) -> Weather:
    turns = _columns(name, *rows[0], units)
    days: dict[date, Day] = {}
    problems: list[Problem] = []
    for line, cells in rows[1:]:
        try:
            day = _plain_day(name, line, cells, turns, days)
            days[day.on] = day
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems[:_MOST_PROBLEMS])
    if not days:
        raise _bad(name, None, "", "holds no days", "one line a day below the column names")
    return Weather(name, tuple(days[on] for on in sorted(days)))


_Turns = dict[int, tuple[str, float, float]]


def _columns(name: str, line: int, header: Sequence[str], units: Units | None) -> _Turns:
    """Which column is what, and how to turn it into our unit. Column 'date' has no turn."""
    turns: _Turns = {}
    for at, cell in enumerate(header):
        word, unit = _split_header(cell)
        if word == "date":
            turns[at] = ("date", 1, 0)
        if word not in _COLUMNS:
            continue  # other columns are nobody's harm
        if _PLAIN_FIELDS[word] in (field_ for field_, _, _ in turns.values()):
            raise _bad(name, line, cell, "stands twice", "keep one")
        known = _COLUMNS[word]
        if not unit and "" not in known:
            if units is None:
                ways = " or ".join(f"{word}_{way}" for way in list(known)[:2])
                raise _bad(name, line, cell, "does not say its unit", f"write {ways}, or give --units")
            unit = _IF_UNNAMED[units][word]
        if unit not in known:
            raise _bad(name, line, cell, f"the unit “{unit}” is not known", "use " + ", ".join(known))
        turns[at] = (_PLAIN_FIELDS[word], *known[unit])
    for need, word in (("date", "date"), ("low", "tmin"), ("high", "tmax")):
        if need not in (field_ for field_, _, _ in turns.values()):
            raise _bad(name, line, "", f"there is no column {word}", "wanted: date, tmin, tmax, rain")
    return turns


def _split_header(cell: str) -> tuple[str, str]:
    """“tmin (F)”, “rain_in”, “Wind km/h” to a word and a unit."""
    flat = re.sub(r"[°/%().\[\]]", "", cell.lower()).replace("deg", "")
    word, _, unit = re.sub(r"[\s_]+", " ", flat).strip().partition(" ")
    return {"rh": "humidity", "precip": "rain"}.get(word, word), unit.replace(" ", "")


def _plain_day(name: str, line: int, cells: Sequence[str], turns: _Turns, days: dict[date, Day]) -> Day:
    values: dict[str, float] = {}
    on, trace = None, False
    for at, (what, factor, offset) in turns.items():
        cell = cells[at] if at < len(cells) else ""
        if what == "date":
            on = _iso_date(name, line, cell)
        elif what == "rain" and cell.lower() in _TRACE:
            values["rain"], trace = 0.0, True
        elif cell.lower() not in _MISSING:
            value = round(_number(name, line, what, cell) * factor + offset, 4)
            low, high = _BOUNDS[what]
            if not low <= value <= high:
                raise _bad(name, line, what, f"{cell} cannot be", "check the figure and its unit")
            values[what] = value
    assert on is not None
    if on in days:
        raise _bad(name, line, "date", f"{on} stands twice", "keep one line a day")
    day = Day(on, trace=trace, **values)  # type: ignore[arg-type]
    if day.low is not None and day.high is not None and day.low > day.high:
        raise _bad(name, line, "tmin", "the lowest temperature is above the highest", "were they swapped?")
    return day


def _number(name: str, line: int, what: str, cell: str) -> float:
    if not re.fullmatch(r"[+-]?\d+([.,]\d+)?", cell):
        raise _bad(name, line, what, f"“{cell}” is not a number", "leave it empty if you do not know it")
    return float(cell.replace(",", "."))


def _iso_date(name: str, line: int, cell: str) -> date:
    try:
        return date.fromisoformat(cell)
    except ValueError:
        raise _bad(name, line, "date", f"“{cell}” is not a date", "year-month-day, such as 2026-07-04") from None


def _compact_date(name: str, line: int, cell: str) -> date:
    try:
        return date(int(cell[:4]), int(cell[4:6]), int(cell[6:8]))
    except ValueError:
        raise _bad(name, line, "date", f"“{cell}” is not a date", "YYYYMMDD") from None
