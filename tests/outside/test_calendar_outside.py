"""Calendar files against RFC 5545 (rfc5545) and against readers that are not ours: the icalendar library."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from icalendar import Alarm, Calendar, Event

from triage.spraying.calendar_file import Head, to_ical, write_calendar
from triage.spraying.programme import Moved, Programme, Step

NOW = datetime(2026, 7, 1, 8, tzinfo=UTC)
LATER = NOW + timedelta(days=2)
HEAD = Head("abc123", "Beans; the long, “blue” row\\2, North bed", "Mix: home mix, 0.26% oil; 0.39% soap")
FIRST = Step("outbreak-1", "spray", "outbreak", 1, date(2026, 7, 4), date(2026, 7, 4), "Round 1 of 3")
SECOND = Step(
    "outbreak-2", "spray", "outbreak", 2, date(2026, 7, 31), date(2026, 7, 30), "Round 2 of 3",
    moved=(Moved(date(2026, 7, 30), "heat", "Too hot: up to 31 C (88 F)"),),
)  # fmt: skip
LOOK = Step("look-1", "look", "look", 1, date(2026, 12, 31), date(2026, 12, 31), "Look at the newest leaves")
LATE = Step("later-1", "spray", "later", 1, date(2027, 1, 4), date(2027, 1, 4), "Later spray", only_if="it is clean")


def sent(*steps: Step, before: dict[str, Any] | None = None, now: datetime = NOW) -> tuple[bytes, dict[str, Any]]:
    return to_ical(Programme(True, (), (), steps), HEAD, before or {}, now, 18)


def read(content: bytes) -> dict[str, Event]:
    calendar = Calendar.from_ical(content)
    assert calendar.errors == []
    return {str(event["uid"]): event for event in calendar.walk("VEVENT")}


def test_the_published_alarm_means_what_the_standard_says_it_means() -> None:
    """RFC 5545, 3.6.6 and 3.8.6.3, its own example: 30 minutes before the start, then twice more, 15 minutes apart."""
    lines = ["BEGIN:VALARM", "TRIGGER:-PT30M", "REPEAT:2", "DURATION:PT15M", "ACTION:DISPLAY", "END:VALARM"]
    alarm = Alarm.from_ical("\r\n".join(lines))
    assert alarm["trigger"].dt == timedelta(minutes=-30)
    assert (int(alarm["repeat"]), alarm["duration"].dt) == (2, timedelta(minutes=15))


def test_what_the_library_reads_back_is_what_was_laid_out() -> None:
    events = read(sent(FIRST, SECOND, LOOK, LATE)[0])
    assert list(events) == [f"abc123-{step.id}@leaf-triage" for step in (FIRST, SECOND, LOOK, LATE)]
    for event, step in zip(events.values(), (FIRST, SECOND, LOOK, LATE), strict=True):
        assert event["dtstart"].dt == step.on and not isinstance(event["dtstart"].dt, datetime)
        assert event["dtend"].dt == step.on + timedelta(days=1)  # 3.6.1: exclusive, and a DATE as well
        assert HEAD.planting in event["summary"] and step.says.casefold() in event["summary"].casefold()
        assert event["dtstamp"].dt == NOW and event["sequence"] == 0
        [alarm] = event.walk("VALARM")
        # 3.8.6.3: counted from 00:00 of the day, so 18:00 the evening before.
        assert datetime.combine(step.on, datetime.min.time()) + alarm["trigger"].dt == datetime(
            *(step.on - timedelta(days=1)).timetuple()[:3], 18
        )
        assert (alarm["action"], alarm["description"]) == ("DISPLAY", event["summary"])
    assert "Too hot" in events["abc123-outbreak-2@leaf-triage"]["description"]
    assert [str(event["status"]) for event in events.values()] == ["CONFIRMED", "CONFIRMED", "CONFIRMED", "TENTATIVE"]


def test_the_file_itself_keeps_to_the_standard() -> None:
    """RFC 5545 by section, read without the library."""
    content, _ = sent(FIRST, SECOND, LOOK, LATE)
    assert content.endswith(b"\r\n") and b"\n" not in content.replace(b"\r\n", b"")  # 3.1
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))  # 3.1, in octets
    lines = content.decode().replace("\r\n ", "").split("\r\n")  # unfolding never splits a character
    assert lines[0] == "BEGIN:VCALENDAR" and lines[-2] == "END:VCALENDAR"
    assert lines.count("VERSION:2.0") == 1 and sum(line.startswith("PRODID:") for line in lines) == 1  # 3.6
    assert "DTSTART;VALUE=DATE:20260704" in lines and "DTEND;VALUE=DATE:20260801" in lines  # over the end of a month
    assert "DTSTART;VALUE=DATE:20261231" in lines and "DTEND;VALUE=DATE:20270101" in lines  # and of a year
    assert lines.count("DTSTAMP:20260701T080000Z") == 4  # 3.8.7.2: in UTC
    assert lines.count("TRIGGER:-PT6H") == lines.count("TRANSP:TRANSPARENT") == 4
    assert r"SUMMARY:Spray\, round 1 of 3: Beans\; the long\, “blue” row\\2\, North bed" in lines  # 3.3.11
    assert not any(line.startswith("RRULE") for line in lines)


def test_exported_again_it_updates_and_does_not_double() -> None:
    """3.8.4.7 and 3.8.7.4: one UID for ever, a higher SEQUENCE for a new version."""
    first, kept = sent(FIRST, SECOND, LOOK, LATE)
    same, again = sent(FIRST, SECOND, LOOK, LATE, before=kept, now=LATER)
    assert (same, again) == (first, kept)
    moved, third = sent(FIRST, replace(SECOND, on=date(2026, 8, 2)), LOOK, before=kept, now=LATER)
    before, after = read(first), read(moved)
    assert before.keys() == after.keys()
    uids = {step.id: f"abc123-{step.id}@leaf-triage" for step in (FIRST, SECOND, LOOK, LATE)}
    numbers = {name: after[uid]["sequence"] for name, uid in uids.items()}
    assert numbers == {"outbreak-1": 0, "outbreak-2": 1, "look-1": 0, "later-1": 1}
    changed = after[uids["outbreak-2"]]
    assert changed["dtstart"].dt == date(2026, 8, 2) and changed["last-modified"].dt == LATER
    gone = after[uids["later-1"]]
    assert (str(gone["status"]), gone.walk("VALARM")) == ("CANCELLED", [])
    assert sent(FIRST, replace(SECOND, on=date(2026, 8, 2)), LOOK, before=third, now=NOW)[0] == moved
    back = read(sent(FIRST, SECOND, LOOK, LATE, before=third, now=LATER)[0])
    assert {name: back[uid]["sequence"] for name, uid in uids.items()} == {**numbers, "outbreak-2": 2, "later-1": 2}


def test_what_is_done_rings_no_more() -> None:
    done = replace(FIRST, done=True)
    [event] = read(sent(done)[0]).values()
    assert str(event["summary"]).startswith("Done: ") and event.walk("VALARM") == []


@pytest.mark.parametrize("again", [False, True])
def test_written_to_the_byte(tmp_path: Path, again: bool) -> None:
    content, _ = sent(FIRST)
    for _ in range(1 + again):
        write_calendar(tmp_path / "new" / "sprays.ics", content)
    assert (tmp_path / "new" / "sprays.ics").read_bytes() == content
    assert [path.name for path in (tmp_path / "new").iterdir()] == ["sprays.ics"]
