from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.reasoning.yaml_text import BadInput
from triage.records.dates import parse_date

TODAY = date(2026, 8, 5)  # a Wednesday
DAYS = st.dates(date(1950, 1, 1), date(2150, 12, 31))


@pytest.mark.parametrize(
    "text, day",
    [
        ("today", date(2026, 8, 5)),
        (" Yesterday ", date(2026, 8, 4)),
        ("the day before yesterday", date(2026, 8, 3)),
        ("3 days ago", date(2026, 8, 2)),
        ("a week ago", date(2026, 7, 29)),
        ("two weeks ago", date(2026, 7, 22)),
        ("last tuesday", date(2026, 8, 4)),
        ("last wednesday", date(2026, 7, 29)),
        ("wednesday", date(2026, 8, 5)),
        ("on thursday", date(2026, 7, 30)),
        ("tues", date(2026, 8, 4)),
        ("2026-08-03", date(2026, 8, 3)),
        ("3.8.2026", date(2026, 8, 3)),
        ("31/7/2026", date(2026, 7, 31)),
        ("7/31/2026", date(2026, 7, 31)),
        ("7/7/2026", date(2026, 7, 7)),
        ("3 aug", date(2026, 8, 3)),
        ("Aug 3rd, 2025", date(2025, 8, 3)),
        ("3rd of August 2025", date(2025, 8, 3)),
        ("Monday 3 August 2026", date(2026, 8, 3)),
        ("24 dec", date(2025, 12, 24)),
        ("29 feb", date(2024, 2, 29)),
    ],
)
def test_days_as_people_say_them(text: str, day: date) -> None:
    assert parse_date(text, TODAY) == day


@pytest.mark.parametrize(
    "text, says",
    [
        ("tomorrow", "a day to come"),
        ("2026-08-06", "a day to come"),
        ("29 feb 2026", "does not exist"),
        ("2026-02-30", "does not exist"),
        ("30 feb", "no year has"),
        ("3/8/2026", "two ways"),
        ("sometime", "is no date"),
        ("", "is no date"),
        ("t", "is no date"),
        ("ju 3", "is no date"),
        ("next tuesday", "is no date"),
        ("99999999999 days ago", "too far"),
        ("0001-01-01 12:00", "is no date"),
    ],
)
def test_what_is_no_day_is_told_with_a_way_to_mend_it(text: str, says: str) -> None:
    with pytest.raises(BadInput, match=says) as caught:
        parse_date(text, TODAY)
    assert caught.value.problems[0].mend


def test_days_to_come_where_they_are_wanted() -> None:
    assert parse_date("tomorrow", TODAY, future=True) == date(2026, 8, 6)
    assert parse_date("next wednesday", TODAY, future=True) == date(2026, 8, 12)
    assert parse_date("in 2 weeks", TODAY, future=True) == date(2026, 8, 19)
    assert parse_date("3 may", TODAY, future=True) == date(2027, 5, 3)


@given(DAYS, DAYS)
def test_every_written_day_is_read_as_itself(day: date, today: date) -> None:
    for text in (
        day.isoformat(),
        f"{day.day}.{day.month}.{day.year}",
        f"{day:%d %B} {day.year}",
        f"{day:%b %d} {day.year}",
    ):
        assert parse_date(text, today, future=True) == day


@given(DAYS, st.integers(0, 20_000))
def test_days_ago_are_days(today: date, days: int) -> None:
    if today.toordinal() - days > 0:
        assert today - parse_date(f"{days} days ago", today) == timedelta(days=days)


@given(DAYS, st.sampled_from(["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]))
def test_weekdays_lie_in_the_week_behind(today: date, name: str) -> None:
    this, last = parse_date(name, today), parse_date(f"last {name}", today)
    assert f"{this:%A}".lower() == f"{last:%A}".lower() == name
    assert 0 <= (today - this).days <= 6
    assert 1 <= (today - last).days <= 7


@given(st.text(max_size=30), DAYS)
def test_any_text_is_a_day_or_bad_input(text: str, today: date) -> None:
    try:
        assert parse_date(text, today) <= today
    except BadInput as error:
        assert len(error.problems) == 1
