"""Is today a day to spray? The answer, the reasons with figure and source, and the next clear date."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from typing import Any

from rich.markup import escape
from rich.table import Table

from triage.screens.console import Screen
from triage.screens.prompts import Option, choose
from triage.spraying.holds import DayReport, Hold, NextClear
from triage.spraying.weather import Day
from triage.spraying.weather_knowledge import HoldRules

_HEADS = {"hold": "Wait", "unknown": "Look", "care": "Take care"}


def show_day(report: DayReport, following: NextClear | None, screen: Screen) -> None:
    """One day's answer first, then each reason, then when it clears."""
    table = Table.grid(padding=(0, 1, 0, 0), expand=False)
    table.add_column(style="label", width=11, no_wrap=True)
    table.add_column(width=screen.width - 13, overflow="fold")
    table.add_row("Spray?", _answer(report))
    for kind, head in _HEADS.items():
        for reason in report.of(kind):  # type: ignore[arg-type]
            table.add_row(head, _reason(reason))
    if not report.clear:
        table.add_row("Next", escape(_next(report, following)))
    screen.print(f"[label]{escape(long_date(report.on))}[/]", screen.rule() or "", table)


def _answer(report: DayReport) -> str:
    if report.of("hold"):
        return "[warn]Not on this day.[/]"
    if report.of("unknown"):
        return "[warn]Can't tell.[/] Nothing known speaks against it, but something is missing."
    return "[good]Nothing holds it.[/] Early or late in the day, out of the sun, while the leaves are dry."


def _reason(reason: Hold) -> str:
    limit = f" Limit: {reason.limit}." if reason.limit else ""
    says = f"[label]{escape(reason.name)}[/]: {escape(reason.found)}.{escape(limit)} {escape(reason.says)}"
    if reason.disagree:
        says += f" [soft]Sources differ: {escape(reason.disagree)}[/]"
    marks = [*reason.sources, *([reason.basis.replace("_", " ")] if reason.basis else [])]
    return says + (f" [soft]\\[{escape(', '.join(marks))}][/]" if marks else "")


def _next(report: DayReport, following: NextClear | None) -> str:
    if following is None:
        undated = [reason.name.lower() for reason in report.of("hold") if reason.clear_on is None]
        return f"No clear date can be told yet: {', '.join(undated) or 'nothing clears'}."
    if following.weather_known:
        return f"{long_date(following.on)}, by the weather file."
    return f"{long_date(following.on)} at the earliest, if that day's weather allows it."


def long_date(day: date) -> str:
    return f"{day:%A} {day.day} {day:%B %Y}"


def day_record(report: DayReport, following: NextClear | None) -> dict[str, Any]:
    """The same as plain data for JSON: dates ISO, C, mm, km/h, %."""
    return {
        "date": report.on.isoformat(),
        "clear": report.clear,
        "weather": None if report.day is None else {**asdict(report.day), "on": report.day.on.isoformat()},
        "reasons": [
            {**asdict(reason), "clear_on": reason.clear_on.isoformat() if reason.clear_on else None}
            for reason in report.reasons
        ],
        "next_clear": following.on.isoformat() if following else None,
        "next_clear_weather_known": following.weather_known if following else None,
    }


def ask_day(on: date, rules: HoldRules, plain: bool) -> Day:
    """How the day will be, in two questions. What is not known stays unknown."""
    heat, care, cold = rules.heat.number, rules.heat.care, rules.cold.number
    warm = care.value if care else heat.value
    warmth = {
        "hot": (heat.value, f"{heat.told} or hotter"),
        "warm": (warm, f"A little below that: {care.told} or more" if care else "A little below that"),
        "mild": ((cold.value + warm) / 2, "Milder"),
        "cold": (cold.value - 1, f"Never as warm as {cold.told}"),
    }
    options = [Option(key, says) for key, (_, says) in warmth.items()]
    hottest = choose("How warm will it get?", [*options, Option("unknown", "I don't know")], plain)
    limit = rules.wind.number
    sky = choose(
        "And the next two hours?",
        [
            Option("fair", "Dry, with a light breeze"),
            Option("rain", "Rain is due"),
            Option("windy", f"Leaves and twigs never rest (more than about {limit.told})"),
            Option("both", "Rain and wind"),
            Option("unknown", "I don't know"),
        ],
        plain,
    )
    wind, rain = limit.value, rules.rain.number.value
    skies: dict[str, tuple[float | None, float | None]] = {
        "fair": (0.0, wind / 2 + 1),
        "rain": (rain, None),
        "windy": (0.0, wind + 1),
        "both": (rain, wind + 1),
    }
    rained, blew = skies.get(sky or "", (None, None))
    return Day(on, high=warmth[hottest][0] if hottest in warmth else None, rain=rained, wind=blew, asked=True)


def ask_plants(plain: bool) -> tuple[bool, bool]:
    """Thirsty, and in bloom, in one question. What is not known counts as no."""
    found = choose(
        "How are the plants?",
        [
            Option("well", "Standing up, no flowers open"),
            Option("thirsty", "Limp, or the soil is dry"),
            Option("bloom", "Flowers are open on them or beside them"),
            Option("both", "Both"),
        ],
        plain,
    )
    return found in ("thirsty", "both"), found in ("bloom", "both")
