"""The interview at the terminal: shows a question, obeys a wish, goes on until the verdict."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from rich.markup import escape

from triage.reasoning.belief import Belief
from triage.reasoning.case import Tick
from triage.reasoning.engine import Engine
from triage.reasoning.interview import Interview, step
from triage.reasoning.knowledge import Cue, Knowledge
from triage.reasoning.questions import usual_first
from triage.screens import prompts, standing
from triage.screens.console import Screen
from triage.screens.crop_question import ask_crop
from triage.screens.prompts import Help, Option, Wish

_LONG = 14  # a list longer than this is asked in two steps, by heading


class Left(Exception):
    """The person saved and left. Carries where the interview stood."""

    def __init__(self, interview: Interview) -> None:
        super().__init__("left")
        self.interview = interview


@dataclass
class Asker:
    """One interview with one person. `keep` is called after every answer, so nothing is lost."""

    engine: Engine
    screen: Screen
    keep: Callable[[Interview], None]

    @property
    def knowledge(self) -> Knowledge:
        return self.engine.knowledge

    def run(self, interview: Interview) -> Interview:
        """Ask until enough is known. Raises Left when the person leaves; keeps every answer."""
        while True:
            _, belief, cue = step(interview, self.engine)
            if cue is None:
                return interview
            if interview.asked:
                self.screen.print(standing.line(belief, self.knowledge, self.screen))
            found = self._ask(cue, interview, belief)
            if found is Wish.FINISH:
                return interview
            if found is Wish.LEAVE:
                raise Left(interview)
            if found is Wish.BACK:
                interview = self._back(interview)
            elif isinstance(found, tuple):
                interview = interview.answered(cue, found)
                self._echo(cue, found)
            self.keep(interview)

    def _back(self, interview: Interview) -> Interview:
        if interview.asked:
            cue = interview.asked[-1]
            self.screen.print(f"Back to: {escape(self.knowledge.cues[cue].ask)}")
            return interview.taken_back(self.knowledge)
        crop = ask_crop(self.knowledge, self.screen)
        if crop is None:
            raise Left(interview)
        return replace(interview, case=replace(interview.case, crop=crop))

    def _echo(self, cue: str, ticks: tuple[Tick, ...]) -> None:
        told = ", ".join(
            self.knowledge.says(cue, tick.value) + ("" if tick.sure else " (I think so)") for tick in ticks
        )
        self.screen.print(f"{escape(self.knowledge.cues[cue].ask)} [label]{escape(told or 'can’t tell')}[/]")

    def _ask(self, name: str, interview: Interview, belief: Belief) -> tuple[Tick, ...] | Wish:
        """Ask one cue; "can't tell" is an empty answer."""
        cue = self.knowledge.cues[name]
        helps = {
            Help.WHY: cue.why,
            Help.HOW: f"{cue.how} You need: {cue.tool}.",
            Help.STANDING: standing.plain_line(belief, self.knowledge),
        }
        options = [Option(value, a.says, a.looks, a.alone) for value, a in cue.answers.items()]
        plain = self.screen.plain
        found: tuple[Tick, ...] | Wish
        if not cue.several:
            found = prompts.pick_one(cue.ask, options, plain, helps)
        elif len(options) <= _LONG or not any(answer.headings for answer in cue.answers.values()):
            found = prompts.pick_several(cue.ask, options, plain, helps)
        else:
            rank = {value: number for number, value in enumerate(usual_first(name, belief))}
            options.sort(key=lambda option: (not option.alone, rank[option.value]))
            found = self._by_heading(cue, options, helps)
        return () if found is Wish.CANT_TELL else found

    def _by_heading(self, cue: Cue, options: list[Option], helps: prompts.Helps) -> tuple[Tick, ...] | Wish:
        """A long list in two steps: which kinds, then which of them, what is usual on this crop first."""
        headings = list(dict.fromkeys(a.headings[0] for a in cue.answers.values() if a.headings))
        examples = {h: [o.says for o in options if h in cue.answers[o.value].headings] for h in headings}
        kinds = [Option(h, h, "; ".join(examples[h][:4])) for h in headings]
        while True:
            found = prompts.pick_several(cue.ask, kinds, self.screen.plain, helps)
            if isinstance(found, Wish):
                return found
            chosen = {tick.value for tick in found}
            shown = [o for o in options if chosen & set(cue.answers[o.value].headings)]
            if len(shown) == 1:
                return (Tick(shown[0].value),)
            found = prompts.pick_several(cue.ask, shown, self.screen.plain, helps)
            if found is not Wish.BACK:  # back from the second step is back to the first
                return found
