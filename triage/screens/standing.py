"""Where an interview stands: one calm line."""

from __future__ import annotations

from triage.reasoning.belief import Belief
from triage.reasoning.knowledge import Knowledge
from triage.screens.console import Screen, percent

_CELLS = 5


def _top(belief: Belief, knowledge: Knowledge) -> list[tuple[str, float]]:
    ranked = sorted(belief.classes().items(), key=lambda item: -item[1])[:3]
    names = knowledge.scale.classes
    return [(names[c].name if c in names else "Something else", chance) for c, chance in ranked]


def line(belief: Belief, knowledge: Knowledge, screen: Screen) -> str:
    """The three leading classes with their chances, in rich markup."""
    if screen.plain:
        return plain_line(belief, knowledge)
    room = screen.width - len("So far:")
    parts = []
    for name, chance in _top(belief, knowledge):
        room -= len(name) + len(percent(chance)) + _CELLS + 4
        if room < 0:
            break  # one calm line: what does not fit is left out
        parts.append(f"{name} {percent(chance)} {screen.bar(chance, _CELLS)}")
    return "[soft]So far:[/] " + "  ".join(parts)


def plain_line(belief: Belief, knowledge: Knowledge) -> str:
    """The same without bars or markup."""
    return "So far: " + ", ".join(f"{name} {percent(chance)}" for name, chance in _top(belief, knowledge))
