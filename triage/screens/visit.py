"""One visit at the terminal: the interview, the day's questions, the verdict, and "anything else on it?"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from triage.reasoning.case import Case, Hemisphere
from triage.reasoning.engine import Engine
from triage.reasoning.interview import Interview, from_data, to_data
from triage.reasoning.knowledge import Region, Situation
from triage.reasoning.verdict import judge
from triage.reasoning.verdict_model import Verdict
from triage.reasoning.visit import merge
from triage.reasoning.yaml_text import BadInput, Problem
from triage.screens import prompts
from triage.screens.asking import Asker, Left
from triage.screens.console import Screen
from triage.screens.prompts import Option
from triage.screens.verdict_page import show, show_plan, show_why

Judged = tuple[Interview, Verdict]


class DraftStore(Protocol):
    """Where an unfinished visit is kept."""

    def keep(self, data: dict[str, Any]) -> None: ...
    def read(self) -> Any: ...
    def drop(self) -> None: ...


@dataclass(frozen=True)
class Begun:
    """A visit that goes on: the interviews that are done, one for each kind of damage, and the one at hand."""

    now: Interview
    done: tuple[Interview, ...] = ()

    def data(self) -> dict[str, Any]:
        """Plain data for JSON."""
        return {"done": [to_data(one) for one in self.done], "now": to_data(self.now)}


HOW_TO_GO_ON = "Saved. Go on with: triage ask --resume"


def visit(
    begun: Begun, engine: Engine, screen: Screen, draft: DraftStore, why: bool, go_on: str = HOW_TO_GO_ON
) -> list[Judged] | None:
    """All of one visit, with its verdicts; None when the person left it.

    Every answer is kept as it is given. The draft stays until the caller drops it, so that nothing
    is lost before the visit itself is kept. Leaving says `go_on`.
    """
    judged: list[Judged] = [(one, judge(one.case, engine)) for one in begun.done]
    done, interview = begun.done, begun.now
    asker = Asker(engine, screen, lambda state: draft.keep(Begun(state, done).data()))
    try:
        while True:
            interview = asker.run(interview)
            interview = _ask_situations(interview, engine, screen)
            draft.keep(Begun(interview, done).data())
            verdict = judge(interview.case, engine)
            judged.append((interview, verdict))
            crop_name = engine.knowledge.crops.crops[interview.case.crop or "other"].name
            # Five lines are kept for the question that follows, so that the top stays in sight.
            show(verdict, engine.knowledge, screen, crop_name, lines=max(12, screen.console.height - 6))
            if why:
                show_why(verdict, engine.knowledge, screen)
            if not _more(verdict, engine, screen, shown=why):
                break
            done = (*done, interview)
            interview = _another(interview)
            draft.keep(Begun(interview, done).data())
    except Left as left:
        draft.keep(Begun(left.interview, done).data())
        _say(go_on, screen)
        return None
    except (KeyboardInterrupt, EOFError):
        _say(go_on, screen)
        return None
    if len(judged) > 1:
        show_plan(merge([verdict for _, verdict in judged], engine.knowledge), engine.knowledge, screen)
    return judged


def _say(text: str, screen: Screen) -> None:
    if text:
        screen.print(text)


def _another(interview: Interview) -> Interview:
    """A new interview about the same plant."""
    case = interview.case
    return Interview(Case(case.crop, case.months, case.region, case.hemisphere))


def start(crop: str, month: int, region: Region | None, hemisphere: Hemisphere | None = None) -> Begun:
    """A new visit to this crop."""
    return Begun(Interview(Case(crop=crop, months=(month,), region=region, hemisphere=hemisphere)))


def read_begun(data: Any, engine: Engine, file: str = "the saved interview") -> Begun:
    """The visit that `Begun.data` wrote. Raises BadInput when it does not fit the knowledge."""
    held = data if isinstance(data, dict) else {}
    done = tuple(from_data(one, engine.knowledge, file) for one in held.get("done", []))
    return Begun(from_data(held.get("now"), engine.knowledge, file), done)


def resumed(draft: DraftStore, engine: Engine) -> Begun:
    """The visit that was left. Raises BadInput when there is none."""
    data = draft.read()
    if data is None:
        raise BadInput([Problem("--resume", None, "", "no interview was left", "start one: triage ask")])
    return read_begun(data, engine)


def _ask_situations(interview: Interview, engine: Engine, screen: Screen) -> Interview:
    """The few things about the day and the planting that decide what to do, only when they matter."""
    verdict = judge(interview.case, engine)
    in_play = verdict.spray.advice != "do_not_spray"
    known = interview.case.context.model_dump(exclude_none=True)
    wanted = {
        name: situation
        for name, situation in engine.knowledge.situations.items()
        if name not in known and (in_play or not situation.only_if_spray) and verdict.state != "unclear"
    }
    if not in_play:
        return interview
    changes: dict[str, object] = {}
    for name, situation in wanted.items():
        if situation.kind == "choice":
            options = [Option(value, says) for value, says in situation.choices.items()]
            found = prompts.choose(situation.ask, options, screen.plain)
            if found is not None:
                changes[name] = found
    changes |= _today({name: s for name, s in wanted.items() if s.kind == "yes_no"}, screen)
    for name, situation in wanted.items():
        if situation.kind == "number":
            days = prompts.number(situation.ask, screen.plain)
            if days is not None:
                changes[name] = days
    return interview.with_context(**changes)


def _today(wanted: dict[str, Situation], screen: Screen) -> dict[str, object]:
    """All yes-or-no situations as one list to tick: what is not ticked is "no"."""
    if not wanted:
        return {}
    options = [Option(name, situation.ask, situation.why) for name, situation in wanted.items()]
    found = prompts.pick_several("Which of these is so today? Tick what is true.", options, screen.plain, least=0)
    if isinstance(found, prompts.Wish):
        return {}
    ticked = {tick.value for tick in found}
    return {name: name in ticked for name in wanted}


def _more(verdict: Verdict, engine: Engine, screen: Screen, shown: bool) -> bool:
    """After the verdict: reasons, another kind of damage, or done."""
    while True:
        options: Sequence[Option] = [
            Option("done", "Done"),
            *([] if shown else [Option("why", "Why? All the reasons")]),
            Option("more", "There is another kind of damage on the same plant"),
        ]
        found = prompts.choose("What next?", options, screen.plain)
        if found == "why":
            show_why(verdict, engine.knowledge, screen)
            shown = True
        else:
            return found == "more"
