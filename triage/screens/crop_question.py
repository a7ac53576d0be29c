"""The first question: which plant. Stands apart so that it is on screen before the arrays are built."""

from __future__ import annotations

from rich.markup import escape

from triage.reasoning.case import crop_hint, crop_words, find_crop
from triage.reasoning.knowledge import Knowledge
from triage.screens import prompts
from triage.screens.console import Screen
from triage.screens.prompts import Wish

_ASK = "Which plant is it?"


def ask_crop(knowledge: Knowledge, screen: Screen) -> str | None:
    """A crop id, by any everyday name; None when the person saves and leaves."""

    def check(text: str) -> bool | str:
        if find_crop(text, knowledge):
            return True
        return crop_hint(text, knowledge) or "No such crop here. Type part of its name, or: other"

    found = prompts.type_ahead(_ASK, crop_words(knowledge), check, screen.plain)
    if found is Wish.LEAVE:
        return None
    crop = (None if isinstance(found, Wish) else find_crop(found, knowledge)) or "other"
    screen.print(f"{_ASK} [label]{escape(knowledge.crops.crops[crop].name)}[/]")
    return crop
