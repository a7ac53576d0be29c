"""The short re-check of a planting on the walk: clean above, climbing, a count; and the verdict after it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from rich.markup import escape

from triage.reasoning.case import Context
from triage.reasoning.engine import Engine
from triage.reasoning.interview import Interview, from_data
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.verdict import judge
from triage.records.walk import Past
from triage.screens import prompts
from triage.screens.console import Screen
from triage.screens.prompts import Option
from triage.screens.visit import Judged


@dataclass(frozen=True)
class Again:
    """What a second look found. None: could not tell, or was not asked."""

    growth: str | None  # clean or affected
    climbing: tuple[bool | None, ...]  # for each case of the last visit
    severity: tuple[str | None, ...]
    looked: int | None
    infested: int | None

    @property
    def nothing_wrong(self) -> bool:
        return self.growth != "affected" and not self.infested

    def notes(self) -> list[dict[str, Any]]:
        """What is kept beside the answers of each case."""
        return [{"climbing": climbs} for climbs in self.climbing]


def ask_again(past: Past, knowledge: Knowledge, screen: Screen) -> Again:
    """Ask. KeyboardInterrupt when the person breaks off."""
    growth = _choose("Is the new growth clean?", {"clean": "Clean", "affected": "Hit too"}, screen)
    climbing: list[bool | None] = []
    severity: list[str | None] = []
    for case in past.trouble:
        found = _choose(
            f"{case.cause_name}: does the damage climb?",
            {"no": "No, it stands still", "yes": "Yes: more leaves, or further up"},
            screen,
        )
        climbing.append({"yes": True, "no": False}.get(found or ""))
        ask = knowledge.situations["severity"]
        severity.append(_choose(ask.ask, ask.choices, screen) if found == "yes" else case.severity)
    looked, infested = _count(screen)
    return Again(growth, tuple(climbing), tuple(severity), looked, infested)


def judge_again(past: Past, found: Again, engine: Engine) -> list[Judged]:
    """The last visit's answers judged anew with what is known today.

    New growth goes in as context alone: after a spray it no longer tells what did the damage.
    Raises BadInput when the knowledge has changed too much to read the old answers.
    """
    judged: list[Judged] = []
    for case, severity in zip(past.trouble, found.severity, strict=True):
        old = from_data(case.answers, engine.knowledge, "the last visit")
        context = Context.model_validate(
            {"severity": severity, "new_growth": found.growth, "test_patch": past.test_patch}
        )
        interview = Interview(replace(old.case, context=context), old.asked)
        judged.append((interview, judge(interview.case, engine)))
    return judged


def _choose(ask: str, choices: dict[str, str], screen: Screen) -> str | None:
    options: Sequence[Option] = [*(Option(value, says) for value, says in choices.items()), Option("", "Can't tell")]
    found = prompts.choose(ask, options, screen.plain)
    if found is None:
        raise KeyboardInterrupt
    screen.print(f"{escape(ask)} [label]{escape(choices.get(found, 'can’t tell'))}[/]")
    return found or None


def _count(screen: Screen) -> tuple[int | None, int | None]:
    looked = prompts.number("A count: how many leaves do you look at?", screen.plain) or None
    while looked:
        infested = prompts.number(f"On how many of the {looked} is the pest?", screen.plain)
        if infested is None:
            return None, None
        if infested <= looked:
            screen.print(f"Counted: [label]{infested} of {looked} leaves[/]")
            return looked, infested
        screen.print(f"Not more than {looked}, please.")
    return None, None
