"""The journal on the screen: a planting's story as a time line, what is due, what was corrected."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from typing import Any

from rich.markup import escape
from rich.table import Table
from rich.text import Text

from triage.records.due import Due
from triage.records.entries import short
from triage.records.places import CropWords, label
from triage.records.story import Line
from triage.records.tables import Case, Count, Planting, Trace, Visit
from triage.screens.console import Screen, percent
from triage.screens.timeline import strip, sums

_WORDS = {
    "visit": "seen",
    "count": "counted",
    "patch": "patch",
    "programme": "planned",
    "spray": "sprayed",
    "action": "did",
    "harvest": "picked",
    "confirm": "confirmed",
    "note": "note",
}
_ADVICE = {"spray": "worth a spray", "check_first": "check first", "do_not_spray": "no spray"}
_BY = {"coach": "a coach", "lens": "a look through the lens", "laboratory": "a laboratory"}

CauseName = Callable[[str], str]


def day_text(day: date) -> str:
    """3 Aug 2026, the same in every language setting."""
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    return f"{day.day} {months[day.month - 1]} {day.year}"


def show_story(lines: Sequence[Line], words: CropWords, cause_name: CauseName, screen: Screen) -> None:
    """The story: the strip and the head when it is about one planting, then a line an entry."""
    if not lines:
        screen.print("Nothing is written down here yet.")
        return
    of_one = len({line.planting.id for line in lines}) == 1
    if of_one:
        screen.print(f"[label]{escape(label(lines[0].planting, words))}[/]{_life(lines[0].planting)}")
    drawn = sums(lines) if screen.plain else strip(lines, screen.width)
    screen.print(*drawn, "")
    year = None
    rows: list[Text] = []
    for line in lines:
        told = escape(says(line, cause_name))
        if not of_one:
            told = f"[label]{escape(label(line.planting, words))}[/]: {told}"
        if line.row.observer:
            told += f" [soft]({escape(line.row.observer)})[/]"
        ref = short(line.row.uid)
        if screen.plain:  # no columns: a line is heard from left to right
            screen.print(f"{day_text(line.day)}, {_WORDS[line.kind]}: {told} \\[{ref}]")
            continue
        if line.day.year != year:
            year = line.day.year
            rows.append(Text(str(year), "label"))
        when = day_text(line.day).rsplit(" ", 1)[0]
        rows += _columns(when, _WORDS[line.kind], told, ref, screen)
    if rows:
        screen.console.print(Text("\n").join(rows), soft_wrap=True)


def _life(planting: Planting) -> str:
    days = [("sown", planting.sown), ("planted", planting.planted), ("removed", planting.removed)]
    told = ", ".join(f"{word} {day_text(day)}" for word, day in days if day)
    return f" {told}" if told else ""


def _columns(when: str, word: str, told: str, ref: str, screen: Screen) -> list[Text]:
    """One entry in four columns. A rich table does the same, but takes a second for a thousand entries."""
    width = screen.width - 6 - 9 - 6 - 3
    lines = Text.from_markup(told).wrap(screen.console, width)
    lines[0].pad_right(width - lines[0].cell_len)
    head = Text.assemble(f"{when:<6} {word:<9} ", lines[0], " ", (ref, "soft"))
    return [head, *(Text.assemble(" " * 17, line) for line in lines[1:])]


def says(line: Line, cause_name: CauseName) -> str:
    """One entry in words, without its day and its kind."""
    row: Any = line.row
    told = _SAYS[line.kind](row, cause_name)
    note = f" {row.note}" if row.note else ""
    return f"{told}.{note}" if not told.endswith((".", "!", "?")) else f"{told}{note}"


def _visit(row: Visit, _name: CauseName) -> str:
    if not row.cases:
        return "all fine"
    return "; ".join(_case(case) for case in row.cases)


def _case(case: Case) -> str:
    chance = percent(case.chance)
    parts = [f"perhaps {case.cause_name} {chance}" if case.state == "unclear" else f"{case.cause_name} {chance}"]
    parts.append(_ADVICE[case.advice])
    if case.new_growth:
        parts.append("new growth clean" if case.new_growth == "clean" else "new growth hit too")
    return ", ".join(parts)


def _count(row: Count, name: CauseName) -> str:
    parts = []
    if row.infested is not None and row.looked:
        parts.append(f"{row.infested} of {row.looked} leaves with pests ({round(100 * row.infested / row.looked)}%)")
    elif row.looked:
        parts.append(f"{row.looked} leaves looked at")
    if row.pests is not None:
        parts.append(f"{row.pests} pests counted")
    if row.damage is not None:
        parts.append(f"damage {row.damage:g}% of the leaf")
    if row.sprayed is not None:
        parts.append("sprayed plants" if row.sprayed else "unsprayed plants")
    return ", ".join(parts) + (f" [{name(row.cause)}]" if row.cause else "")


def _mix(row: Any) -> str:
    rates = [f"{share:g}% {what}" for share, what in ((row.oil_percent, "oil"), (row.soap_percent, "soap")) if share]
    return f"{row.mix} ({', '.join(rates)})" if rates else str(row.mix)


def _spray(row: Any, name: CauseName) -> str:
    parts = [_mix(row)]
    if row.volume_ml:
        parts.append(f"{row.volume_ml:g} mL")
    if row.round:
        parts.append(f"round {row.round}")
    if row.cause:
        parts.append(f"against {name(row.cause)}")
    if row.weather:
        parts.append(row.weather)
    return ", ".join(parts)


def _patch(row: Any, _name: CauseName) -> str:
    on = f" on {row.plants} plant{'s' if row.plants > 1 else ''}" if row.plants else ""
    if row.result:
        looked = f", looked at on {day_text(row.looked_on)}" if row.looked_on else ""
        return f"{_mix(row)} tried{on}{looked}: {row.result}"
    return f"{_mix(row)} tried{on}, look at it on {day_text(row.look_on)}"


def _programme(row: Any, name: CauseName) -> str:
    told = f"sprays of {_mix(row)}" + (f" against {name(row.cause)}" if row.cause else "")
    return told + (f"; ended on {day_text(row.ended)}: {row.why_ended or 'no reason given'}" if row.ended else "")


def _harvest(row: Any, _name: CauseName) -> str:
    return f"{row.amount:g} {row.unit or ''}".strip() if row.amount is not None else "picked"


_SAYS: dict[str, Callable[[Any, CauseName], str]] = {
    "visit": _visit,
    "count": _count,
    "spray": _spray,
    "patch": _patch,
    "programme": _programme,
    "harvest": _harvest,
    "action": lambda row, _: row.what + (f" ({row.means})" if row.means else ""),
    "confirm": lambda row, name: f"{name(row.cause)}, by {_BY[row.by_whom]}",
    "note": lambda row, _: row.text,
}


def show_due(items: Sequence[Due], today: date, words: CropWords, screen: Screen) -> None:
    """What is waiting, the longest overdue first."""
    if not items:
        screen.print("Nothing is waiting.")
        return
    table = Table.grid(padding=(0, 1, 0, 0))
    table.add_column(width=15, no_wrap=True)
    table.add_column(width=screen.width - 15 - 6 - 4, overflow="fold")
    table.add_column(width=6, no_wrap=True)
    for item in items:
        when = when_due(item.day, today)
        told = f"[label]{escape(label(item.planting, words))}[/]: {escape(item.says)}"
        if screen.plain:
            screen.print(f"{when}: {told} \\[{short(item.ref)}]")
            continue
        table.add_row(f"[warn]{when}[/]" if item.day <= today else when, told, f"[soft]{short(item.ref)}[/]")
    if not screen.plain:
        screen.print(table)


def when_due(day: date, today: date) -> str:
    days = (day - today).days
    if days < 0:
        return f"{-days} day{'s' if days < -1 else ''} late"
    return {0: "today", 1: "tomorrow"}.get(days, f"in {days} days")


def show_traces(traces: Iterable[Trace], screen: Screen) -> None:
    """What was edited or taken back, the latest last."""
    any_shown = False
    for trace in traces:
        any_shown = True
        who = f" by {trace.who}" if trace.who else ""
        moment = f"{day_text(trace.written.date())} {trace.written:%H:%M} UTC"
        head = f"{moment}: {'edited' if trace.change == 'edit' else 'taken back'}{who}"
        screen.print(escape(f"{head}: {trace.kind} {short(trace.row)}, {_changed(trace)}"))
    if not any_shown:
        screen.print("Nothing was edited or taken back.")


def _changed(trace: Trace) -> str:
    if trace.after is None:
        kept = ("id", "written", "planting", "cases", "outset", "exported")
        told = ", ".join(
            f"{key} {value}" for key, value in trace.before.items() if value is not None and key not in kept
        )
        return f"it was: {told}"
    pairs = [(key, old, trace.after.get(key)) for key, old in trace.before.items() if trace.after.get(key) != old]
    return "; ".join(f"{key} {_or_nothing(old)} became {_or_nothing(new)}" for key, old, new in pairs)


def _or_nothing(value: Any) -> str:
    if isinstance(value, dict):
        return "other details"
    return "nothing" if value is None else str(value)


def kept_line(line: Line, words: CropWords, cause_name: CauseName) -> str:
    """What was just kept, in one line."""
    head = f"{_WORDS[line.kind]}, {day_text(line.day)}, {label(line.planting, words)}"
    return f"Kept: {head}: {says(line, cause_name)}"
