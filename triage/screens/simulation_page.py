"""A simulation on the screen: tables, and what was said against what was true, as bars or as a figure."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import Any

from rich.markup import escape
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn
from rich.table import Table

from triage.reasoning.knowledge import Knowledge
from triage.reasoning.leave_out import SURE, LeftOut, What, leave_out
from triage.reasoning.separation import Pair
from triage.reasoning.simulation import Observer
from triage.reasoning.simulation import Progress as Tell
from triage.reasoning.simulation_report import Mixed, Reliability, Report, Row
from triage.reasoning.worked_cases import WorkedCase
from triage.reasoning.yaml_text import BadInput, Problem
from triage.screens.console import Screen
from triage.screens.console import screen as console_screen

_FIGURES = (".png", ".svg")
_WORST = 12
_CELLS = 30
_WHATS: tuple[What, ...] = ("right", "unclear", "either", "sure_and_wrong")


@contextmanager
def progress_on_stderr(total: int, label: str, plain: bool) -> Iterator[Tell]:
    """A bar on stderr while it runs; in plain mode and off a terminal, nothing."""
    import sys

    console = console_screen(plain, sys.stderr).console
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    shown = not plain and console.is_terminal
    with Progress(*columns, console=console, transient=True, disable=not shown) as bar:
        task = bar.add_task(label, total=total)
        yield lambda done: bar.advance(task, done)


def show_report(
    report: Report, pairs: Sequence[Pair], observer: Observer, seed: int, knowledge: Knowledge, screen: Screen
) -> None:
    """Everything, the essentials first."""
    overall, sprays = report.overall, report.sprays
    screen.print(
        f"[label]{overall.cases} cases drawn from the sheets, seed {seed}[/]",
        f"The pretended grower ticks wrongly at {observer.wrong:.0%} of the questions, misses {observer.missed:.0%}",
        f"of the signs, is unsure of {observer.unsure:.0%} of the ticks, and cannot tell at "
        f"{observer.cant_tell[0]:.0%}",
        f"(a look) to {observer.cant_tell[-1]:.0%} (digging, cutting) of the checks. These are guesses.",
        "",
        f"Kind of cause right      {_share(overall.right_class)}",
        f"Cause first              {_share(overall.first)}",
        f"Cause among first three  {_share(overall.top_three)}",
        f"Questions asked          {overall.questions:5.1f} on average ({_spread(report)})",
        f"Left unclear             {_share(report.unclear)}",
        f"Sure and wrong           {_share(report.sure_and_wrong)} said over 80% for a wrong kind",
        f"Said against true        {report.class_reliability.error:6.3f} off for the kind,"
        f" {report.cause_reliability.error:.3f} for the cause (mean gap)",
        f"Spray advice right       {_share(sprays.judged_right)}",
        f"Told to spray in vain    {_share(sprays.wrong_rate)} {sprays.wrong} of {sprays.useless} that it does not"
        f" help, {sprays.harmful} to harm",
        f"Spray missed             {_share(sprays.missed_rate)} {sprays.missed} of {sprays.helpful} that it helps"
        f" ({sprays.checked} told to check first)",
    )
    _heading("By kind of cause", screen)
    _rows(report.by_class, "Kind", [_class_name(row.id, knowledge) for row in report.by_class], screen)
    _heading("Causes that fare worst", screen)
    worst = [row for row in report.by_cause if row.cases >= 3 and row.first < 1][:_WORST]
    _rows(worst, "Cause", [knowledge.cause_name(row.id) for row in worst], screen)
    _heading("Taken for each other", screen)
    _mixed(report.mixed[:_WORST], knowledge, screen)
    _heading("Asked most", screen)
    screen.print("; ".join(f"{cue} {share:.0%}" for cue, share in report.asked[:10]))
    _reliability("the kind of cause", report.class_reliability, screen)
    _reliability("the leading cause", report.cause_reliability, screen)
    show_pairs(pairs, knowledge, screen)


def _heading(text: str, screen: Screen) -> None:
    screen.print("", f"[label]{escape(text)}[/]")


def _share(share: float) -> str:
    return f"{100 * share:5.1f}%"


def _spread(report: Report) -> str:
    counts = report.question_counts
    return f"{counts[0][0]} to {counts[-1][0]}"


def _class_name(class_id: str, knowledge: Knowledge) -> str:
    text = knowledge.scale.classes.get(class_id)
    return text.name if text else class_id


def _table(screen: Screen, *heads: tuple[str, int | None]) -> Table:
    """A table without lines. A head with a width holds words, one without holds numbers."""
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    for head, width in heads:
        table.add_column(head, width=width, justify="left" if width else "right", no_wrap=not width)
    return table


def _rows(rows: Sequence[Row], head: str, names: Sequence[str], screen: Screen) -> None:
    table = _table(
        screen, (head, 30), ("cases", None), ("kind", None), ("first", None), ("of 3", None), ("asked", None)
    )
    for row, name in zip(rows, names, strict=True):
        shares = [f"{share:.0%}" for share in (row.right_class, row.first, row.top_three)]
        table.add_row(escape(name), str(row.cases), *shares, f"{row.questions:.1f}")
    screen.print(table if rows else "None.")


def _mixed(mixed: Sequence[Mixed], knowledge: Knowledge, screen: Screen) -> None:
    table = _table(screen, ("times", None), ("of", None), ("pair", 62))
    for each in mixed:
        table.add_row(str(each.times), str(each.of), escape(_pair_name(each.pair, knowledge)))
    screen.print(table if mixed else "None.")


def _pair_name(pair: tuple[str, str], knowledge: Knowledge) -> str:
    return " / ".join(knowledge.cause_name(cause) for cause in pair)


def _reliability(what: str, reliability: Reliability, screen: Screen) -> None:
    """Bars of what was true; the mark | stands where it should end: at what was said."""
    _heading(f"Said against true, for {what}", screen)
    if not screen.plain:
        screen.print("[soft]The bar is what was true; the mark | is what was said. They should meet.[/]")
    for each in reliability.bins:
        if not each.cases:
            continue
        numbers = f"said {each.said:4.0%}  true {each.true:4.0%}  cases {each.cases:5d}"
        screen.print(f"{numbers}  {_bar(each.true, each.said, screen)}".rstrip())
    screen.print(f"Mean gap (expected calibration error): {reliability.error:.3f}")


def _bar(true: float, said: float, screen: Screen) -> str:
    if screen.plain:
        return ""
    full, mark = round(true * _CELLS), min(_CELLS - 1, round(said * _CELLS))
    cells = ["█" if cell < full else "·" for cell in range(_CELLS)]
    cells[mark] = "|"
    return "".join(cells)


def show_pairs(pairs: Sequence[Pair], knowledge: Knowledge, screen: Screen) -> None:
    """Pairs that all answers together do not tell apart, and what that means for the advice."""
    _heading("Pairs the knowledge cannot tell apart", screen)
    limit = knowledge.scale.inseparable_decibans
    screen.print(
        f"All answers together give less than {limit:g} decibans on average (odds {10 ** (limit / 10):.3g} to 1)."
    )
    table = _table(screen, ("db", None), ("pair", 40), ("spray", 6), ("state", 22))
    for pair in pairs:
        state = "marked: a lab, or one advice" if pair.marked else "NOT MARKED"
        spray = "same" if pair.same_spray else "DIFFER"
        table.add_row(f"{pair.decibans:.1f}", escape(_pair_name(pair.causes, knowledge)), spray, state)
    screen.print(table if pairs else "None.")


def run_left_out(knowledge: Knowledge, worked: Sequence[WorkedCase], plain: bool) -> list[tuple[str, LeftOut]]:
    """Both ways of telling a worked case, in words and with what came of it."""
    ways = (("All that is told", False), ("What the interview asks", True))
    known = sum(case.truth.cause is not None for case in worked)
    with progress_on_stderr(len(ways) * known, "Left out", plain) as progress:
        return [(words, leave_out(knowledge, worked, by_interview, progress)) for words, by_interview in ways]


def show_left_out(found: Sequence[tuple[str, LeftOut]], knowledge: Knowledge, screen: Screen) -> None:
    """What the program says of worked cases whose cause it has been made to forget. `found`: words and results."""
    _heading("Worked cases without the sheet of their cause", screen)
    heads = ("cases", "right kind", "unclear", "either", "sure, wrong")
    table = _table(screen, ("Told", 26), *((head, None) for head in heads))
    for words, left in found:
        shares = [f"{left.share(what):.1%}" for what in _WHATS]
        table.add_row(words, str(len(left.all)), *shares)
    screen.print(table)
    for words, left in found:
        share = left.share("sure_and_wrong")
        verdict = "under 5%, as it must be" if share < 0.05 else "NOT under 5%"
        screen.print(f"Over {SURE:.0%} on a wrong kind, {words.lower()}: {share:.1%} ({verdict})")
        for each in sorted((e for e in left.all if e.sure_and_wrong), key=lambda e: -e.chance):
            said = f"{each.chance:.0%} {each.class_id}, in truth {each.right_classes[0]}"
            screen.print(f"  {said}: {escape(each.cause)}", f"      [soft]{escape(each.case)}[/]")


def as_data(
    report: Report, pairs: Sequence[Pair], observer: Observer, seed: int, left: Sequence[tuple[str, LeftOut]] = ()
) -> dict[str, Any]:
    """Everything as plain data for JSON."""
    data = asdict(report)
    data["sprays"] |= {"wrong_rate": report.sprays.wrong_rate, "missed_rate": report.sprays.missed_rate}
    data |= {"seed": seed, "observer": asdict(observer), "cannot_tell_apart": [asdict(pair) for pair in pairs]}
    if left:
        data["left_out"] = [left_data(words, each) for words, each in left]
    return _finite(data)  # type: ignore[no-any-return]


def left_data(words: str, left: LeftOut) -> dict[str, Any]:
    return {"told": words, **{what: left.share(what) for what in _WHATS}, "cases": [asdict(each) for each in left.all]}


def _finite(data: Any) -> Any:
    """JSON knows no "not a number": an empty bin says null."""
    if isinstance(data, dict):
        return {key: _finite(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_finite(value) for value in data]
    return None if isinstance(data, float) and math.isnan(data) else data


def check_figure(path: Path | None) -> None:
    """Raises BadInput before hours are spent, when the figure could not be written."""
    if path is None:
        return
    if path.suffix.lower() not in _FIGURES:
        raise BadInput([Problem(str(path), None, "", "is no kind of figure known here", "end it in .png or .svg")])
    if not path.resolve().parent.is_dir():
        raise BadInput([Problem(str(path), None, "", "its folder is not there", "make the folder first")])
    try:
        import matplotlib  # noqa: F401
    except ImportError:
        wrong = "a figure needs matplotlib, which is not installed"
        raise BadInput([Problem(str(path), None, "", wrong, "install it, or leave out --figure")]) from None


def draw_reliability(report: Report, path: Path) -> None:
    """The reliability plot as PNG or SVG: kind and cause, the size of a dot its number of cases."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    figure, axes = plt.subplots(figsize=(5, 5))
    try:
        axes.plot([0, 1], [0, 1], color="grey", linewidth=1, label="said and true agree")
        for name, reliability, colour, mark in (
            ("kind of cause", report.class_reliability, "#0072B2", "o"),
            ("cause", report.cause_reliability, "#E69F00", "s"),
        ):
            bins = [b for b in reliability.bins if b.cases]
            said, true = [b.said for b in bins], [b.true for b in bins]
            axes.plot(said, true, color=colour, linewidth=1, label=f"{name} (mean gap {reliability.error:.3f})")
            sizes = [15 + 250 * b.cases / report.overall.cases for b in bins]
            axes.scatter(said, true, s=sizes, color=colour, marker=mark, alpha=0.8)
        axes.set(xlim=(0, 1), ylim=(0, 1), xlabel="said", ylabel="true", aspect="equal")
        axes.set_title(f"Said against true, {report.overall.cases} drawn cases")
        axes.legend(loc="lower right", frameon=False)
        figure.savefig(path, dpi=120, bbox_inches="tight")
    finally:
        plt.close(figure)
