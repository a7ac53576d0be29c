"""Searches the numbers of knowledge/scale.yaml on cases that were judged before anybody mended a sheet on them.

    python benchmarks/fit_held_out.py                  from the present values, ten minutes
    python benchmarks/fit_held_out.py --minutes 2 --seed 3
    python benchmarks/fit_held_out.py --keep strength_decibans --write

What is held out, and how: held_out.py. It needs the whole history of the repository. Judging a model
by what it said of each batch before seeing it is the prequential idea of A. P. Dawid, 1984 (from memory).

Score, the larger the better (the weights are our judgement):
    mean log P(right class) + 0.35 mean log P(right cause) + 0.3 mean log P(right class, true cause struck out)
    + share of classes right + 0.4 share of causes right + 0.3 share among the first three
    - calibration error - 4 max(0, sure and wrong with the cause struck out - 3.5%)
Random search: one to three numbers at a time, or all of a kind, by a random step, kept when the score grows.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from collections.abc import Callable, Sequence

import numpy as np
from fit_numbers import PARAMETERS, Array, present, scale_of, write_scale
from held_out import Figures, batches_of, figures, held_out

from triage.reasoning.library import knowledge_folder, load
from triage.reasoning.worked_cases import load_cases


def score(found: Figures) -> float:
    return (
        found.log_class
        + 0.35 * found.log_cause
        + 0.3 * found.left_out_log
        + found.by_class
        + 0.4 * found.by_cause
        + 0.3 * found.among_three
        - found.gap
        - 4 * max(0.0, found.sure_and_wrong - 0.035)
    )


def step(at: Array, free: Sequence[int], rng: np.random.Generator) -> Array:
    moved = at.copy()
    if rng.random() < 0.2:  # all of one kind together
        part = PARAMETERS[rng.choice(free)].part
        moved[[i for i in free if PARAMETERS[i].part == part]] += rng.normal(0, 0.1)
    else:
        some = rng.choice(free, size=rng.integers(1, 4), replace=False)
        moved[some] += rng.normal(0, 0.25, len(some))
    return np.clip(moved, [p.low for p in PARAMETERS], [p.high for p in PARAMETERS])


def search(
    start: Array, judge: Callable[[Array], Figures], free: Sequence[int], rng: np.random.Generator, seconds: float
) -> tuple[Array, Figures, int]:
    best, found, tried = start, judge(start), 0
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        moved = step(best, free, rng)
        got, tried = judge(moved), tried + 1
        if score(got) > score(found):
            best, found = moved, got
    return best, found, tried


def main() -> None:
    parser = argparse.ArgumentParser(description="Search the numbers of scale.yaml on cases no sheet was mended on.")
    parser.add_argument("--minutes", type=float, default=10)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", nargs="*", default=[], help="parts of scale.yaml that stay as they are")
    parser.add_argument("--write", action="store_true", help="put the found values into knowledge/scale.yaml")
    options = parser.parse_args()
    folder = knowledge_folder()
    knowledge = load(folder)
    cases = load_cases(folder, knowledge)
    try:
        batches = held_out(folder.parent, cases)
    except subprocess.CalledProcessError as error:
        sys.exit(f"The earlier states of the knowledge are not here: {error.stderr.decode().strip()}")
    start = present(knowledge.scale)

    def judge(at: Array) -> Figures:
        return figures(batches, scale_of(knowledge.scale, at))

    print(f"{sum(len(b.cases) for b in batches)} cases held out\nnow:  {judge(start)}", flush=True)
    free = [i for i, p in enumerate(PARAMETERS) if p.part not in options.keep]
    rng = np.random.default_rng(options.seed)
    best, found, tried = search(start, judge, free, rng, options.minutes * 60)
    print(f"best: {found}  ({tried} tried)")
    for parameter, old, new in zip(PARAMETERS, start, best, strict=True):
        print(f"  {parameter.name:28}{parameter.value(old):8.4f} {parameter.value(new):8.4f}")
    print("today's sheets on the tuning half, on which they were mended:")
    now = batches_of(knowledge, [worked for worked in cases if worked.half == "tune"])
    for words, at in (("now", start), ("best", best)):
        print(f"{words}: {figures(now, scale_of(knowledge.scale, at))}")
    if options.write:
        write_scale(folder / "scale.yaml", best)
        print("written to scale.yaml")


if __name__ == "__main__":
    main()
