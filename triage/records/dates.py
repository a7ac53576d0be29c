"""Days as people say them: today, yesterday, last tuesday, 3 days ago, 3 aug, 2026-08-03.

Only calendar days are reckoned with, never hours, so a change of the clocks moves nothing.
"""

from __future__ import annotations

import calendar
import re
from datetime import date, timedelta

from triage.reasoning.yaml_text import BadInput, Problem

_DAYS = {name.lower(): number for number, name in enumerate(calendar.day_name)}
_MONTHS = {name.lower(): number for number, name in enumerate(calendar.month_name) if name}
_COUNTS = {"a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7}
_LEAP_GAP = 8  # years between leap days at most, around a year such as 2100
_MEND = "say today, yesterday, last tuesday, 3 days ago, 3 aug, or 2026-08-03"


def parse_date(text: str, today: date, field: str = "date", future: bool = False) -> date:
    """The day meant by `text`, seen from `today`.

    A weekday alone is the latest one up to today; with "last" it is before today. A day without
    a year is the latest such day up to today. Raises BadInput for anything else, for days that
    do not exist or can be read in two ways, and for days to come unless `future`.
    """
    words = " ".join(text.lower().replace(",", " ").split())
    try:
        found = _relative(words, today) or _weekday(words, today, future) or _calendar(words, today, future)
    except _Wrong as wrong:
        raise _bad(field, text, wrong.says, wrong.mend) from None
    except OverflowError:
        raise _bad(field, text, "is too far away", _MEND) from None
    if found is None:
        raise _bad(field, text, "is no date", _MEND)
    if found > today and not future:
        raise _bad(field, text, f"is {found.isoformat()}, a day to come", "only what has been is kept")
    return found


class _Wrong(Exception):
    def __init__(self, says: str, mend: str = _MEND) -> None:
        super().__init__(says)
        self.says, self.mend = says, mend


def _relative(words: str, today: date) -> date | None:
    fixed = {"today": 0, "now": 0, "yesterday": -1, "the day before yesterday": -2, "day before yesterday": -2}
    fixed["tomorrow"] = 1
    if words in fixed:
        return today + timedelta(days=fixed[words])
    ago = re.fullmatch(r"(\w+) (day|week)s? ago", words)
    ahead = re.fullmatch(r"in (\w+) (day|week)s?", words)
    match = ago or ahead
    if match is None:
        return None
    number = int(match[1]) if match[1].isascii() and match[1].isdigit() else _COUNTS.get(match[1])
    if number is None:
        return None
    days = number * (7 if match[2] == "week" else 1)
    return today + timedelta(days=-days if ago else days)


def _weekday(words: str, today: date, future: bool) -> date | None:
    match = re.fullmatch(r"(?:(last|this|next|on) )?([a-z]+)", words)
    number = _named(match[2], _DAYS) if match else None
    if match is None or number is None:
        return None
    if match[1] == "next" and future:
        return today + timedelta(days=(number - today.weekday() - 1) % 7 + 1)
    if match[1] == "last":
        return today - timedelta(days=(today.weekday() - number - 1) % 7 + 1)
    if match[1] == "next":
        return None
    return today - timedelta(days=(today.weekday() - number) % 7)


def _calendar(words: str, today: date, future: bool) -> date | None:
    words = re.sub(r"\b(\d{1,2})(?:st|nd|rd|th)\b", r"\1", words).replace(" of ", " ")
    if match := re.fullmatch(r"(\d{4})-(\d{1,2})-(\d{1,2})", words):
        return _day(int(match[1]), int(match[2]), int(match[3]))
    if match := re.fullmatch(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4})", words):
        return _two_numbers(int(match[1]), int(match[3]), int(match[4]), dotted=match[2] == ".")
    if match := re.fullmatch(r"(?:[a-z]+ )?(\d{1,2})\.? ([a-z]+)\.?(?: (\d{4}))?", words):
        return _with_month(match[2], int(match[1]), match[3], today, future)
    if match := re.fullmatch(r"([a-z]+)\.? (\d{1,2})(?: (\d{4}))?", words):
        return _with_month(match[1], int(match[2]), match[3], today, future)
    return None


def _two_numbers(first: int, second: int, year: int, dotted: bool) -> date:
    """12.8.2026 is a day first everywhere; with slashes it is told only when it can be read one way."""
    if dotted or first > 12 or first == second:
        return _day(year, second, first)
    if second > 12:
        return _day(year, first, second)
    raise _Wrong("can be read in two ways", f"write {year}-{second:02}-{first:02} or {year}-{first:02}-{second:02}")


def _with_month(name: str, day: int, year: str | None, today: date, future: bool) -> date | None:
    month = _named(name, _MONTHS)
    if month is None:
        return None
    if year is not None:
        return _day(int(year), month, day)
    # Days come and go (29 February): look through the years for the latest that has it.
    step = 1 if future else -1
    for years in range(_LEAP_GAP + 1):
        try:
            found = date(today.year + step * years, month, day)
        except ValueError:
            continue
        if (found >= today) if future else (found <= today):
            return found
    raise _Wrong("is a day that no year has")


def _day(year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError:
        raise _Wrong("is a day that does not exist", "check the day and the month") from None


def _named(word: str, names: dict[str, int]) -> int | None:
    """A name or the first letters of one, three at least: tue, tues, tuesday."""
    found = [number for name, number in names.items() if len(word) >= 3 and name.startswith(word)]
    return found[0] if len(found) == 1 else None


def _bad(field: str, text: str, wrong: str, mend: str) -> BadInput:
    return BadInput([Problem(field, None, "", f"'{text}' {wrong}", mend)])
