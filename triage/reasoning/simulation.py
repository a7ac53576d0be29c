"""Cases drawn from the sheets, told by a fallible grower, and put through the interview.

It shows what the knowledge could reach if the sheets were true: which causes it mixes up,
how many questions it needs, and whether it means what it says. It cannot show whether the
sheets are true; the worked cases do that.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, replace
from functools import cache
from multiprocessing import get_context

import numpy as np
from numpy.random import Generator

from triage.reasoning.belief import Belief, believe, prior
from triage.reasoning.case import Answers, Case, Tick
from triage.reasoning.chances import Array, chances_of
from triage.reasoning.findings import fire
from triage.reasoning.interview import Interview
from triage.reasoning.knowledge import Effect, Knowledge
from triage.reasoning.questions import next_cue
from triage.reasoning.signals import advice_of, state_of
from triage.reasoning.verdict_model import Advice, State
from triage.reasoning.weights import Weights, compile_weights

Progress = Callable[[int], None]  # called with how many more cases are done

#: Each worker is handed its cases in so many parts: each part compiles the weights anew, but tells how far it is.
_PARTS = 6
_FEWEST = 25  # cases worth a part


@dataclass(frozen=True)
class Observer:
    """The pretended grower: `PretendedGrower` of scale.yaml, and how often one errs.

    `wrong`: chance that a question gets one wrong tick (a single choice: the wrong answer).
    """

    wrong: float
    missed: float
    unsure: float
    unsure_if_wrong: float
    cant_tell: tuple[float, float, float, float]
    silent: float


@dataclass(frozen=True)
class Drawn:
    """One case with the cause that made it."""

    cause: str
    case: Case


@dataclass(frozen=True)
class Outcome:
    """What the program made of one drawn case. `top` holds the three likeliest causes, best first."""

    truth: str
    truth_class: str
    crop: str
    asked: tuple[str, ...]
    top: tuple[tuple[str, float], ...]
    class_id: str
    class_chance: float
    truth_chance: float
    state: State
    advice: Advice
    effect: Effect | None  # what a spray truly does; None where no sheet says
    worth: float  # what it truly gains (above 0) or costs, from scale.yaml


def usual_observer(knowledge: Knowledge) -> Observer:
    """Wrong as often as the reasoning itself expects."""
    return Observer(wrong=knowledge.scale.observer_error, **knowledge.scale.pretended_grower.model_dump())


def draw_cases(
    knowledge: Knowledge,
    weights: Weights,
    number: int,
    rng: Generator,
    class_id: str | None = None,
    observer: Observer | None = None,
) -> list[Drawn]:
    """`number` cases: a random crop and month, a cause by its prior there, then what the grower tells.

    A sheet is drawn only for crops that it names. With `class_id` only causes of that class.
    Raises ValueError when the class has no cause on any crop.
    """
    observer = observer or usual_observer(knowledge)
    places, shares = _joint(knowledge, weights, class_id)
    steps = np.cumsum(shares.ravel())
    picks = np.minimum(np.searchsorted(steps, rng.random(number) * steps[-1], side="right"), len(steps) - 1)
    signs = cache(lambda group: _signs(weights.of_group(group) if group else weights, knowledge))
    drawn = []
    for pick in picks:
        place, column = divmod(int(pick), shares.shape[1])
        crop, month = places[place]
        answers = _tell(column, signs(weights.crop_groups.get(crop)), knowledge, weights.on(crop), observer, rng)
        drawn.append(Drawn(weights.causes[column], Case(crop=crop, months=(month,), answers=answers)))
    return drawn


def _joint(knowledge: Knowledge, weights: Weights, class_id: str | None) -> tuple[list[tuple[str, int]], Array]:
    """Every (crop, month) with the shares of the causes there, a row each."""
    columns = list(knowledge.sheets.values())
    wanted = np.array([class_id in (None, sheet.class_id) for sheet in columns])
    places: list[tuple[str, int]] = []
    rows: list[Array] = []
    for crop in knowledge.crops.crops:
        named = np.array([crop in sheet.crops or "any" in sheet.crops for sheet in columns])
        if knowledge.crops.crops[crop].family == "other" or not named.any():
            continue
        for month in range(1, 13):
            row = prior(Case(crop=crop, months=(month,)), knowledge, weights)[:-1] * named
            places.append((crop, month))
            rows.append(row / row.sum() * wanted)
    shares = np.array(rows)
    if not places or not shares.any():
        raise ValueError(f"no cause of class {class_id} on any crop")
    return places, shares


def _signs(weights: Weights, knowledge: Knowledge) -> dict[str, Array]:
    """Of every cue P(sign is there | cause) as the sheets have it, answers by causes; nan where a sheet is silent.

    Unlike the weights, an answer that a sheet does not mention is not there (or, for chance
    happenings, as often as `neutral`): its small floor in the weights stands for misjudging,
    which the observer does here by himself.
    """
    found, scale = {}, knowledge.scale
    for name, cue in knowledge.cues.items():
        by_chance = np.array([scale.neutral if cue.silent(value) == "neutral" else 0.0 for value in cue.answers])
        found[name] = chances_of(cue, weights.told[name], scale, by_chance).p
    return found


def _tell(
    column: int,
    signs: dict[str, Array],
    knowledge: Knowledge,
    weights: Weights,
    observer: Observer,
    rng: Generator,
) -> Answers:
    """All that the grower would answer, asked or not, so that the order of the questions changes nothing."""
    told: dict[str, tuple[Tick, ...]] = {}
    for name, cue in knowledge.cues.items():
        here = signs[name][:, column]
        silent = bool(np.isnan(here).any())
        usual = weights.cues[name].stated[:, -1]
        mute = observer.silent if silent else observer.cant_tell[cue.effort - 1]
        if name != "pattern" and rng.random() < mute:
            told[name] = ()
            continue
        chances = usual if silent else here
        told[name] = _several(name, chances, usual, knowledge, observer, rng) if cue.several else ()
        if not cue.several:
            wrong = rng.random() < observer.wrong
            told[name] = (_tick(name, _pick(usual if wrong else chances, rng), wrong, knowledge, observer, rng),)
    return told


def _several(
    name: str, chances: Array, usual: Array, knowledge: Knowledge, observer: Observer, rng: Generator
) -> tuple[Tick, ...]:
    """Ticks of a list. "Found none" stands alone, and is said when nothing else is found."""
    alone = np.array([answer.alone for answer in knowledge.cues[name].answers.values()])
    there = (rng.random(len(chances)) < chances) & ~alone
    seen = there & (rng.random(len(chances)) >= observer.missed)
    ticks = {int(row): False for row in np.flatnonzero(seen)}
    if not ticks and alone.any() and chances[alone].sum() > 0:
        ticks[_pick(np.where(alone, chances, 0.0), rng)] = False
    elif not ticks and name == "pattern":
        ticks[_pick(chances, rng)] = False  # who asks has seen something
    if rng.random() < observer.wrong and not any(alone[row] for row in ticks):
        ticks.setdefault(_pick(np.where(alone, 0.0, usual), rng), True)
    return tuple(_tick(name, row, wrong, knowledge, observer, rng) for row, wrong in sorted(ticks.items()))


def _pick(chances: Array, rng: Generator) -> int:
    steps = np.cumsum(chances)
    return min(int(np.searchsorted(steps, rng.random() * steps[-1], side="right")), len(steps) - 1)


def _tick(name: str, row: int, wrong: bool, knowledge: Knowledge, observer: Observer, rng: Generator) -> Tick:
    value = list(knowledge.cues[name].answers)[row]
    return Tick(value, sure=rng.random() >= (observer.unsure_if_wrong if wrong else observer.unsure))


def believe_told(case: Case, knowledge: Knowledge, weights: Weights) -> Belief:
    """The belief by the arrays alone, without the rule engine."""
    return believe(case, fire(case, knowledge), knowledge, weights)


def play_fast(told: Case, knowledge: Knowledge, weights: Weights) -> tuple[Interview, Belief]:
    """The self-stopping interview as `interview.play` runs it, by the arrays alone."""
    interview = Interview(replace(told, answers={}))
    while True:
        fired = fire(interview.case, knowledge)
        belief = believe(interview.case, fired, knowledge, weights)
        cue = next_cue(interview.case, fired, belief, knowledge, interview.asked)
        if cue is None:
            return interview, belief
        interview = interview.answered(cue, told.answers.get(cue, ()))


def run_case(drawn: Drawn, knowledge: Knowledge, weights: Weights) -> Outcome:
    """One drawn case through the interview."""
    interview, belief = play_fast(drawn.case, knowledge, weights)
    class_id, chance = max(belief.classes().items(), key=lambda item: item[1])
    sheet = knowledge.sheets.get(drawn.cause)
    return Outcome(
        truth=drawn.cause,
        truth_class=knowledge.class_of(drawn.cause),
        crop=drawn.case.crop or "",
        asked=interview.asked,
        top=tuple(belief.ranked()[:3]),
        class_id=class_id,
        class_chance=chance,
        truth_chance=belief.of(drawn.cause),
        state=state_of(class_id, chance, knowledge),
        advice=advice_of(interview.case, belief, knowledge),
        effect=sheet.spray.effect if sheet else None,
        worth=float(weights.spray_value[weights.index(drawn.cause)]),
    )


def run_chunk(knowledge: Knowledge, chunk: Sequence[Drawn]) -> list[Outcome]:
    """Some cases, in a worker process of its own."""
    weights = compile_weights(knowledge)
    return [run_case(drawn, knowledge, weights) for drawn in chunk]


def run_cases(
    knowledge: Knowledge,
    drawn: Sequence[Drawn],
    workers: int = 1,
    progress: Progress | None = None,
    weights: Weights | None = None,
) -> list[Outcome]:
    """All cases, in their order. The outcomes do not depend on the number of workers, nor on `weights`, which spare
    a single worker compiling them once more.
    """
    tell = progress or (lambda _: None)
    size = max(math.ceil(len(drawn) / (_PARTS * max(workers, 1))), _FEWEST)
    chunks = [drawn[start : start + size] for start in range(0, len(drawn), size)]
    if workers <= 1 or len(chunks) <= 1:
        weights = weights or compile_weights(knowledge)
        done = []
        for each in drawn:
            done.append(run_case(each, knowledge, weights))
            tell(1)
        return done
    # Spawn, not fork: the same on every system, and safe beside threads (a progress bar has one).
    with ProcessPoolExecutor(min(workers, len(chunks)), mp_context=get_context("spawn")) as pool:
        futures = {pool.submit(run_chunk, knowledge, chunk): number for number, chunk in enumerate(chunks)}
        found: dict[int, list[Outcome]] = {}
        try:
            for future in as_completed(futures):
                found[futures[future]] = future.result()
                tell(len(found[futures[future]]))
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
    return [outcome for number in range(len(chunks)) for outcome in found[number]]


def simulate(
    knowledge: Knowledge,
    number: int,
    rng: Generator,
    class_id: str | None = None,
    observer: Observer | None = None,
    workers: int = 1,
    progress: Progress | None = None,
) -> list[Outcome]:
    """`number` cases drawn and run. The same generator state gives the same outcomes, with any number of workers."""
    weights = compile_weights(knowledge)
    drawn = draw_cases(knowledge, weights, number, rng, class_id, observer)
    return run_cases(knowledge, drawn, workers, progress, weights)
