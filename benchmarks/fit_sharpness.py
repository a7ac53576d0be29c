"""Searches the few numbers of knowledge/scale.yaml that say how loudly everything speaks.

    python benchmarks/fit_sharpness.py                  from the present values, ten minutes
    python benchmarks/fit_sharpness.py --minutes 2 --seed 3

fit_scale.py fits each group and word; here all of them are turned up or down together, with what is
drawn from the class, the observer's error and the strength of the rules. Two aims pull apart: what is
said should be true (calibration error of the class), and a cause that has no sheet must not be taken
for another with over 80% (each tuning case once more with its true cause struck out).

Score, the larger the better, over the tuning half with all answers told (the weights are our judgement):
    0.4 mean log P(right class) + 0.3 mean log P(right cause) - 1.5 calibration error
    + share of classes right + 0.5 share of causes right + 0.15 mean log P(right class, cause struck out)
    - 8 max(0, sure and wrong with the cause struck out - 4%)
Random search: one to three numbers at a time by a random step, kept when the score grows. Prints, never writes.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from triage.reasoning.belief import evidence, normalised, prior
from triage.reasoning.findings import Fired, fire
from triage.reasoning.knowledge import SOMETHING_ELSE, Knowledge, Scale
from triage.reasoning.leave_out import SURE
from triage.reasoning.library import knowledge_folder, load
from triage.reasoning.measure import calibration_error
from triage.reasoning.weights import compile_weights
from triage.reasoning.worked_cases import WorkedCase, load_cases

Numbers = dict[str, float]

#: Each number with what it may not pass. The first four are factors on what stands in scale.yaml.
RANGES = {
    "all damping": (0.6, 1.6),
    "all strengths": (0.6, 1.6),
    "all unticked": (0.3, 2.0),
    "all of the prior": (0.6, 1.5),  # as a power
    "listed": (0.0, 0.6),
    "silent": (0.0, 0.9),
    "background": (0.1, 20.0),
    "observer_error": (0.01, 0.2),
    "unlisted": (0.003, 0.06),
    "neutral": (0.003, 0.25),
    "something_else": (0.002, 0.15),
}


def present(scale: Scale) -> Numbers:
    kept: Numbers = {name: 1.0 for name in RANGES if name.startswith("all")}
    kept |= scale.relatives
    return kept | {name: getattr(scale, name) for name in ("observer_error", "unlisted", "neutral", "something_else")}


def turned(scale: Scale, numbers: Numbers) -> Scale:
    def times(part: dict[str, float], factor: float, most: float) -> dict[str, float]:
        return {key: min(most, value * factor) for key, value in part.items()}

    def power(part: dict[str, float], exponent: float) -> dict[str, float]:
        return {key: value**exponent for key, value in part.items()}

    return scale.model_copy(
        update={
            "damping": times(scale.damping, numbers["all damping"], 2.0),
            "strength_decibans": times(dict(scale.strength_decibans), numbers["all strengths"], 40.0),
            "unticked": times(dict(scale.unticked), numbers["all unticked"], 1.0),
            "commonness": power(dict(scale.commonness), numbers["all of the prior"]),
            "host": power(dict(scale.host), numbers["all of the prior"]),
            "relatives": {key: numbers[key] for key in scale.relatives},
            **{name: numbers[name] for name in ("observer_error", "unlisted", "neutral", "something_else")},
        }
    )


@dataclass(frozen=True)
class Figures:
    """Shares from 0 to 1 and mean natural logarithms, over the tuning half."""

    by_class: float
    by_cause: float
    log_class: float
    log_cause: float
    gap: float
    left_out_log: float
    sure_and_wrong: float

    @property
    def score(self) -> float:
        return (
            0.4 * self.log_class
            + 0.3 * self.log_cause
            - 1.5 * self.gap
            + self.by_class
            + 0.5 * self.by_cause
            + 0.15 * self.left_out_log
            - 8 * max(0.0, self.sure_and_wrong - 0.04)
        )

    def __str__(self) -> str:
        return (
            f"class {self.by_class:.1%}  cause {self.by_cause:.1%}  gap {self.gap:.3f}"
            f"  cause struck out: sure and wrong {self.sure_and_wrong:.1%}  score {self.score:.4f}"
        )


def judge_all(cases: Sequence[tuple[WorkedCase, Fired]], knowledge: Knowledge) -> Figures:
    weights = compile_weights(knowledge)
    logs = np.array([np.log(prior(w.case, knowledge, weights)) + evidence(f, weights) for w, f in cases])
    members = np.eye(len(weights.classes))[weights.class_of]
    right = np.array([[c in w.right_classes for c in weights.classes] for w, _ in cases])
    causes = np.array([[c in w.right_causes for c in weights.causes] for w, _ in cases])
    known = np.array([w.truth.cause is not None for w, _ in cases])
    p = normalised(logs)
    by_class = p @ members
    hits = right[np.arange(len(p)), by_class.argmax(axis=1)]
    struck = logs.copy()
    for row, (w, _) in enumerate(cases):
        if w.truth.cause:
            struck[row, weights.index(w.truth.cause)] = -np.inf
    left = (normalised(struck) @ members)[known]
    lead, still = left.argmax(axis=1), right[known]
    wrong = ~still[np.arange(len(left)), lead] & (lead != weights.classes.index(SOMETHING_ELSE))
    return Figures(
        by_class=float(hits.mean()),
        by_cause=float(causes[np.arange(len(p)), p.argmax(axis=1)][known].mean()),
        log_class=float(np.log((by_class * right).sum(axis=1)).mean()),
        log_cause=float(np.log((p * causes).sum(axis=1)[known]).mean()),
        gap=calibration_error([float(x) for x in by_class.max(axis=1)], [bool(x) for x in hits]),
        left_out_log=float(np.log((left * still).sum(axis=1)).mean()),
        sure_and_wrong=float((wrong & (left.max(axis=1) > SURE)).mean()),
    )


def step(numbers: Numbers, rng: np.random.Generator) -> Numbers:
    moved = dict(numbers)
    for name in rng.choice(list(RANGES), size=rng.integers(1, 4), replace=False):
        moved[name] = float(np.clip(moved[name] * np.exp(rng.normal(0, 0.2)), *RANGES[name]))
    return moved


def search(
    start: Numbers, figures: Callable[[Numbers], Figures], rng: np.random.Generator, seconds: float
) -> tuple[Numbers, Figures, int]:
    best, found, tried = start, figures(start), 0
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        moved = step(best, rng)
        got, tried = figures(moved), tried + 1
        if got.score > found.score:
            best, found = moved, got
    return best, found, tried


def main() -> None:
    parser = argparse.ArgumentParser(description="Search how loudly everything speaks, on the tuning half.")
    parser.add_argument("--minutes", type=float, default=10)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    knowledge = load(knowledge_folder())
    tune = [w for w in load_cases(knowledge_folder(), knowledge) if w.half == "tune"]
    cases = [(w, fire(w.case, knowledge)) for w in tune]

    def figures(numbers: Numbers) -> Figures:
        return judge_all(cases, knowledge.model_copy(update={"scale": turned(knowledge.scale, numbers)}))

    start = present(knowledge.scale)
    print(f"{len(tune)} cases (tuning half)\nnow:  {figures(start)}", flush=True)
    rng = np.random.default_rng(options.seed)
    best, found, tried = search(start, figures, rng, options.minutes * 60)
    print(f"best: {found}  ({tried} tried)")
    for name in RANGES:
        print(f"  {name:18}{start[name]:8.4f} {best[name]:8.4f}")


if __name__ == "__main__":
    main()
