"""One sheet on the screen."""

from __future__ import annotations

from rich.markup import escape

from triage.reasoning.knowledge import Knowledge, Sheet
from triage.screens.console import Screen
from triage.screens.verdict_page import EVIDENCE, section, source_line

_WORDS = {
    "almost_always": "almost always",
    "usually": "usually",
    "often": "often",
    "sometimes": "sometimes",
}


def show_sheet(sheet: Sheet, knowledge: Knowledge, screen: Screen, sources: bool) -> None:
    """What it is, how to know it, what it is taken for, what to do, and what all that rests on."""
    latin = f" ({sheet.latin})" if sheet.latin else ""
    group = knowledge.scale.classes[sheet.class_id]
    screen.print(f"[label]{escape(sheet.name)}[/]{escape(latin)}", f"{escape(group.name)}: {escape(group.plain)}")
    if sheet.caveat:
        screen.print(escape(sheet.caveat))
    section("How to know it", sheet.tells, screen)
    section("What you would see", _seen(sheet, knowledge), screen)
    section("On", [_crops(sheet, knowledge)], screen)
    alike = [f"{knowledge.cause_name(look.cause)}: {look.tell_apart}" for look in sheet.looks_like]
    section("Taken for", alike, screen)
    effect = knowledge.scale.effects[sheet.spray.effect]
    rests = f"Rests on {EVIDENCE[sheet.spray.evidence]}."
    section("Oil-and-soap spray", [f"The mix {effect}. {sheet.spray.note} {rests}"], screen)
    section("What to do", sheet.actions, screen)
    section("When to act", [sheet.threshold], screen)
    section("Send a sample", [sheet.send_sample_when], screen)
    screen.print("", f"[soft]{escape(_basis(sheet))}[/]")
    if sources:
        section("Sources", [source_line(key, knowledge) for key in sheet.sources], screen)


def _seen(sheet: Sheet, knowledge: Knowledge) -> list[str]:
    lines = []
    for cue, words in sheet.cues.items():
        told = [
            f"{knowledge.says(cue, value)} ({_WORDS[word]})"
            for value, word in sorted(
                words.items(), key=lambda item: list(_WORDS).index(item[1]) if item[1] in _WORDS else 9
            )
            if word in ("almost_always", "usually", "often")
        ]
        if told:
            lines.append(f"{knowledge.cues[cue].ask} {'; '.join(told)}")
    return lines


def _crops(sheet: Sheet, knowledge: Knowledge) -> str:
    by_level: dict[str, list[str]] = {}
    for crop, level in sheet.crops.items():
        name = "any crop" if crop == "any" else knowledge.crops.crops[crop].name.lower()
        by_level.setdefault(level, []).append(name)
    words = {"high": "often", "medium": "at times", "low": "seldom"}
    return "; ".join(f"{words[level]}: {', '.join(by_level[level])}" for level in words if level in by_level)


def _basis(sheet: Sheet) -> str:
    memory = [field for field, keys in sheet.basis.model_dump().items() if set(keys) <= {"from_memory"}]
    rests = f"{len(sheet.sources)} published source{'s' if len(sheet.sources) != 1 else ''}"
    tail = f"; without a source: {', '.join(f.replace('_', ' ') for f in memory)}" if memory else ""
    return f"Rests on {rests}. How often each sign is met is our own judgement{tail}."
