"""Which cue to ask next, and when to stop.

Look-ahead by arrays: for every cue still open and every answer it may get, the belief
after that answer. From these, the expected gain in the spray decision (value of
information: how much better the best choice gets), and the expected information gain on
class and cause (Shannon entropy, in nats).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from triage.reasoning.belief import Belief, Columns, Sums, loudness, normalised, with_kin
from triage.reasoning.case import Case
from triage.reasoning.chances import Array
from triage.reasoning.findings import Fired, facts_of, pattern_rule
from triage.reasoning.knowledge import Knowledge, Pattern

#: Asked of everyone before any look-ahead: without them every cause is possible.
OPENING = ("pattern",)


@dataclass(frozen=True)
class Outlook:
    """What one more answer can be expected to bring."""

    cue: str
    effort: int
    spray_gain: float  # expected gain in the value of the best spray choice, never below 0
    class_gain: float  # nats
    cause_gain: float  # nats
    flip_chance: float  # chance that the answer turns "spray" into "don't" or back
    flip_value: str  # the likeliest answer that would turn it; "" when none does
    score: float


def entropy(p: Array) -> Array:
    """Shannon entropy in nats along the last axis; 0 log 0 is 0."""
    safe = np.where(p > 0, p, 1.0)
    return -(p * np.log(safe)).sum(axis=-1)  # type: ignore[no-any-return]


def information_gain(prior: Array, chances: Array, posteriors: Array) -> float:
    """Expected drop in entropy: `chances` over outcomes, a row of `posteriors` an outcome."""
    return float(entropy(prior) - chances @ entropy(posteriors))


def after_each(logs: Array) -> tuple[Array, Array]:
    """Rows of logarithms scaled to probabilities, and the entropy of each row in nats (cheaper than `entropy`)."""
    shifted = logs - logs.max(axis=1, keepdims=True)
    raw = np.exp(shifted)
    total = raw.sum(axis=1)
    p = raw / total[:, None]
    return p, np.log(total) - np.einsum("vc,vc->v", p, shifted)


def open_cues(case: Case, knowledge: Knowledge) -> list[str]:
    """Cues not answered yet whose occasion has come (a beetle's look only after a beetle)."""
    return [
        name
        for name, cue in knowledge.cues.items()
        if name not in case.answers and (not cue.after or any(case.has(c, values) for c, values in cue.after.items()))
    ]


def usual_first(cue: str, belief: Belief) -> list[str]:
    """The answers of a cue, those first that are given most on this crop and in this season.

    What is answered so far plays no part: an order that follows the leading cause would lead the grower on.
    """
    weights = belief.weights
    table = weights.cues[cue]
    chances = table.given @ normalised(belief.own.before)
    return [table.values[row] for row in np.argsort(-chances, kind="stable")]


def outlooks(
    case: Case, fired: Fired, belief: Belief, knowledge: Knowledge, cues: Iterable[str] | None = None
) -> list[Outlook]:
    """Every open cue with what it can bring, the best first."""
    wanted = open_cues(case, knowledge) if cues is None else cues
    waiting = _waiting(case, fired, knowledge)
    now = _now(fired, belief, knowledge)
    found = [_outlook(cue, belief, now, knowledge, waiting.get(cue, ())) for cue in wanted]
    return sorted(found, key=lambda outlook: -outlook.score)


@dataclass(frozen=True)
class _Now:
    """What every look ahead starts from."""

    cause_entropy: float
    classes: Array
    spray_gain: float
    loudness: float  # how much one more answer would count


def _now(fired: Fired, belief: Belief, knowledge: Knowledge) -> _Now:
    ticks = sum(factor for rule, factor in fired.items() if rule.startswith("tick:"))
    classes = belief.p @ belief.weights.members
    return _Now(float(entropy(belief.p)), classes, belief.spray_gain(), loudness(ticks + 1, knowledge.scale))


def foreseen(cue: str, belief: Belief, now: _Now, waiting: Sequence[Pattern]) -> Array:
    """Log probabilities, up to a constant, of the causes after each answer to a cue: a row an answer.

    `waiting`: the patterns that this cue alone would complete. What chained rules add is not foreseen, nor that what is
    told already counts a little less beside one more answer: else every question would seem to cost certainty.
    """
    weights = belief.weights
    parts: tuple[tuple[Sums, Columns], ...] = ((belief.own, weights), (belief.kin, weights.kin))
    logs = []
    for sums, columns in parts:
        table = columns.cues[cue]
        more = table.alone.copy()
        for pattern in waiting:
            for value in pattern.when[cue]:
                more[table.row(value)] += columns.patterns[pattern.id]
        logs.append(sums.before + sums.told + now.loudness * more)
    return with_kin(logs[0], logs[1], weights.kin)


def _outlook(cue: str, belief: Belief, now: _Now, knowledge: Knowledge, waiting: Sequence[Pattern]) -> Outlook:
    weights = belief.weights
    table = weights.cues[cue]
    # Several ticks may come, but looking ahead at one at a time tells enough and costs little.
    chances = table.shares @ belief.p
    after, entropies = after_each(foreseen(cue, belief, now, waiting))

    gains = after @ weights.spray_value
    spray_gain = max(0.0, float(chances @ np.maximum(gains, 0.0)) - max(now.spray_gain, 0.0))
    flips = (gains > 0) != (now.spray_gain > 0)
    flip_chance = float(chances[flips].sum())
    flip_value = table.values[int(np.argmax(np.where(flips, chances, -1.0)))] if flips.any() else ""

    class_gain = max(0.0, information_gain(now.classes, chances, after @ weights.members))
    cause_gain = max(0.0, now.cause_entropy - float(chances @ entropies))
    worth = knowledge.scale.question_value
    effort = knowledge.cues[cue].effort
    total = worth["spray"] * spray_gain + worth["class"] * class_gain + worth["cause"] * cause_gain
    return Outlook(cue, effort, spray_gain, class_gain, cause_gain, flip_chance, flip_value, total / effort)


def _waiting(case: Case, fired: Fired, knowledge: Knowledge) -> dict[str, list[Pattern]]:
    """The patterns that have not fired and lack one cue alone, by that cue."""
    held: dict[str, set[str]] = {}
    for fact in facts_of(case, knowledge):
        held.setdefault(fact.cue, set()).add(fact.value)
    found: dict[str, list[Pattern]] = {}
    for pattern in knowledge.patterns:
        lacking = None
        for cue, values in pattern.when.items():
            if cue not in held or held[cue].isdisjoint(values):
                if lacking is not None:
                    break
                lacking = cue
        else:
            if lacking is not None and pattern_rule(pattern) not in fired:
                found.setdefault(lacking, []).append(pattern)
    return found


def next_cue(case: Case, fired: Fired, belief: Belief, knowledge: Knowledge, asked: Sequence[str]) -> str | None:
    """The cue to ask next, or None when it is time to stop."""
    for cue in OPENING:
        if cue not in case.answers:
            return cue
    ahead = outlooks(case, fired, belief, knowledge)
    if not ahead or enough(belief, ahead, knowledge):
        return None
    many = len(asked) >= knowledge.scale.most_questions
    if many and (belief.spray_gain() <= 0 or _settled(ahead, knowledge)):
        return None
    if many or ahead[0].score < knowledge.scale.stop["gain"]:  # only the spray is still open: ask what may turn it
        return max(ahead, key=lambda outlook: outlook.flip_chance / outlook.effort).cue
    return ahead[0].cue


def _settled(ahead: Sequence[Outlook], knowledge: Knowledge) -> bool:
    """No single answer is likely to turn "spray" into "don't" or back."""
    return max(outlook.flip_chance for outlook in ahead) < knowledge.scale.stop["flip_chance"]


def enough(belief: Belief, ahead: Sequence[Outlook], knowledge: Knowledge) -> bool:
    """No single answer is likely to change what to do, and the class is clear (or nothing more is to be learnt).

    Where a spray would be right as things stand, it must be settled in any case: a wrong one is dear.
    """
    stop = knowledge.scale.stop
    clear = max(belief.classes().values()) >= stop["class_sure"]
    settled = _settled(ahead, knowledge)
    nothing_to_learn = ahead[0].score < stop["gain"]
    if belief.spray_gain() > 0:
        return settled and (clear or nothing_to_learn)
    return (clear and settled) or nothing_to_learn
