"""Why the belief is what it is, and what would change it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from triage.reasoning.belief import Belief, voices
from triage.reasoning.case import Case
from triage.reasoning.chances import Array
from triage.reasoning.findings import Fired
from triage.reasoning.knowledge import SOMETHING_ELSE, Knowledge, Sheet
from triage.reasoning.questions import OPENING, Outlook
from triage.reasoning.verdict_model import Check, FindingKind, FindingOut, LookAlikeOut, Unexplained
from triage.reasoning.weights import NATS_PER_DECIBAN, Weights

_MIN_DECIBANS = 1.0  # weaker findings would only be noise on the screen
_OFTEN = frozenset({"almost_always", "usually"})
_UNUSUAL = frozenset({"rarely", "never"})
#: Cues whose ticks show the damage or the culprit itself: what one cause should account for.
_SIGNS = ("pattern", "creature", "trace")


def leaders(belief: Belief, most: int = 3, least: float = 0.05) -> list[tuple[str, float]]:
    """The causes still in play: the first, and up to two more with a fair chance."""
    ranked = [(cause, p) for cause, p in belief.ranked() if cause != SOMETHING_ELSE]
    return ranked[:1] + [(cause, p) for cause, p in ranked[1:most] if p >= least]


def findings(case: Case, fired: Fired, belief: Belief, knowledge: Knowledge) -> list[FindingOut]:
    """For each leading cause what spoke for and against it, the strongest first."""
    found: list[FindingOut] = []
    voice = voices(fired, belief.weights.scale)
    for cause, _ in leaders(belief):
        column = belief.weights.index(cause)
        sheet = knowledge.sheets[cause]
        for rule, factor in fired.items():
            kind, _, rest = rule.partition(":")
            if kind == "pattern":
                found += _pattern(rule, rest, voice.all * factor, cause, column, belief, knowledge)
            elif kind == "tick":
                found += _tick(rule, rest, factor * voice.of(rest.partition(".")[0]), cause, column, belief, knowledge)
            elif kind == "looked":
                found += _not_ticked(rule, rest, voice.of(rest), case, sheet, column, belief, knowledge)
    return sorted(found, key=lambda finding: -abs(finding.decibans))


def _finding(rule: str, kind: FindingKind, says: str, cause: str, nats: float, sources: list[str]) -> list[FindingOut]:
    decibans = nats / NATS_PER_DECIBAN
    if abs(decibans) < _MIN_DECIBANS:
        return []
    return [
        FindingOut(
            rule=rule,
            kind=kind,
            says=says,
            cause=cause,
            side="for" if decibans > 0 else "against",
            decibans=round(decibans, 1),
            sources=sources,
        )
    ]


def _pattern(
    rule: str, name: str, factor: float, cause: str, column: int, belief: Belief, knowledge: Knowledge
) -> list[FindingOut]:
    pattern = next(p for p in knowledge.patterns if p.id == name)
    nats = factor * float(belief.weights.patterns[name][column])
    return _finding(rule, "pattern", pattern.says, cause, nats, pattern.sources or [pattern.basis or "from_memory"])


def _tick(
    rule: str, rest: str, factor: float, cause: str, column: int, belief: Belief, knowledge: Knowledge
) -> list[FindingOut]:
    cue, _, value = rest.partition(".")
    table = belief.weights.cues[cue]
    nats = factor * float(table.seen[table.row(value), column])
    basis = knowledge.sheets[cause].basis.cues
    return _finding(rule, "answer", knowledge.says(cue, value), cause, nats, basis)


def _not_ticked(
    rule: str, cue: str, voice: float, case: Case, sheet: Sheet, column: int, belief: Belief, knowledge: Knowledge
) -> list[FindingOut]:
    """What this cause nearly always shows and was not ticked."""
    table = belief.weights.cues[cue]
    found: list[FindingOut] = []
    for value, word in sheet.cues.get(cue, {}).items():
        if word in _OFTEN and not case.has(cue, [value]):
            nats = voice * float(table.unseen[table.row(value), column])
            says = f"not ticked: {knowledge.says(cue, value)}"
            found += _finding(rule, "not_ticked", says, sheet.id, nats, sheet.basis.cues)
    return found


def look_alikes(belief: Belief, knowledge: Knowledge, case: Case) -> list[LookAlikeOut]:
    """Causes that still rival the leading one, each with the check that best separates the two."""
    found = []
    for cause, p in leaders(belief, most=4, least=0.03)[1:]:
        lead = leaders(belief)[0][0]
        check = tell_apart(lead, cause, knowledge) or best_cue(lead, cause, belief, knowledge, case)
        found.append(LookAlikeOut(cause=cause, name=knowledge.cause_name(cause), probability=p, check=check))
    return found


def tell_apart(first: str, second: str, knowledge: Knowledge) -> str:
    """What either sheet says of the other, or nothing."""
    for one, other in ((first, second), (second, first)):
        for look in knowledge.sheets[one].looks_like:
            if look.cause == other:
                return look.tell_apart
    return ""


def separation(first: str, second: str, cue: str, weights: Weights) -> float:
    """How far two causes differ in a cue: symmetric Kullback-Leibler divergence (Jeffreys), in nats."""
    return float(separations(cue, weights, [weights.index(first), weights.index(second)])[0, 1])


def separations(cue: str, weights: Weights, columns: Sequence[int] | None = None) -> Array:
    """The divergence of every pair of causes in a cue, a square array in nats; of `columns` alone if given.

    Of one choice among the answers, or summed over the answers where several may hold:
    sum (p - q)(l(p) - l(q)) with l the logarithm, or the log-odds, multiplied out into matrix products.
    """
    table = weights.cues[cue]
    p = table.given if columns is None else table.given[:, list(columns)]
    if not table.several:
        p = p / p.sum(axis=0)
    logs = np.log(p / (1 - p)) if table.several else np.log(p)
    cross = p.T @ logs
    own = np.diag(cross)
    apart: Array = own[:, None] + own[None, :] - cross - cross.T
    return apart


def best_cue(first: str, second: str, belief: Belief, knowledge: Knowledge, case: Case) -> str:
    """The open cue in which two causes differ most, as a sentence."""
    open_ones = [cue for cue in knowledge.cues if cue not in case.told()] or list(knowledge.cues)
    cue = max(open_ones, key=lambda name: separation(first, second, name, belief.weights))
    table = belief.weights.cues[cue]
    ratio = table.seen[:, belief.weights.index(first)] - table.seen[:, belief.weights.index(second)]
    here = knowledge.says(cue, table.values[int(ratio.argmax())])
    there = knowledge.says(cue, table.values[int(ratio.argmin())])
    names = knowledge.cause_name(first), knowledge.cause_name(second)
    return f"{knowledge.cues[cue].ask} “{here}” speaks for {names[0]}, “{there}” for {names[1]}."


def would_change(ahead: Sequence[Outlook], pays: bool, knowledge: Knowledge) -> list[Check]:
    """The cheapest checks with the best chance to turn the spray judgement."""
    turning = [o for o in ahead if o.flip_chance >= 0.02 and o.cue not in OPENING]
    turning.sort(key=lambda outlook: -outlook.flip_chance / outlook.effort)
    return [
        Check(
            cue=o.cue,
            ask=knowledge.cues[o.cue].ask,
            how=knowledge.cues[o.cue].how,
            tool=knowledge.cues[o.cue].tool,
            effort=o.effort,
            chance=round(o.flip_chance, 3),
            if_you_find=knowledge.says(o.cue, o.flip_value),
            turns_to="do_not_spray" if pays else "spray",
        )
        for o in turning[:3]
    ]


def unexplained(case: Case, belief: Belief, knowledge: Knowledge) -> list[Unexplained]:
    """Sure ticks of damage or culprit that the leading cause rarely shows and another explains."""
    lead = leaders(belief)[0][0]
    column = belief.weights.index(lead)
    prior = belief.weights.before.common
    found = []
    for cue in _SIGNS:
        table = belief.weights.cues[cue]
        answers = knowledge.cues[cue].answers
        for tick in case.answers.get(cue, ()):
            row = table.row(tick.value)
            stated = knowledge.sheets[lead].cues.get(cue, {}).get(tick.value)
            silent = stated is None and table.seen[row, column] < 0
            if not tick.sure or answers[tick.value].alone or not (silent or stated in _UNUSUAL):
                continue
            hosts = np.array([_grows_on(sheet, case.crop) for sheet in knowledge.sheets.values()])
            other = int((table.given[row, :-1] * prior * hosts).argmax())
            name = knowledge.cause_name(belief.weights.causes[other])
            found.append(Unexplained(cue=cue, value=tick.value, says=knowledge.says(cue, tick.value), fits_better=name))
    return found


def _grows_on(sheet: Sheet, crop: str | None) -> float:
    return 1.0 if crop is None or crop in sheet.crops or "any" in sheet.crops else 0.0
