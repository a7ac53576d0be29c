"""Safety and law: in full, and the few lines shown wherever a spray is mixed or planned."""

from __future__ import annotations

from rich.markup import escape
from rich.table import Table

from triage.reasoning.knowledge import Knowledge
from triage.reasoning.spray_knowledge import Resting, Rules, SafetyItem
from triage.screens.console import Screen
from triage.screens.verdict_page import section, source_line

_BASIS = {
    "common_practice": "common practice",
    "from_memory": "partly from memory",
    "judgement": "our judgement",
    "calculation": "worked out",
}


def rests_on(item: Resting) -> str:
    """What a claim rests on, in brackets, as text that is safe to print."""
    return keys_text(item.sources, _BASIS[item.basis] if item.basis else "")


def keys_text(keys: list[str] | tuple[str, ...], basis: str = "") -> str:
    """Source keys in brackets, soft, ready to print."""
    if not keys:
        basis = {"partly from memory": "general knowledge, no source read"}.get(basis, basis)
    words = [*keys, *([basis] if basis else [])]
    return f"[soft]\\[{escape(', '.join(words))}][/]" if words else ""


def show_brief(knowledge: Knowledge, screen: Screen, country: str = "", law_told: bool = False) -> None:
    """The short cautions: the rules of the country first. Sources by key; in full with `triage safety`."""
    items = knowledge.safety.brief(country)
    law = len([item for item in knowledge.safety.in_order(country)[0].items if item.brief])
    lines = [f"[warn]{escape(item.brief)}[/] {keys_text(item.sources)}" for item in items[: 0 if law_told else law]]
    keys = list(dict.fromkeys(key for item in items[law:] for key in item.sources[:1]))
    lines.append(f"{escape(' '.join(item.brief for item in items[law:]))} {keys_text(keys)}")
    lines.append("In full: triage safety")
    bullets(lines, screen, "Take care")


def law_first(knowledge: Knowledge, country: str) -> bool:
    """Whether the law of this country may forbid the act itself, so that it is told before the recipe."""
    return knowledge.safety.rules_for(country) in ("uk", "eu")


def show_law(knowledge: Knowledge, screen: Screen, country: str) -> None:
    """The rules of the country alone, in short."""
    rules = knowledge.safety.in_order(country)[0]
    bullets([f"[warn]{escape(i.brief)}[/] {keys_text(i.sources)}" for i in rules.items if i.brief], screen, "The law")


def show_safety(knowledge: Knowledge, screen: Screen, country: str = "", sources: bool = False) -> None:
    """Everything, the rules of the country first."""
    shown: list[SafetyItem] = []
    ordered = knowledge.safety.in_order(country)
    _show_rules(ordered[0], screen)
    for part in knowledge.safety.sections:
        _show_items(part.title, part.items, screen)
    for rules in ordered[1:]:
        _show_rules(rules, screen)
    shown += [item for rules in ordered for item in rules.items]
    shown += [item for part in knowledge.safety.sections for item in part.items]
    if sources:
        keys = sorted({key for item in shown for key in item.sources})
        section("Sources", [source_line(key, knowledge) for key in keys], screen)
    else:
        screen.print("", "The sources in full: triage safety --sources")


def _show_rules(rules: Rules, screen: Screen) -> None:
    title = "Rules everywhere" if not rules.countries else f"Rules: {rules.says}"
    _show_items(title, rules.items, screen)


def _show_items(title: str, items: list[SafetyItem], screen: Screen) -> None:
    bullets([f"{escape(item.says)} {rests_on(item)}" for item in items], screen, title)


def bullets(lines: list[str], screen: Screen, title: str) -> None:
    """A titled list of lines that are ready to print."""
    if not lines:
        return
    screen.print("", f"[label]{escape(title)}[/]")
    for line in lines:
        table = Table.grid()
        table.add_column(width=4)
        table.add_column(width=screen.width - 5, overflow="fold")
        table.add_row("  -" if screen.plain else "  ·", line)
        screen.print(table)
