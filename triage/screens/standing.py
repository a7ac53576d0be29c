"""Where an interview stands: one calm line."""

from __future__ import annotations

from triage.reasoning.belief import Belief
from triage.reasoning.knowledge import Knowledge
from triage.screens.console import Screen, percent


def line(belief: Belief, knowledge: Knowledge, screen: Screen) -> str:
    """The three leading classes with their chances, in rich markup."""
    ranked = sorted(belief.classes().items(), key=lambda item: -item[1])[:3]
    parts = []
    for class_id, chance in ranked:
        text = knowledge.scale.classes.get(class_id)
        name = text.name if text else "Something else"
        bar = screen.bar(chance, 5)
        parts.append(f"{name} {percent(chance)}{' ' + bar if bar else ''}")
    return "[soft]So far:[/] " + "  ".join(parts) if not screen.plain else "So far: " + ", ".join(parts)
