"""The strip above a story: months from left to right, a lane for each kind of thing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from triage.records.story import Line
from triage.records.tables import Count, Visit

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_HEAD = 11  # cells for a lane's name
_LEVELS = "▁▂▃▄▅▆▇█"
_LANES = {"seen": "●", "sprayed": "▼", "counted": "", "new growth": "", "picked": "■"}


def strip(lines: Sequence[Line], width: int) -> list[str]:
    """The lanes as rows of text, at most `width` cells wide; a cell is a day or several."""
    first, last = lines[0].day, lines[-1].day
    cells = max(1, width - _HEAD)
    step = (last - first).days // cells + 1
    used = (last - first).days // step + 1
    lanes = {name: [" "] * used for name in _LANES}
    most = max((line.row.pests or 0 for line in lines if isinstance(line.row, Count)), default=0)
    for line in lines:
        cell = (line.day - first).days // step
        for lane, mark in _marks(line, most).items():
            lanes[lane][cell] = mark
    rows = [f"[soft]{' ' * _HEAD}{_ruler(first, step, used)}[/]"]
    rows += [f"{name:<{_HEAD}}{''.join(marks).rstrip()}" for name, marks in lanes.items() if "".join(marks).strip()]
    told = "a mark is a day" if step == 1 else f"a mark is {step} days"
    rows.append(f"[soft]{told}; ○ all fine, ✓ clean, x hit, bars: more pests or damage[/]")
    return rows


def _marks(line: Line, most: int) -> Mapping[str, str]:
    row = line.row
    if isinstance(row, Visit):
        growth = [case.new_growth for case in row.cases if case.new_growth]
        new = {"new growth": "x" if "affected" in growth else "✓"} if growth else {}
        return {"seen": "●" if row.cases else "○", **new}
    if isinstance(row, Count):
        return {"counted": _LEVELS[min(7, int(8 * _level(row, most)))]}
    lane = {"spray": "sprayed", "harvest": "picked"}.get(line.kind)
    return {lane: _LANES[lane]} if lane else {}


def _level(row: Count, most: int) -> float:
    """How bad, 0 to 1: the share of leaves, else damage, else pests beside the most ever counted here."""
    if row.infested is not None and row.looked:
        return row.infested / row.looked
    if row.damage is not None:
        return row.damage / 100
    return (row.pests or 0) / most if most else 0.0


def _ruler(first: date, step: int, used: int) -> str:
    """Month names where the months begin; a name is left out where there is no room."""
    ruler = [" "] * (used + 4)
    free, month = 0, None
    for cell in range(used):
        day = first + timedelta(days=cell * step)
        if (day.year, day.month) != month:
            month = (day.year, day.month)
            name = _MONTHS[day.month - 1] + (f"{day.year % 100:02}" if cell == 0 or day.month == 1 else "")
            if cell >= free and cell + len(name) <= used + 4:
                ruler[cell : cell + len(name)] = name
                free = cell + len(name) + 1
    return "".join(ruler).rstrip()


def sums(lines: Sequence[Line]) -> list[str]:
    """What the strip shows, in words, for people who hear the screen."""
    words = {"visit": "seen", "count": "counted", "spray": "sprayed", "harvest": "picked", "patch": "test patches"}
    numbers = {word: sum(line.kind == kind for line in lines) for kind, word in words.items()}
    told = ", ".join(f"{word} {number}" for word, number in numbers.items() if number)
    return [f"From {lines[0].day} to {lines[-1].day}: {told or 'notes only'}."]
