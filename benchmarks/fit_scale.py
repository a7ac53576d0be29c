"""Fits the numbers of knowledge/scale.yaml on the tuning half of the worked cases.

    python benchmarks/fit_scale.py
    python benchmarks/fit_scale.py --soybean soybean.arff      also on the open soybean cases
    python benchmarks/fit_scale.py --left-out 1                also honest about unknown causes
    python benchmarks/fit_scale.py --write                     puts the fitted values into scale.yaml

Fitted: damping of each group, the probability of each frequency word, unlisted, neutral, the
unticked weights, and the strengths of the prior. The measuring half is never looked at.

Score: mean over cases of log P(true class) + log P(right causes), all answers told. Less a penalty on
the squared distance from the present values (in logits, or logarithms), since the cases are few. How
hard the penalty pulls is chosen by cross-validation (the hardest within one standard error of the best);
cases of one cause always share a fold. `--left-out 1` also scores each case with its cause struck out,
so that a gain is not bought by being sure of what the program does not know.

Method: evidence is nearly linear in the parameters, so it is linearised and the penalised score
maximised exactly (scipy, L-BFGS-B), then linearised once more there (Gauss and Newton's way).
Scores that are printed are of the true program, never of the linear one.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from fit_cases import Array, Mask, Set, Way, log_share, soybean_set, worked_set
from fit_numbers import PARAMETERS, present, scale_of, write_scale
from numpy.typing import NDArray
from open_cases import read_open_cases
from scipy.optimize import minimize  # type: ignore[import-untyped]
from scipy.special import logsumexp  # type: ignore[import-untyped]

from triage.reasoning.leave_out import SURE, leave_out
from triage.reasoning.library import assemble, knowledge_folder, read_files
from triage.reasoning.simulation_report import reliability
from triage.reasoning.weights import compile_weights
from triage.reasoning.worked_cases import load_cases

PENALTIES = (0.03, 0.1, 0.3)
FOLDS, REPEATS, STEPS = 5, 2, 2
SOYBEAN = Path("/usr/share/doc/weka/examples/soybean.arff")  # where the Debian package puts it


def slopes(one: Set, at: Array, base: Array, step: float = 0.05) -> Array:
    """d logits / d parameters, cases by causes by parameters."""
    found = np.zeros((*base.shape, len(at)))
    for number in range(len(at)):
        moved = at.copy()
        moved[number] += step if at[number] + step <= PARAMETERS[number].high else -step
        found[..., number] = (one.logits(moved) - base) / (moved[number] - at[number])
    return found


def fit(
    sets: Sequence[Set], chosen: Sequence[Mask], penalty: float, start: Array, first: Sequence[tuple[Array, Array]]
) -> Array:
    """The parameters that score best on the chosen cases. `first`: logits and slopes at the start."""
    at: Array = start
    linear = list(first)
    for turn in range(STEPS):
        if turn:
            bases = [one.logits(at) for one in sets]
            linear = [(base, slopes(one, at, base)) for one, base in zip(sets, bases, strict=True)]
        found = minimize(
            _loss,
            at,
            args=(at, start, sets, chosen, linear, penalty),
            jac=True,
            method="L-BFGS-B",
            bounds=[(p.low, p.high) for p in PARAMETERS],
        )
        at = found.x
    return at


def _loss(
    at: Array,
    around: Array,
    start: Array,
    sets: Sequence[Set],
    chosen: Sequence[Mask],
    linear: Sequence[tuple[Array, Array]],
    penalty: float,
) -> tuple[float, Array]:
    """The penalised score of the linear model, turned round, with its slope."""
    loss = penalty * float(((at - start) ** 2).sum())
    slope = 2 * penalty * (at - start)
    for one, picked, (base, jacobian) in zip(sets, chosen, linear, strict=True):
        logits = base[picked] + jacobian[picked] @ (at - around)
        share = one.weight / picked.sum()
        for whole in one.ways:
            way = Way(whole.right[picked], whole.allowed[picked])
            loss -= share * whole.weight * float(log_share(logits, way).sum())
            pull = np.where(
                way.right.any(axis=1, keepdims=True), _soft(logits, way.right) - _soft(logits, way.allowed), 0.0
            )
            slope -= share * whole.weight * np.einsum("nc,ncp->p", pull, jacobian[picked])
    return loss, slope


def _soft(logits: Array, among: Mask) -> Array:
    """Probabilities among the marked causes; nothing in a row that marks none."""
    kept = np.where(among, logits, -np.inf)
    # A row that marks none has no largest logit; nought stands in, and its exponentials are nought.
    largest = np.where(among.any(axis=1), kept.max(axis=1), 0.0)
    shifted = np.exp(kept - largest[:, None])
    found: Array = shifted / shifted.sum(axis=1, keepdims=True).clip(1e-300)
    return found


@dataclass(frozen=True)
class Held:
    """Held-out results of the first set: a row a repeat, a column a case; and its logits."""

    gains: Array
    logits: Array  # repeats by cases by causes
    others: tuple[float, ...]  # mean held-out gain of the other sets


def cross_validate(
    sets: Sequence[Set],
    penalty: float,
    start: Array,
    first: Sequence[tuple[Array, Array]],
    rng: np.random.Generator,
) -> Held:
    """Fits on four fifths, scores on the fifth, twice over. Gains are against the present values."""
    gains, logits = [], []
    others: list[list[float]] = [[] for _ in sets[1:]]
    for _ in range(REPEATS):
        folds: list[NDArray[np.intp]] = [rng.permutation(np.unique(one.groups) % FOLDS)[one.groups] for one in sets]
        gain, held = np.zeros(len(sets[0].groups)), np.zeros_like(first[0][0])
        for fold in range(FOLDS):
            at = fit(sets, [f != fold for f in folds], penalty, start, first)
            for number, (one, f, (base, _)) in enumerate(zip(sets, folds, first, strict=True)):
                out = f == fold
                new = one.logits(at)
                better = one.scores(new)[out] - one.scores(base)[out]
                if number:
                    others[number - 1].extend(better)
                else:
                    gain[out], held[out] = better, new[out]
        gains.append(gain)
        logits.append(held)
    return Held(np.array(gains), np.array(logits), tuple(float(np.mean(o)) for o in others))


def quality(one: Set, logits: Array, class_of: NDArray[np.intp]) -> str:
    """How good: class right, cause first, calibration of the class, and how sure without the cause."""
    p = np.exp(logits - logsumexp(logits, axis=1, keepdims=True))
    by_class = p @ np.eye(class_of.max() + 1)[class_of]
    classes, causes = one.ways[0].right, one.ways[1].right
    right = np.array([np.bincount(class_of, weights=row, minlength=class_of.max() + 1) > 0 for row in classes])
    everyone = np.arange(len(p))
    hits = right[everyone, by_class.argmax(axis=1)]
    known = causes.any(axis=1)
    first = causes[everyone, p.argmax(axis=1)][known].mean()
    error = reliability(list(by_class.max(axis=1)), list(hits)).error
    assert one.rest is not None
    struck = np.where(one.rest, p, 0.0) @ np.eye(class_of.max() + 1)[class_of]
    struck /= struck.sum(axis=1, keepdims=True)
    lead = struck.argmax(axis=1)
    unknown = class_of[-1]  # something_else stands last
    sure = known & (struck.max(axis=1) > SURE) & ~right[everyone, lead] & (lead != unknown)
    scores = [log_share(logits, way) for way in one.ways]
    class_score, cause_score = scores[0].mean(), scores[1][known].mean()
    return (
        f"log P class {class_score:.3f}  cause {cause_score:.3f}  class right {hits.mean():.1%}"
        f"  cause first {first:.1%}\n"
        f"          calibration error {error:.3f}  cause struck out: sure and wrong {sure.sum() / known.sum():.1%}"
    )


def stay_near(tried: Sequence[tuple[float, float, float]]) -> float:
    """The hardest penalty whose gain is within one standard error of the best.

    The one-standard-error rule of Breiman, Friedman, Olshen and Stone 1984 (from memory).
    """
    gain, spread, _ = max(tried)
    return max(penalty for g, _, penalty in tried if g >= gain - spread)


def main() -> None:
    parser = argparse.ArgumentParser(description="Fit the numbers of scale.yaml on the tuning half.")
    parser.add_argument("--soybean", type=Path, default=SOYBEAN, help="soybean.arff; left out when it is not there")
    parser.add_argument("--soybean-weight", type=float, default=0.25, help="mean soybean score against worked score")
    parser.add_argument(
        "--left-out", type=float, default=0.0, help="weight of not being sure when the cause is unknown"
    )
    parser.add_argument("--penalty", type=float, help="use this one instead of the one chosen")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--write", action="store_true", help="put the fitted values into knowledge/scale.yaml")
    options = parser.parse_args()
    rng = np.random.default_rng(options.seed)
    # Without the tallies of letters: these are the very cases that are to be held out.
    files = read_files(knowledge_folder())
    knowledge = assemble({short: file for short, file in files.items() if not short.startswith("tallies/letters/")})
    tune = [w for w in load_cases(knowledge_folder(), knowledge) if w.half == "tune"]
    sets = [worked_set(tune, knowledge, options.left_out)]
    if options.soybean.is_file():
        frequency = {str(word): p for word, p in knowledge.scale.frequency.items()}
        open_cases = read_open_cases(options.soybean, frequency, rng)
        sets.append(soybean_set(open_cases, knowledge, options.soybean_weight))
        print(f"{len(tune)} worked cases (tuning half), {len(open_cases.truth)} open soybean cases")
    else:
        print(f"{len(tune)} worked cases (tuning half). The open soybean cases are not to be had: no {options.soybean}")
    start = present(knowledge.scale)
    class_of = compile_weights(knowledge).class_of
    bases = [one.logits(start) for one in sets]
    first = [(base, slopes(one, start, base)) for one, base in zip(sets, bases, strict=True)]
    print(f"now:      {quality(sets[0], bases[0], class_of)}")
    tried: list[tuple[float, float, float]] = []  # gain, its standard error, penalty
    for penalty in (options.penalty,) if options.penalty else PENALTIES:
        held = cross_validate(sets, penalty, start, first, np.random.default_rng(options.seed))
        per_case = held.gains.mean(axis=0)
        gain, spread = float(per_case.mean()), float(per_case.std(ddof=1) / np.sqrt(len(per_case)))
        tried.append((gain, spread, penalty))
        repeats = ", ".join(f"{g:+.3f}" for g in held.gains.mean(axis=1))
        others = "".join(f"; soybean {g:+.3f}" for g in held.others)
        print(
            f"penalty {penalty:<6g} held-out gain {gain:+.3f} (standard error {spread:.3f}; repeats {repeats}){others}"
        )
        print(f"          {quality(sets[0], held.logits[0], class_of)}", flush=True)
    penalty = options.penalty or stay_near(tried)
    at = fit(sets, [np.ones(len(one.groups), bool) for one in sets], penalty, start, first)
    print(f"\nchosen penalty {penalty:g}. Fitted on all tuning cases:\n{'':32}now     new   change in its own units")
    for number, parameter in enumerate(PARAMETERS):
        old, new = parameter.value(start[number]), parameter.value(at[number])
        print(f"{parameter.name:28}{old:7.3f} {new:7.3f}   {at[number] - start[number]:+.2f}")
    rounded = knowledge.model_copy(update={"scale": scale_of(knowledge.scale, at)})
    print(f"\nfitted (not held out): {quality(sets[0], sets[0].logits(at), class_of)}")
    for words, kit in (("now", knowledge), ("new", rounded)):
        share = leave_out(kit, tune).share("sure_and_wrong")
        print(f"without the sheet of the true cause, sure and wrong, tuning half, {words}: {share:.1%}")
    if options.write:
        write_scale(knowledge_folder() / "scale.yaml", at)
        print("written to scale.yaml")


if __name__ == "__main__":
    main()
