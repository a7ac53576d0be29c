"""Spider mites with and without sprays, on the screen: a table, curves, and how to read them."""

from __future__ import annotations

import math
import textwrap
from pathlib import Path
from typing import Any

from rich.markup import escape
from rich.table import Table

from triage.reasoning.yaml_text import BadInput, Problem
from triage.screens.console import Screen
from triage.screens.verdict_page import section
from triage.spraying.mite_knowledge import Mites, Mix, Published
from triage.spraying.mites import Comparison, Curve, doubling_days, every

_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_CHART_ROWS = 15
_NEARLY = 0.5  # days won: less is nothing a garden would show; judgement
_FIGURES = (".svg", ".png")


def show_mites(comparison: Comparison, mites: Mites, mix: Mix | None, where: str, screen: Screen) -> None:
    """The table and the curves; `where` says the temperatures in words."""
    spray = mix.name if mix else "your figures"
    kill = comparison.kill
    eggs = "no eggs" if kill.eggs == 0 else f"{kill.eggs:.0%} of the eggs"
    screen.print(
        f"[label]Two-spotted spider mites, {escape(where)}[/]",
        f"Left alone they double every {doubling_days(comparison.rate):.1f} days. An egg hatches in "
        f"{comparison.egg_days:.1f} days and is grown up in {comparison.egg_to_adult_days:.1f}.",
        f"A spray ({escape(spray)}) kills {kill.crawling:.0%} of what crawls and {eggs}; dry, it leaves nothing.",
        "",
    )
    _table(comparison, screen)
    if not screen.plain:
        screen.print("", _chart(comparison, screen.width))
    section("How to read it", reading(comparison, mites), screen)


def _table(comparison: Comparison, screen: Screen) -> None:
    if screen.plain:
        for letter, (name, curve) in zip(_LETTERS, comparison.named, strict=False):
            text = f"{letter}: {name}: most {_count(curve.peak)}, on day {comparison.days} {_count(curve.end)}"
            if curve.sprays:
                back, good = _back(curve, comparison)
                text += f", back at the start on {back}, for good {good}, {curve.days_won:.1f} days won"
            screen.print(f"{text}.")
        return
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column("", style="label")
    table.add_column("Sprays", width=24)
    for head in ("Most", f"Day {comparison.days}", "Back on", "For good", "Won"):
        table.add_column(head, justify="right")
    for letter, (name, curve) in zip(_LETTERS, comparison.named, strict=False):
        won = f"{curve.days_won:.1f} d" if curve.sprays else ""
        table.add_row(letter, name, _count(curve.peak), _count(curve.end), *_back(curve, comparison), won)
    screen.print(table)
    screen.print("[soft]Back on: as many as at the start, though a later spray may cut them again.[/]")


def _back(curve: Curve, comparison: Comparison) -> tuple[str, str]:
    if not curve.sprays:
        return "", ""
    first, good = curve.back_on(comparison.start), curve.back_for_good(comparison.start)
    return tuple("later" if day is None else f"day {day}" for day in (first, good))  # type: ignore[return-value]


def _count(number: float) -> str:
    """Three figures are all a projection is worth."""
    if number < 1:
        return "under 1"
    digits = max(0, math.floor(math.log10(number)) - 2)
    rounded = round(number / 10**digits) * 10**digits
    return f"{rounded / 1e6:,.3g} million" if rounded >= 1e6 else f"{rounded:,.0f}"


def reading(comparison: Comparison, mites: Mites) -> list[str]:
    """What the curves say, in a few lines."""
    best = comparison.best
    habit = mites.habit.every_days
    won = best.won_by_gap.get(habit, 0.0)
    gap = f"{best.days:g} days" if best.days == best.whole_days else f"{best.days:g} days ({best.whole_days} if whole)"
    if best.days == habit:
        lines = [f"Best gap here: {gap}, as is the habit. {best.rounds} sprays win {best.days_won:.1f} days."]
    else:
        nearly = "which is nearly as good" if best.days_won - won < _NEARLY else "which wastes some of them"
        lines = [
            f"Best gap here: {gap}. {best.rounds} sprays then win {best.days_won:.1f} days; "
            f"every {habit:g} days they win {won:.1f}, {nearly}."
        ]
    lines.append(
        "Why: most eggs live through a spray. The next one must come when they have hatched "
        f"({comparison.egg_days:.1f} days) and before those mites lay."
    )
    curves = {curve.sprays: curve for _, curve in comparison.named}
    at_best = curves[every(best.days, best.rounds)]
    good = at_best.back_for_good(comparison.start)
    came = f"from day {good} on there are as many as at the start" if good is not None else "fewer are left at the end"
    lines.append(
        f"{best.rounds} sprays delay mites and do not end them. Even at the best gap, {came}. "
        "Look after the last spray: go on if any crawl, or leave them to helpers."
    )
    return lines + mites.limits


def show_basis(comparison: Comparison, mites: Mites, mix: Mix | None, sources: dict[str, Any], screen: Screen) -> None:
    """What the projection rests on, and other people's figures beside it."""
    screen.print("", "[label]What it rests on[/]")
    parts = [
        ("Growing up at steady temperatures", mites.steady),
        ("The same in the cool", mites.cool),
        ("Growing up when days swing", mites.swinging),
        ("The egg's part of it", mites.egg_share),
        ("Eggs that hatch", mites.hatch),
        ("Young that grow up", mites.grow_up),
        ("Females", mites.female),
        ("Laying and length of life", mites.laying),
        *([("This spray", mix)] if mix else []),
        ("Every 3 days, three times", mites.habit),
    ]
    for name, part in parts:
        note = f" {part.note}" if part.note else ""
        marks = ", ".join([*part.sources, *([part.basis.replace("_", " ")] if part.basis else [])])
        screen.print(f"- {escape(name)}:{escape(note)} [soft]\\[{escape(marks)}][/]")
    screen.print("", "[label]Growth a day that others measured[/] (here: " + f"{comparison.rate:.3f})")
    for figure in mites.published:
        if figure.what == "rate_per_day":
            screen.print(f"- {_published(figure)}")
    used = {key for _, part in parts for key in part.sources} | {k for f in mites.published for k in f.sources}
    known = [key for key in sorted(used) if key in sources]
    if known:
        screen.print("", "[label]Sources[/]")
    for key in known:
        source = sources[key]
        screen.print(f"- {escape(f'{key}: {source.who}: {source.title}')}")


def _published(figure: Published) -> str:
    other = f", {figure.species}" if figure.species else ""
    return escape(f"{figure.value:g} at {figure.at_c:g} C{other} [{', '.join(figure.sources)}]")


def _chart(comparison: Comparison, width: int) -> str:
    """The curves as letters on a scale of tens; the letter of a curve is its row in the table."""
    import plotext  # type: ignore[import-untyped]

    figure = plotext.figure
    figure.clear()
    figure.theme("colorless")
    figure.plot_size(width, _CHART_ROWS)
    logs = [[math.log10(max(n, 1.0)) for n in curve.total] for _, curve in comparison.named]
    days = list(range(comparison.days + 1))
    for letter, heights in zip(_LETTERS, logs, strict=False):
        figure.draw(figure.signal(days, heights, marker=letter).lines())
    top = math.ceil(max(max(heights) for heights in logs))
    low = math.floor(min(min(heights) for heights in logs))
    tens = list(range(low, max(top, low + 1) + 1))
    figure.ruler("y", "left").ticks(tens, [_ten(power) for power in tens])
    weeks = list(range(0, comparison.days + 1, 7))
    figure.ruler("x", "lower").ticks(weeks, [f"day {day}" for day in weeks])
    drawn = str(plotext.uncolorize(str(figure.build())))
    figure.clear()
    return escape("\n".join(line.rstrip() for line in drawn.splitlines()))


def _ten(power: int) -> str:
    return f"{10**power:,}" if power < 6 else f"{10 ** (power - 6):,} million"


def save_figure(comparison: Comparison, path: Path, where: str) -> None:
    """The curves as SVG or PNG, by the name's ending; written whole or not at all. Raises BadInput."""
    ending = path.suffix.lower()
    if ending not in _FIGURES:
        raise BadInput([Problem(str(path), None, "", "cannot be drawn", "end the name in .svg or .png")])
    try:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure
    except ImportError:
        mend = "pip install matplotlib"
        raise BadInput([Problem("--figure", None, "", "needs the package matplotlib", mend)]) from None
    figure = Figure(figsize=(8, 5), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.subplots()
    days = range(comparison.days + 1)
    # Line kinds differ as well as colours, so that it reads in grey too.
    for (name, curve), line in zip(comparison.named, ("-", "--", "-.", ":") * 7, strict=False):
        axes.plot(days, curve.total, line, linewidth=2, label=name)
    axes.set_yscale("log")
    axes.set_xlabel("day")
    axes.set_ylabel("mites and eggs")
    axes.set_title(textwrap.fill(f"Two-spotted spider mites, {where}", 60))
    axes.legend()
    axes.grid(alpha=0.3)
    _write_whole(figure, path, ending[1:])


def _write_whole(figure: Any, path: Path, kind: str) -> None:
    import matplotlib

    part = path.with_name(path.name + ".part")
    try:
        # A fixed salt and no date: the same curves give the same file.
        with matplotlib.rc_context({"svg.hashsalt": "mites"}):
            figure.savefig(part, format=kind, dpi=150, metadata={"Date": None} if kind == "svg" else None)
        part.replace(path)
    except OSError as error:
        part.unlink(missing_ok=True)
        wrong = f"cannot be written: {error.strerror}"
        raise BadInput([Problem(str(path), None, "", wrong, "name a folder that is there")]) from None
