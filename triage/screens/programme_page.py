"""A programme on the screen: whether it may go, a small calendar, a table of days, and when to stop."""

from __future__ import annotations

from calendar import Calendar
from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from rich.markup import escape
from rich.table import Table

from triage.screens.console import Screen
from triage.screens.safety_page import bullets
from triage.spraying.programme import Moved, Outset, Programme, Step
from triage.spraying.programme_knowledge import ProgrammeRules

_DAYS = ("Mo", "Tu", "We", "Th", "Fr", "Sa", "Su")
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_MOST_MONTHS = 4
_HELD = "x"


def show_programme(
    programme: Programme, outset: Outset, title: str, rules: ProgrammeRules, today: date, screen: Screen
) -> None:
    """All of it: go or not, and why; then the days, or what to do instead."""
    screen.print(f"[label]{escape(title)}[/]", screen.rule() or "")
    screen.print(_standing(programme))
    for rule in programme.starts:
        mark = "[good]yes[/]" if rule.met else "[warn]no[/] "
        source = f" [soft]({escape(outset.judgement.comes_from)})[/]" if rule.id == "verdict" else ""
        bullet(f"{mark} {escape(rule.says)}{source}", screen)
    if programme.instead:
        bullets([escape(says) for says in programme.instead], screen, "Do this instead")
    if not programme.go:
        return
    if outset.scent:
        screen.print("", f"[warn]Not supported:[/] {escape(rules.scent.says)} [soft]\\[{rules.scent.sources[0]}][/]")
    elif outset.gap.says:
        head = "[warn]Not every 3 days:[/] " if outset.gap.differs else ""
        head = head.replace("3", str(outset.gap.usual))
        screen.print("", f"{head}{escape(outset.gap.says)}")
    if not screen.plain:
        _calendar(programme, today, screen)
    _table(programme, today, screen)
    for move in programme.waits:
        screen.print(f"[warn]No day for the next spray is in sight.[/] {escape(move.why)}.")
    _words(programme, outset, rules, screen)


def _standing(programme: Programme) -> str:
    if not programme.go:
        return "[warn]Not yet.[/] No spray until each of these is a yes:"
    if programme.stopped:
        return f"[warn]Stopped:[/] {escape(programme.stopped.says)}"
    return "[good]Go.[/] It may be sprayed, on the days below:"


def _words(programme: Programme, outset: Outset, rules: ProgrammeRules, screen: Screen) -> None:
    lines = list(programme.notes)
    if any(step.kind == "look" and not step.done for step in programme.steps) and not outset.scent:
        lines += [rules.look.says, "Then tell what you found: triage plan --found clean (or hit)"]
        lines.append(rules.follow_up.says)
        gap, rounds = outset.gap.days, rules.outbreak.rounds
        lines.append(f"Not clean: {rounds} more, every {gap} days; dates move by themselves once you have told it.")
    if not programme.stopped and not any(step.weather_known for step in programme.ahead):
        lines.append("No weather is known for these days. With a forecast file, days move: --weather FILE")
    bullets([escape(line) for line in lines], screen, "How it goes on")
    bullets([escape(rule.says) for rule in programme.stops if rule.id != "finished"], screen, "Stop when")


def bullet(text: str, screen: Screen) -> None:
    """One line with a hanging indent; `text` is ready to print."""
    table = Table.grid()
    table.add_column(width=4)
    table.add_column(width=screen.width - 5, overflow="fold")
    table.add_row("  -" if screen.plain else "  ·", text)
    screen.print(table)


def short_day(day: date) -> str:
    """Sat 4 Jul, the same in every language setting."""
    return f"{_WEEKDAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]}"


def following_line(programme: Programme) -> str:
    """What comes next, in one line."""
    if programme.stopped:
        return f"Stopped: {programme.stopped.says}"
    step = programme.following
    if step is None:
        return "Nothing more is laid out."
    why = "; ".join([*([f"only if {step.only_if}"] if step.only_if else []), *moved_words(step.moved)])
    return f"Next: {short_day(step.on)}, {step.says.lower()}" + (f" ({why})." if why else ".")


def _table(programme: Programme, today: date, screen: Screen) -> None:
    if screen.plain:
        for step in programme.steps:
            notes = "; ".join(_notes(step, None))
            screen.print(escape(f"{short_day(step.on)}: {_what(step, today)}" + (f". {notes}" if notes else "")))
        return
    table = Table.grid(padding=(0, 1, 0, 0))
    table.add_column(width=10, no_wrap=True)
    table.add_column(width=28, overflow="fold")
    table.add_column(width=screen.width - 10 - 28 - 3, overflow="fold")
    before: Step | None = None
    for step in programme.steps:
        style = "soft" if step.done else "label" if step is programme.following else ""
        day = f"[{style}]{short_day(step.on)}[/]" if style else short_day(step.on)
        told = escape("; ".join(_notes(step, before)))
        table.add_row(day, escape(_what(step, today)), f"[soft]{told}[/]")
        before = step
    screen.print("", table)


def _what(step: Step, today: date) -> str:
    if step.done:
        return f"{step.says}: {'washed off' if step.washed_off else step.found or 'done'}"
    late = " (today)" if step.on == today else ""
    return step.says + late


def _notes(step: Step, before: Step | None) -> list[str]:
    """Why it is that day, and what to mind. What the line before it (`before`) said already is not said again."""
    notes = []
    if step.only_if and not step.done:
        same = before is not None and before.only_if == step.only_if
        notes.append("only if as above" if same else f"only if {step.only_if}")
    if step.until:
        notes.append(f"any day up to {short_day(step.until)}")
    told = {move.why for move in before.moved} if before else set()
    notes += moved_words([move for move in step.moved if move.reason != "spray_before" or move.why not in told])
    return notes + [f"mind: {care}" for care in step.care]


def moved_words(moved: Sequence[Moved]) -> list[str]:
    """Why a day moved: one line a reason, with its days."""
    by_reason: dict[str, list[Moved]] = {}
    for move in moved:
        by_reason.setdefault(move.reason, []).append(move)
    told = []
    for moves in by_reason.values():
        days = ", ".join(short_day(move.off) for move in moves[:3]) + (" ..." if len(moves) > 3 else "")
        head = {"spray_before": "laid out for", "done": "laid out for", "not_done": "was due"}.get(
            moves[0].reason, "not"
        )
        told.append(f"{head} {days}: {moves[-1].why[:1].lower()}{moves[-1].why[1:]}")
    return told


# -- the small calendar -----------------------------------------------------------------------


def _calendar(programme: Programme, today: date, screen: Screen) -> None:
    marks = _marks(programme)
    months = sorted({(day.year, day.month) for day in marks})[:_MOST_MONTHS]
    if not months:
        return
    across = 2 if screen.width >= 76 else 1
    grid = Table.grid(padding=(0, 4, 0, 0))
    for _ in range(across):
        grid.add_column(width=34)
    drawn = [_month(year, month, marks, today) for year, month in months]
    for n in range(0, len(drawn), across):
        grid.add_row(*drawn[n : n + across])
    screen.print("", grid, "[soft]S spray, s done, L look, l looked, ? only if, x held, . today[/]")


def _marks(programme: Programme) -> dict[date, str]:
    marks = {
        move.off: _HELD
        for step in programme.steps
        for move in step.moved
        if move.reason not in ("done", "spray_before", "not_done")
    }
    for step in programme.steps:
        letter = "S" if step.kind == "spray" else "L"
        marks[step.on] = letter.lower() if step.done else letter + ("?" if step.only_if else "")
    return marks


def _month(year: int, month: int, marks: dict[date, str], today: date) -> str:
    rows = [f"[label]{_MONTHS[month - 1]} {year}[/]", " ".join(f"{day:<4}" for day in _DAYS).rstrip()]
    for week in Calendar().monthdatescalendar(year, month):
        cells = []
        for day in week:
            mark = marks.get(day, "") if day.month == month else ""
            text = f"{day.day:>2}{'.' if day == today and not mark else mark}" if day.month == month else ""
            style = "good" if mark[:1] in ("S", "L") else "warn" if mark == _HELD else ""
            cells.append(f"[{style}]{text:<4}[/]" if style else f"{text:<4}")
        rows.append(" ".join(cells).rstrip())
    return "\n".join(rows)


def programme_record(programme: Programme, outset: Outset, about: dict[str, Any]) -> dict[str, Any]:
    """The same as plain data for JSON: dates ISO, days whole."""

    def plain(value: Any) -> Any:
        if isinstance(value, date):
            return value.isoformat()
        if isinstance(value, dict):
            return {key: plain(item) for key, item in value.items()}
        return [plain(item) for item in value] if isinstance(value, list | tuple) else value

    record: dict[str, Any] = plain(
        {
            **about,
            "go": programme.go,
            "starts": [asdict(rule) for rule in programme.starts],
            "stops": [asdict(rule) for rule in programme.stops],
            "stopped": programme.stopped.id if programme.stopped else None,
            "instead": programme.instead,
            "gap": asdict(outset.gap),
            "scent": outset.scent,
            "steps": [asdict(step) for step in programme.steps],
            "waits": [asdict(move) for move in programme.waits],
            "notes": programme.notes,
        }
    )
    return record
