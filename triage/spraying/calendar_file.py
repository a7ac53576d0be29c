"""A programme as an iCalendar file (RFC 5545, rfc5545): all-day events with an alarm the evening before.

One event a step, never a repeating one, since each may move by itself. A step keeps its UID for
ever; what changed gets the next SEQUENCE, what is no longer wanted is sent once more as cancelled.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from icalendar import Alarm, Calendar, Event

from triage import __version__
from triage.reasoning.yaml_text import BadInput, Problem
from triage.spraying.programme import Programme, Step

_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Head:
    """What all events of a programme share: its uid in the journal, the planting and the mix in words."""

    uid: str
    planting: str
    mix: str


def to_ical(
    programme: Programme, head: Head, before: Mapping[str, Any], now: datetime, alarm_hour: int
) -> tuple[bytes, dict[str, Any]]:
    """The file, and what was sent in it, to be handed in as `before` the next time.

    `before`, and what is returned: step id -> {sequence, modified, print, on, summary, status}. When nothing has
    changed since, the file is the same to the byte.
    """
    calendar = Calendar()
    calendar.add("prodid", f"-//leaf-triage//programme {__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    sent: dict[str, Any] = {}
    for step in programme.steps:
        status = "TENTATIVE" if step.only_if and not step.done else "CONFIRMED"
        told = {"on": step.on.isoformat(), "summary": _summary(step, head), "status": status}
        description = _description(step, head)
        sent[step.id] = _marked(told, description, before.get(step.id), now, step.done)
        calendar.add_component(_event(step.id, sent[step.id], description, head, alarm_hour))
    for name, old in before.items():
        if name not in sent:
            sent[name] = old if old.get("done") else _cancelled(old, now)
            if not old.get("done"):
                calendar.add_component(_event(name, sent[name], "", head, alarm_hour))
    return calendar.to_ical(), sent


def write_calendar(path: Path, content: bytes) -> None:
    """Whole or not at all. Raises BadInput when it cannot be written."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
        part = Path(name)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        wrong = f"could not be written: {error.strerror}"
        raise BadInput([Problem(str(path), None, "", wrong, "name another place")]) from None


def _marked(told: dict[str, Any], description: str, old: Mapping[str, Any] | None, now: datetime, done: bool) -> Any:
    """With its number and the moment of its last change: a new number only for new content."""
    content = "\0".join([*map(str, told.values()), description])
    mark = hashlib.sha256(content.encode()).hexdigest()[:16]
    if old is not None and old["print"] == mark:
        return dict(old)
    number = 0 if old is None else int(old["sequence"]) + 1
    return {**told, "sequence": number, "modified": now.isoformat(timespec="seconds"), "print": mark, "done": done}


def _cancelled(old: Mapping[str, Any], now: datetime) -> Any:
    if old["status"] == "CANCELLED":
        return dict(old)
    told = {"on": old["on"], "summary": old["summary"], "status": "CANCELLED"}
    return _marked(told, "", old, now, False)


def _event(name: str, sent: Mapping[str, Any], description: str, head: Head, alarm_hour: int) -> Event:
    event, on = Event(), date.fromisoformat(sent["on"])
    modified = datetime.fromisoformat(sent["modified"])
    event.add("uid", f"{head.uid}-{name}@leaf-triage")
    event.add("dtstamp", modified)
    event.add("last-modified", modified)
    event.add("sequence", sent["sequence"])
    event.add("dtstart", on)
    event.add("dtend", on + _DAY)  # exclusive
    event.add("summary", sent["summary"])
    event.add("status", sent["status"])
    event.add("transp", "TRANSPARENT")
    if description:
        event.add("description", description)
    if sent["status"] != "CANCELLED" and not sent["done"]:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", sent["summary"])
        # Counts from the first moment of the day, so this is the evening before.
        alarm.add("trigger", timedelta(hours=alarm_hour - 24))
        event.add_component(alarm)
    return event


def _summary(step: Step, head: Head) -> str:
    what = f"{step.says}: {head.planting}" if step.kind == "look" else f"Spray, {_low(step.says)}: {head.planting}"
    return f"Done: {what}" if step.done else what


def _description(step: Step, head: Head) -> str:
    lines = []
    if step.kind == "spray":
        lines.append(f"{head.mix}.")
    if step.only_if:
        lines.append(f"Only if {step.only_if}.")
    if step.until:
        lines.append(f"Any day up to {step.until} will do.")
    lines += [f"{move.off}: {move.why}." for move in step.moved]
    lines += [f"Mind: {care}." for care in step.care]
    if step.found:
        lines.append(f"Found: {step.found}.")
    if step.kind == "spray" and not step.done:
        lines.append("Look at the weather first: triage today. In the cool of the day, leaves dry, no open flowers.")
    return "\n".join(lines)


def _low(text: str) -> str:
    return text[:1].lower() + text[1:]
