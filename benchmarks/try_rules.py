"""Tries proposed rules on the letters of the tuning half: on how many each fires, and what it gains there.

    python benchmarks/try_rules.py proposed.yaml

The file is a list of rules as in knowledge/patterns.yaml. Each is tried by itself, beside the rules that stand. A rule
written without sight of a letter that gains on both halves of those it fires on is more than its maker's opinion.
The gain of a letter: what ln P(right class) + 0.35 ln P(right cause) grows by (the weight is our judgement).
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import yaml
from pydantic import TypeAdapter

from triage.reasoning.belief import Belief, believe
from triage.reasoning.findings import Fired, fire, pattern_rule
from triage.reasoning.knowledge import Knowledge, Pattern
from triage.reasoning.library import knowledge_folder, load
from triage.reasoning.weights import Weights, compile_weights
from triage.reasoning.worked_cases import WorkedCase, load_cases

Letters = Sequence[tuple[WorkedCase, Fired]]


@dataclass(frozen=True)
class Tried:
    """One rule: the letters it fires on, the gain of every second letter and of the others, classes set right less
    classes set wrong."""

    rule: str
    letters: int
    gains: tuple[float, float]
    set_right: int


def worth(belief: Belief, worked: WorkedCase) -> tuple[float, bool]:
    """What a belief is worth on a letter, and whether its class is right."""
    classes = belief.classes()
    causes = sum(belief.of(cause) for cause in worked.right_causes)
    gain = math.log(sum(classes[one] for one in set(worked.right_classes)))
    leading = max(classes, key=classes.__getitem__)
    return gain + (0.35 * math.log(causes) if causes else 0.0), leading in worked.right_classes


def with_rule(weights: Weights, alone: Weights) -> Weights:
    """The weights with the one rule of `alone` among the others."""
    kin = replace(weights.kin, patterns={**weights.kin.patterns, **alone.kin.patterns})
    return replace(weights, patterns={**weights.patterns, **alone.patterns}, kin=kin)


def tried(rule: Pattern, letters: Letters, knowledge: Knowledge, weights: Weights) -> Tried:
    alone = knowledge.model_copy(update={"patterns": [rule], "contradictions": []})
    columns = compile_weights(alone)
    gains, set_right, count = [0.0, 0.0], 0, 0
    for number, (worked, fired) in enumerate(letters):
        factor = fire(worked.case, alone).get(pattern_rule(rule))
        if not factor:
            continue
        on_crop = weights.on(worked.case.crop)
        before, was = worth(believe(worked.case, fired, knowledge, on_crop), worked)
        more = {**fired, pattern_rule(rule): factor}
        after, now = worth(believe(worked.case, more, knowledge, with_rule(on_crop, columns)), worked)
        gains[number % 2] += after - before
        set_right += now - was
        count += 1
    return Tried(rule.id, count, (gains[0], gains[1]), set_right)


def main() -> None:
    parser = argparse.ArgumentParser(description="Try proposed rules on the letters of the tuning half.")
    parser.add_argument("proposed", type=Path)
    rules = TypeAdapter(list[Pattern]).validate_python(yaml.safe_load(parser.parse_args().proposed.read_text()))
    folder = knowledge_folder()
    knowledge = load(folder)
    weights = compile_weights(knowledge)
    worked = [one for one in load_cases(folder, knowledge) if one.half == "tune"]
    letters = [(one, fire(one.case, knowledge)) for one in worked]
    found = [tried(rule, letters, knowledge, weights) for rule in rules]
    print(f"{len(letters)} letters; of each rule: fires on, gain of the even and the odd, classes set right")
    for one in sorted(found, key=lambda each: -sum(each.gains)):
        even, odd = one.gains
        print(f"  {one.rule:48}{one.letters:5}{even:+8.2f}{odd:+8.2f}{one.set_right:+5}")


if __name__ == "__main__":
    main()
