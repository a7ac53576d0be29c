"""Two look-alikes side by side on the screen."""

from __future__ import annotations

from rich import box
from rich.markup import escape
from rich.table import Table

from triage.reasoning.knowledge import Knowledge
from triage.screens.console import Screen
from triage.teaching.look_alikes import Comparison

_MOST = 8


def show_comparison(comparison: Comparison, knowledge: Knowledge, screen: Screen) -> None:
    """The check to make, then the cues in the order of how well they separate the two."""
    names = knowledge.cause_name(comparison.first), knowledge.cause_name(comparison.second)
    if comparison.check:
        screen.print(f"[label]The check:[/] {escape(comparison.check)}", "")
    if not comparison.differences:
        screen.print("Nothing a grower can see tells these two apart. Send a sample.")
        return
    if screen.plain:
        for d in comparison.differences[:_MOST]:
            cue = knowledge.cues[d.cue]
            screen.print(f"{cue.ask} (with: {cue.tool})")
            for name, values in zip(names, (d.first, d.second), strict=True):
                screen.print(f"  {name}: {_answers(d.cue, values, knowledge)}")
        return
    table = Table(box=box.SIMPLE, width=screen.width, show_lines=False, padding=(0, 1, 0, 0))
    table.add_column("Look at", ratio=3)
    table.add_column(names[0], ratio=4)
    table.add_column(names[1], ratio=4)
    for d in comparison.differences[:_MOST]:
        cue = knowledge.cues[d.cue]
        tool = f" [soft](with: {escape(cue.tool)})[/]" if cue.effort > 1 else ""
        table.add_row(
            escape(cue.ask) + tool,
            escape(_answers(d.cue, d.first, knowledge)),
            escape(_answers(d.cue, d.second, knowledge)),
        )
    screen.print(table)


def _answers(cue: str, values: tuple[str, ...], knowledge: Knowledge) -> str:
    return "; ".join(knowledge.says(cue, value) for value in values) or "none of these"
