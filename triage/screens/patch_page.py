"""The test patch: how to put it on, when to look, and what its result means."""

from __future__ import annotations

from datetime import date

from rich.markup import escape

from triage.screens.console import Screen
from triage.screens.programme_page import short_day
from triage.screens.safety_page import bullets, keys_text
from triage.spraying.programme_knowledge import PatchRules


def show_started(line: str, looks: tuple[date, date], rules: PatchRules, screen: Screen) -> None:
    """What was kept, and what to do with it."""
    first, second = looks
    screen.print(escape(line))
    lines = [
        escape(f"{rules.plants} plants, {rules.leaves_each} leaves on each. {rules.pick}"),
        f"Look on [label]{short_day(first)}[/] and again on [label]{short_day(second)}[/].",
        f"{escape(rules.says)} {keys_text(rules.sources)}",
        escape(f"Burnt is: {rules.burnt_is}"),
        "Then: triage patch result clean (or burnt). Leave the other plants alone until then.",
    ]
    bullets(lines, screen, "The patch")


def show_result(line: str, result: str, rules: PatchRules, screen: Screen) -> None:
    """What was kept, and what follows from it."""
    screen.print(escape(line))
    says = rules.if_clean if result == "clean" else rules.if_burnt
    follow = ["Lay out the sprays: triage plan"] if result == "clean" else ["What else helps: triage ask, triage cause"]
    bullets([escape(text) for text in (says, rules.again_when, *follow)], screen, "What now")
