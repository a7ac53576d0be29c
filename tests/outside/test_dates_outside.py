"""Days against GNU date, python-dateutil and the time-zone database: leap days, year ends, clock changes."""

from __future__ import annotations

import os
import shutil
import subprocess
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil.relativedelta import FR, MO, SA, SU, TH, TU, WE, relativedelta
from hypothesis import given
from hypothesis import strategies as st

from triage.records.dates import parse_date

EDGES = [
    date(2024, 2, 28), date(2024, 2, 29), date(2024, 3, 1), date(2023, 3, 1), date(2000, 2, 29), date(2100, 2, 28),
    date(2100, 3, 1), date(2026, 12, 31), date(2027, 1, 1), date(2024, 12, 31), date(2025, 1, 1),
    date(2026, 3, 29), date(2026, 3, 30), date(2026, 10, 25), date(2026, 10, 26), date(2026, 3, 8), date(2026, 11, 1),
]  # fmt: skip
WEEKDAYS = {"monday": MO, "tuesday": TU, "wednesday": WE, "thursday": TH, "friday": FR, "saturday": SA, "sunday": SU}


def gnu_date() -> str | None:
    found = shutil.which("date")
    told = subprocess.run([found, "--version"], capture_output=True, text=True).stdout if found else ""
    return found if "GNU coreutils" in told else None


def gnu_days(lines: list[str]) -> list[str]:
    """What GNU date makes of each line, in a zone with clock changes."""
    program = gnu_date()
    if program is None:
        pytest.skip("GNU date is not here")
    env = {**os.environ, "TZ": "Europe/Berlin", "LC_ALL": "C"}
    done = subprocess.run(
        [program, "-f", "-", "+%F"], input="\n".join(lines), capture_output=True, text=True, check=True, env=env
    )
    return done.stdout.split()


@pytest.mark.parametrize("today", EDGES, ids=str)
def test_days_ago_against_gnu_date(today: date) -> None:
    """GNU coreutils manual, "Date input formats", relative items; at noon, as it advises for whole days."""
    texts = ["yesterday", "today", "3 days ago", "2 weeks ago", "400 days ago"]
    theirs = gnu_days([f"{today.isoformat()} 12:00 {text}" for text in texts])
    assert [parse_date(text, today).isoformat() for text in texts] == theirs


def test_weekdays_against_gnu_date() -> None:
    """GNU coreutils manual, "Date input formats", days of the week. It knows them from its own today only."""
    texts = [f"last {name}" for name in WEEKDAYS]
    today, *theirs = gnu_days(["now", *texts])
    assert [parse_date(text, date.fromisoformat(today)).isoformat() for text in texts] == theirs


@given(st.dates(date(1950, 1, 1), date(2150, 1, 1)), st.sampled_from(sorted(WEEKDAYS)))
def test_last_weekday_against_dateutil(today: date, name: str) -> None:
    """python-dateutil documentation, relativedelta: weekday(-1) is the latest such day, the day itself included."""
    assert parse_date(name, today) == today + relativedelta(weekday=WEEKDAYS[name](-1))
    assert parse_date(f"last {name}", today) == today + relativedelta(days=-1, weekday=WEEKDAYS[name](-1))


@pytest.mark.parametrize(
    "zone", ["Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "America/Sao_Paulo", "Africa/Cairo"]
)
@pytest.mark.parametrize("year", [2015, 2024, 2026])
def test_clock_changes_move_no_day(zone: str, year: int) -> None:
    """The days that the time-zone database (IANA) gives for one local noon after another are our days, all year long.

    Some of these zones change their clocks at midnight, so that a day has no 00:00."""
    noon = datetime(year, 1, 2, 12, tzinfo=ZoneInfo(zone))
    for _ in range(366):
        before = noon - timedelta(days=1)  # wall-clock arithmetic: noon to noon
        assert parse_date("yesterday", noon.date()) == before.date()
        noon += timedelta(days=1)


def test_day_without_year_over_a_year_end_and_a_century() -> None:
    """Proleptic Gregorian calendar: 2100 is no leap year, 2000 was (common knowledge; Python's datetime agrees)."""
    assert parse_date("31 dec", date(2027, 1, 1)) == date(2026, 12, 31)
    assert parse_date("29 feb", date(2103, 6, 1)) == date(2096, 2, 29)
    assert parse_date("29 feb", date(2000, 3, 1)) == date(2000, 2, 29)
