"""Worked cases judged by the knowledge as it stood before anybody had read them.

Sheets are mended on the tuning cases, so these flatter every later state. The history of the
repository keeps the states before: each batch of cases is judged by the sheets and rules of the
commit that came before its mending, with today's questions and answers (the cases were put into
them anew), today's numbers and kins of sheets, the imagined growers and the counts of questions (made without sight of
any case), and the letters that were there by then. The measuring half is left out.
"""

from __future__ import annotations

import shutil
import subprocess
import tarfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import yaml
from numpy.typing import NDArray

from triage.reasoning.belief import Columns, loudness, normalised, prior, with_kin
from triage.reasoning.findings import Fired, fire
from triage.reasoning.kin import mixed
from triage.reasoning.knowledge import SOMETHING_ELSE, Knowledge, Scale
from triage.reasoning.leave_out import SURE
from triage.reasoning.letters import letters_of
from triage.reasoning.library import load
from triage.reasoning.measure import calibration_error
from triage.reasoning.tallies import add_tallies
from triage.reasoning.weights import Weights, compile_weights
from triage.reasoning.worked_cases import WorkedCase

Array = NDArray[np.float64]

#: The commit whose sheets judge, and the commit that brought the cases.
BATCHES = (
    ("e6f1759", "e6f1759"),
    ("34974c5", "3ad6a8a"),
    ("1ba00c1", "1ba00c1"),
    ("a2101d6", "a2101d6"),
    ("50863bc", "196cfea"),
    ("f779e69", "118f481"),
    ("118f481", "837e7f4"),
    ("4995568", "3d2818b"),
    ("3d2818b", "d6ae0e8"),
    ("65e28f0", "a1077bb"),
    ("664fbfd", "64d9523"),
)


def git(root: Path, *words: str) -> bytes:
    """What git prints. Raises CalledProcessError when the history is not here (a shallow clone)."""
    return subprocess.run(["git", "-C", str(root), *words], check=True, capture_output=True).stdout


def case_ids(root: Path, commit: str) -> set[str]:
    files = git(root, "ls-tree", "--name-only", commit, "knowledge/cases/").decode().split()
    texts = (git(root, "show", f"{commit}:{file}").decode() for file in files)
    return {entry["id"] for text in texts for entry in yaml.load(text, Loader=yaml.CSafeLoader)}


def as_it_stood(root: Path, commit: str) -> Knowledge:
    """The sheets and rules of a commit with today's answers, numbers, imagined growers and counts of questions."""
    with TemporaryDirectory() as folder:
        with tarfile.open(fileobj=BytesIO(git(root, "archive", commit, "knowledge"))) as archive:
            archive.extractall(folder, filter="data")
        then = Path(folder) / "knowledge"
        for name in ("scale.yaml", "asked_per_thousand.yaml", "cues.yaml", "kin.yaml", "crops.yaml"):
            (then / name).write_bytes((root / "knowledge" / name).read_bytes())
        shutil.rmtree(then / "tallies", ignore_errors=True)
        for name in ("imagined", "by_crop"):
            shutil.copytree(root / "knowledge/tallies" / name, then / "tallies" / name)
        return load(then)


def with_letters(knowledge: Knowledge, worked: Sequence[WorkedCase]) -> Knowledge:
    """The knowledge with these cases counted in the tallies of its sheets."""
    letters = letters_of(worked, knowledge)
    sheets = {
        cause: sheet.model_copy(update={"tally": add_tallies(sheet.tally, letters.get(cause, {}))})
        for cause, sheet in knowledge.sheets.items()
    }
    return knowledge.model_copy(update={"sheets": sheets})


@dataclass(frozen=True)
class Batch:
    """Cases on crops of one group with what fires on them, as arrays of cases by rules: judged in no time."""

    knowledge: Knowledge
    cases: tuple[WorkedCase, ...]
    fired: tuple[Fired, ...]

    def _table(self, kind: str) -> tuple[list[str], Array]:
        names = sorted({rule for fired in self.fired for rule in fired if rule.startswith(kind)})
        table = np.array([[fired.get(name, 0.0) for name in names] for fired in self.fired])
        return [name.removeprefix(kind) for name in names], table

    @cached_property
    def ticks(self) -> tuple[list[tuple[str, str]], Array, Array]:
        """Cue and answer of each column, how surely it is ticked, and how many of its list are."""
        names, sure = self._table("tick:")
        pairs = [(name.partition(".")[0], name.partition(".")[2]) for name in names]
        same = np.array([[one == other for other, _ in pairs] for one, _ in pairs], dtype=float)
        return pairs, sure, np.maximum(sure @ same, 1.0)

    @cached_property
    def looked(self) -> tuple[list[str], Array, Array]:
        names, told = self._table("looked:")
        pairs, sure, _ = self.ticks
        here = np.array([[cue == name for name in names] for cue, _ in pairs], dtype=float)
        return names, told, np.maximum(sure @ here, 1.0)

    @cached_property
    def patterns(self) -> tuple[list[str], Array]:
        return self._table("pattern:")

    def evidence(self, weights: Weights, columns: Columns) -> Array:
        """As `belief.evidence`: cases by columns."""
        scale = weights.scale
        pairs, sure, many = self.ticks
        tables = [columns.cues[cue] for cue, _ in pairs]
        rows = [table.row(value) for table, (_, value) in zip(tables, pairs, strict=True)]
        seen = np.array([table.seen[row] for table, row in zip(tables, rows, strict=True)])
        unseen = np.array([table.unseen[row] for table, row in zip(tables, rows, strict=True)])
        voice = many**-scale.shared_power
        total = (sure * voice) @ seen - ((sure > 0) * voice) @ unseen
        names, told, among = self.looked
        if names:
            total += (told * among**-scale.shared_power) @ np.array([columns.cues[name].looked for name in names])
        names, factors = self.patterns
        if names:
            total += factors @ np.array([columns.patterns[name] for name in names])
        loud: Array = np.array([loudness(n, scale) for n in sure.sum(axis=1)])
        heard: Array = loud[:, None] * total
        return heard

    def logits(self, scale: Scale) -> Logits:
        """What `belief.believe` reckons, for all cases at once."""
        tried = self.knowledge.model_copy(update={"scale": scale})
        weights = compile_weights(tried)
        own = np.log([prior(worked.case, tried, weights) for worked in self.cases]) + self.evidence(weights, weights)
        kin = np.log(weights.kin.share) + self.evidence(weights, weights.kin)
        return Logits(weights, own, kin, self._relatives_without(tried, weights))

    def _relatives_without(self, tried: Knowledge, weights: Weights) -> Array:
        """For every case the log probability of the relative of its cause's kin, were that cause not in it."""
        groups = weights.kin.groups
        causes = [weights.index(str(w.truth.cause)) if w.truth.cause in weights.causes else -1 for w in self.cases]
        struck = sorted(set(causes) - {-1})
        others = groups @ groups[struck].T
        others[struck, range(len(struck))] = 0.0
        alone = ~others.any(axis=0)
        others[:, alone] = 1.0  # only so that there is something to take a mean of
        mix = weights.before.common[:, None] * others
        cues, patterns = mixed(tried, mix / mix.sum(axis=0), weights.cues, weights.patterns)
        share = (groups[struck] @ weights.kin.share) if struck else np.zeros(0)
        told = self.evidence(weights, replace(weights.kin, share=share, cues=cues, patterns=patterns))
        found = np.full(len(self.cases), -np.inf)
        for number, cause in enumerate(causes):
            if cause >= 0 and not alone[column := struck.index(cause)]:
                found[number] = np.log(share[column]) + told[number, column]
        return found


@dataclass(frozen=True)
class Logits:
    """Log probabilities up to a constant: cases by causes, cases by their relatives."""

    weights: Weights
    own: Array
    kin: Array
    without: Array  # of the relative in the kin of each case's cause, that cause taken out; -inf: none is left

    def p(self) -> Array:
        return normalised(with_kin(self.own, self.kin, self.weights.kin))

    def p_without(self, number: int, cause: int) -> Array:
        """Case `number` with its cause struck out."""
        own, kin = self.own[number].copy(), self.kin[number].copy()
        own[cause] = -np.inf
        kin[self.weights.kin.groups[cause].argmax()] = self.without[number]
        return normalised(with_kin(own, kin, self.weights.kin))


def batches_of(knowledge: Knowledge, cases: Sequence[WorkedCase]) -> list[Batch]:
    """A batch for each group of crops, with the knowledge as growers of these crops tell it."""
    groups = knowledge.crop_groups()
    by_group: dict[str | None, list[WorkedCase]] = {}
    for worked in cases:
        by_group.setdefault(groups.get(worked.case.crop), []).append(worked)
    return [
        Batch(knowledge.on_group(group), tuple(some), tuple(fire(worked.case, knowledge) for worked in some))
        for group, some in by_group.items()
    ]


def held_out(root: Path, cases: Sequence[WorkedCase]) -> list[Batch]:
    """The batches of the tuning half, each with the knowledge that had not seen it."""
    found = []
    for before, brought in BATCHES:
        old = case_ids(root, f"{brought}^")
        new = case_ids(root, brought) - old
        fresh = [worked for worked in cases if worked.half == "tune" and worked.id in new]
        known = [worked for worked in cases if worked.id in old]
        found += batches_of(with_letters(as_it_stood(root, before), known), fresh)
    return found


@dataclass(frozen=True)
class Figures:
    """Shares from 0 to 1 and mean natural logarithms."""

    by_class: float
    by_cause: float  # of the cases whose cause has a sheet; so with the next
    among_three: float
    log_class: float
    log_cause: float
    gap: float
    left_out_log: float  # log P(right class), the true cause struck out
    sure_and_wrong: float  # likewise

    def __str__(self) -> str:
        return (
            f"class {self.by_class:.1%}  cause {self.by_cause:.1%}  of 3 {self.among_three:.1%}  gap {self.gap:.3f}"
            f"  log class {self.log_class:.3f}  cause {self.log_cause:.3f}"
            f"  cause struck out: sure and wrong {self.sure_and_wrong:.1%}"
        )


def figures(batches: Sequence[Batch], scale: Scale) -> Figures:
    hits, said, log_class, first, three, log_cause, wrong, left_log = ([] for _ in range(8))  # type: ignore[var-annotated]
    for batch in batches:
        logits = batch.logits(scale)
        weights = logits.weights
        unknown = weights.classes.index(SOMETHING_ELSE)
        for number, (worked, p) in enumerate(zip(batch.cases, logits.p(), strict=True)):
            classes = p @ weights.members
            right = [weights.classes.index(c) for c in worked.right_classes]
            hits.append(classes.argmax() in right)
            said.append(float(classes.max()))
            log_class.append(np.log(classes[right].sum()))
            causes = [weights.index(c) for c in worked.right_causes if c in weights.causes]
            if causes:
                first.append(p.argmax() in causes)
                three.append(bool(set(np.argsort(-p)[:3]) & set(causes)))
                log_cause.append(np.log(p[causes].sum()))
            if worked.truth.cause in weights.causes:
                left = logits.p_without(number, weights.index(str(worked.truth.cause))) @ weights.members
                lead = left.argmax()
                wrong.append(bool(left[lead] > SURE and lead not in right and lead != unknown))
                left_log.append(np.log(left[right].sum()))
    means = [float(np.mean(x)) for x in (hits, first, three, log_class, log_cause, left_log, wrong)]
    return Figures(
        *means[:5],
        gap=calibration_error(said, [bool(hit) for hit in hits]),
        left_out_log=means[5],
        sure_and_wrong=means[6],
    )
