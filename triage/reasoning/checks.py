"""Is the knowledge sound? Small named checks, each yielding Problems with file, line and a way to mend.

A check is a plain function of a Library; add one by writing it and naming it in CHECKS.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np

from triage.reasoning import coverage
from triage.reasoning.belief import believe
from triage.reasoning.case import Case, Context, Tick
from triage.reasoning.explain import separations
from triage.reasoning.findings import DERIVED, fire
from triage.reasoning.knowledge import MARKS, Knowledge, Sheet
from triage.reasoning.library import KnowledgeFile
from triage.reasoning.weights import Weights, compile_weights
from triage.reasoning.yaml_text import Problem, Step, line_of

#: Two sheets nearer than this (nats, over all cues a grower can answer) look the same to everyone.
_TOLD_APART = 2.0
_FEWEST_CAUSES = 3
_BELIEF_SIGNALS = frozenset(
    {
        "gain",
        "helps",
        "hurts",
        "judgement",
        "evidence",
        "state",
        "pays",
        "in_play",
        "notifiable",
        "inseparable",
        "test_patch_known",
    }
    | {"class", "cause", "class_chance", "cause_chance", "unknown_chance", "crop", "family", "new_growth"}
)


@dataclass(frozen=True)
class Library:
    """The knowledge with the files it was read from."""

    knowledge: Knowledge
    files: dict[str, KnowledgeFile]

    @cached_property
    def weights(self) -> Weights:
        return compile_weights(self.knowledge)

    def problem(self, short: str, path: Sequence[Step], wrong: str, mend: str) -> Problem:
        file = self.files[short]
        return Problem(file.name, line_of(file.text, path), ".".join(str(s) for s in path), wrong, mend)

    def sheet_file(self, sheet: Sheet) -> str:
        return f"causes/{sheet.class_id}/{sheet.id}.yaml"


Check = Callable[[Library], Iterator[Problem]]


def run(library: Library, checks: Sequence[Check] | None = None) -> list[Problem]:
    """All that is wrong, in the order of the checks."""
    return [problem for check in (checks or CHECKS) for problem in check(library)]


def _claims(library: Library) -> Iterator[tuple[str, list[Step], list[str]]]:
    """Every list of source keys in every file: file, path, keys."""
    for short, file in library.files.items():
        if short not in ("sources.yaml", "scale.yaml"):
            for path, keys in _source_lists(file.data, []):
                yield short, path, keys


def _source_lists(data: object, path: list[Step]) -> Iterator[tuple[list[Step], list[str]]]:
    """Lists that stand under `sources`, or field by field under `basis`."""
    if isinstance(data, dict):
        for key, value in data.items():
            here = [*path, key]
            if key == "sources" and isinstance(value, list):
                yield here, [str(item) for item in value]
            elif key == "basis" and isinstance(value, dict):
                yield from (([*here, field], keys) for field, keys in value.items())
            else:
                yield from _source_lists(value, here)
    elif isinstance(data, list):
        for i, item in enumerate(data):
            yield from _source_lists(item, [*path, i])


def dangling_source(library: Library) -> Iterator[Problem]:
    """A source key that stands in no source list."""
    for short, path, keys in _claims(library):
        for key in keys:
            if key not in library.knowledge.sources and key not in MARKS:
                yield library.problem(short, path, f"no source is called '{key}'", "add it to sources.yaml")


def unused_source(library: Library) -> Iterator[Problem]:
    """A source that nothing leans on."""
    used = {key for _, _, keys in _claims(library) for key in keys}
    for key in library.knowledge.sources:
        if key not in used:
            yield library.problem("sources.yaml", [key], "no claim leans on this source", "drop it")


def claim_without_basis(library: Library) -> Iterator[Problem]:
    """A claim with neither a source key nor a mark."""
    k = library.knowledge
    for sheet in k.sheets.values():
        for field, keys in sheet.basis.model_dump().items():
            if not keys:
                mend = "name a source, or from_memory or common_practice"
                yield library.problem(library.sheet_file(sheet), ["basis", field], "rests on nothing", mend)
    listed = (
        ("patterns.yaml", "patterns", [(p.sources, p.basis) for p in k.patterns]),
        ("decisions.yaml", "decisions", [(d.sources, d.basis) for d in k.decisions]),
        ("cautions.yaml", "cautions", [(c.sources, c.basis) for c in k.cautions]),
    )
    for short, part, items in listed:
        for i, (sources, basis) in enumerate(items):
            if not sources and not basis:
                yield library.problem(short, [part, i], "rests on nothing", "name a source or a basis")


def basis_outside_sheet(library: Library) -> Iterator[Problem]:
    """A basis key that the sheet's own source list does not hold."""
    for sheet in library.knowledge.sheets.values():
        for field, keys in sheet.basis.model_dump().items():
            for key in keys:
                if key not in MARKS and key not in sheet.sources:
                    wrong = f"'{key}' is not among the sheet's sources"
                    yield library.problem(library.sheet_file(sheet), ["basis", field], wrong, "add it there")


def effect_without_evidence(library: Library) -> Iterator[Problem]:
    """A spray effect that claims a trial or an extension page and names none."""
    for sheet in library.knowledge.sheets.values():
        if sheet.spray.evidence in ("trial", "extension") and not sheet.spray.sources:
            wrong = f"says '{sheet.spray.evidence}' and names no source"
            mend = "name it, or say common_practice or from_memory"
            yield library.problem(library.sheet_file(sheet), ["spray", "evidence"], wrong, mend)


def unknown_answer(library: Library) -> Iterator[Problem]:
    """A cue or answer that cues.yaml does not hold."""
    k = library.knowledge

    def wrong(cue: str, values: Sequence[str]) -> Iterator[str]:
        if cue not in k.cues:
            yield f"there is no cue '{cue}'"
        else:
            yield from (f"{cue} has no answer '{v}'" for v in values if v not in k.cues[cue].answers)

    for sheet in k.sheets.values():
        for cue, words in sheet.cues.items():
            for text in wrong(cue, list(words)):
                yield library.problem(library.sheet_file(sheet), ["cues", cue], text, "see cues.yaml")
    for short, file in library.files.items():
        if short.startswith("tallies/"):
            for cause, cues in (file.data or {}).items():
                for cue, tally in cues.items():
                    for text in wrong(cue, list(tally["ticks"])):
                        yield library.problem(short, [cause, cue], text, "see cues.yaml")
    for cue, spec in k.cues.items():
        for before, values in spec.after.items():
            for text in wrong(before, values):
                yield library.problem("cues.yaml", ["cues", cue, "after"], text, "mend the id")
        for value, answer in spec.answers.items():
            if answer.like and answer.like not in spec.answers:
                path: list[Step] = ["cues", cue, "answers", value, "like"]
                yield library.problem("cues.yaml", path, f"{cue} has no answer '{answer.like}'", "mend the id")
    for alias, targets in k.aliases.items():
        for cue, value in targets.items():
            for text in wrong(cue, [value]):
                yield library.problem("cues.yaml", ["aliases", alias], text, "mend the id")
    derived = {p.derives for p in k.patterns if p.derives}
    known = {"crop": set(k.crops.crops), "family": set(k.crops.families), DERIVED: derived}
    rules = [("patterns", i, p.when) for i, p in enumerate(k.patterns)]
    rules += [("contradictions", i, c.when) for i, c in enumerate(k.contradictions)]
    for part, i, when in rules:
        for cue, values in when.items():
            told = (
                (f"{cue} has no '{v}'" for v in values if v not in known[cue]) if cue in known else wrong(cue, values)
            )
            for text in told:
                yield library.problem("patterns.yaml", [part, i, "when"], text, "this rule can never fire")


def unknown_cause(library: Library) -> Iterator[Problem]:
    """A cause, class, crop or family that does not exist."""
    k = library.knowledge
    targets = set(k.sheets) | set(k.class_ids)
    for i, pattern in enumerate(k.patterns):
        for target in (*pattern.supports, *pattern.against):
            if target not in targets:
                yield library.problem("patterns.yaml", ["patterns", i], f"no cause or class '{target}'", "mend the id")
    for sheet in k.sheets.values():
        short = library.sheet_file(sheet)
        if sheet.class_id not in k.class_ids:
            yield library.problem(short, [], f"no class '{sheet.class_id}'", "move the file")
        for crop in sheet.crops:
            if crop != "any" and crop not in k.crops.crops:
                yield library.problem(short, ["crops"], f"no crop '{crop}'", "see crops.yaml")
        for j, look in enumerate(sheet.looks_like):
            if look.cause not in k.sheets:
                yield library.problem(short, ["looks_like", j], f"no sheet '{look.cause}'", "write it or drop the line")
        for other in sheet.inseparable_from:
            if other not in k.sheets:
                yield library.problem(short, ["inseparable_from"], f"no sheet '{other}'", "mend the id")
    for crop_id, entry in k.crops.crops.items():
        if entry.family not in k.crops.families:
            yield library.problem("crops.yaml", ["crops", crop_id], f"no family '{entry.family}'", "add it")


def unknown_in_counts(library: Library) -> Iterator[Problem]:
    """A tally or a count of questions for a sheet or crop that is not there."""
    k = library.knowledge
    for short, file in library.files.items():
        if short.startswith("tallies/"):
            class_id = short.rpartition("/")[2].removesuffix(".yaml")
            for cause in file.data or {}:
                if k.class_of(cause) != class_id:
                    yield library.problem(short, [cause], f"no sheet '{cause}' of class {class_id}", "mend the id")
    for crop, counts in k.asked_per_thousand.items():
        short = "asked_per_thousand.yaml"
        if crop not in k.crops.crops:
            yield library.problem(short, [crop], f"no crop '{crop}'", "see crops.yaml")
        for cause in counts:
            if cause not in k.sheets:
                yield library.problem(short, [crop, cause], f"no sheet '{cause}'", "mend the id")


def unknown_signal(library: Library) -> Iterator[Problem]:
    """A decision rule about something that is never told, or two rules with one id."""
    known = _BELIEF_SIGNALS | set(library.knowledge.situations) | set(Context.model_fields)
    for i, decision in enumerate(library.knowledge.decisions):
        for name in decision.when:
            if name not in known:
                yield library.problem("decisions.yaml", ["decisions", i], f"no signal '{name}'", "it can never fire")
    for part, file, ids in (
        ("decisions", "decisions.yaml", [d.id for d in library.knowledge.decisions]),
        ("patterns", "patterns.yaml", [p.id for p in library.knowledge.patterns]),
    ):
        for name, times in Counter(ids).items():
            if times > 1:
                yield library.problem(file, [part, ids.index(name)], f"the id '{name}' stands twice", "rename one")


def unknown_in_published_lists(library: Library) -> Iterator[Problem]:
    """A published problem list that names a crop or sheet that is not there."""
    file = library.files.get(coverage.FILE)
    if file is not None:
        published = coverage.PublishedLists.model_validate(file.data)
        k = library.knowledge
        yield from coverage.unknown_ids(published, k.crops.crops, k.sheets, file.text)


def sheet_without_tell(library: Library) -> Iterator[Problem]:
    """A sheet that does not say how to settle it, or what to do."""
    for sheet in library.knowledge.sheets.values():
        for field, items in (("tells", sheet.tells), ("actions", sheet.actions)):
            if not items:
                yield library.problem(library.sheet_file(sheet), [field], "is empty", "write at least one")


def crop_without_causes(library: Library) -> Iterator[Problem]:
    """A crop on which hardly anything can happen."""
    k = library.knowledge
    for crop_id in k.crops.crops:
        named = sum(crop_id in sheet.crops for sheet in k.sheets.values())
        if k.crops.crops[crop_id].family != "other" and named < _FEWEST_CAUSES:
            yield library.problem("crops.yaml", ["crops", crop_id], f"only {named} sheets name it", "add it to sheets")


def shared_synonym(library: Library) -> Iterator[Problem]:
    """A word that stands for two crops."""
    seen: dict[str, str] = {}
    for crop_id, crop in library.knowledge.crops.crops.items():
        for word in {crop_id.replace("_", " "), crop.name.lower(), *(s.lower() for s in crop.synonyms)}:
            if seen.setdefault(word, crop_id) != crop_id:
                wrong = f"'{word}' also stands for {seen[word]}"
                yield library.problem("crops.yaml", ["crops", crop_id], wrong, "leave it with one of them")


def one_sided_look_alike(library: Library) -> Iterator[Problem]:
    """A look-alike that does not look back."""
    sheets = library.knowledge.sheets
    for sheet in sheets.values():
        for i, look in enumerate(sheet.looks_like):
            other = sheets.get(look.cause)
            if other and sheet.id not in {back.cause for back in other.looks_like}:
                wrong = f"{look.cause} does not look back"
                mend = f"add {sheet.id} to looks_like there"
                yield library.problem(library.sheet_file(sheet), ["looks_like", i], wrong, mend)


def answer_never_used(library: Library) -> Iterator[Problem]:
    """An answer that tells nothing, since no sheet and no rule speaks of it."""
    k = library.knowledge
    used = {(cue, value) for sheet in k.sheets.values() for cue, words in sheet.cues.items() for value in words}
    conditions = [p.when for p in k.patterns] + [c.when for c in k.contradictions]
    used |= {(cue, value) for when in conditions for cue, values in when.items() for value in values}
    for cue, spec in k.cues.items():
        for value in spec.answers:
            if (cue, value) not in used:
                yield library.problem(
                    "cues.yaml",
                    ["cues", cue, "answers", value],
                    "no sheet speaks of it",
                    "add it to a sheet or drop it",
                )


_RAW = re.compile(r"\b[a-z]+_[a-z_]+\b")


def raw_id_in_text(library: Library) -> Iterator[Problem]:
    """An id where a grower expects words."""
    for sheet in library.knowledge.sheets.values():
        short = library.sheet_file(sheet)
        texts: list[tuple[list[Step], str]] = [(["spray", "note"], sheet.spray.note), (["threshold"], sheet.threshold)]
        texts += [(["tells", i], text) for i, text in enumerate(sheet.tells)]
        texts += [(["actions", i], text) for i, text in enumerate(sheet.actions)]
        texts += [(["looks_like", i], look.tell_apart) for i, look in enumerate(sheet.looks_like)]
        for path, text in texts:
            found = _RAW.search(text)
            if found:
                yield library.problem(short, path, f"'{found.group()}' is an id, not words", "say it in words")


def plainest_case(sheet: Sheet, knowledge: Knowledge) -> Case:
    """The case its sheet describes best: its likeliest answers, on its likeliest crop, in its season."""
    order = ["almost_always", "usually", "often", "sometimes"]
    answers: dict[str, tuple[Tick, ...]] = {}
    for cue, spec in knowledge.cues.items():
        words = {v: w for v, w in sheet.cues.get(cue, {}).items() if w in order}
        if not words:
            continue
        ranked = sorted(words, key=lambda value: order.index(words[value]))
        if spec.several:
            ranked = [v for v in ranked if words[v] in order[:2]] or ranked[:1]
            lonely = [v for v in ranked if spec.answers[v].alone]
            ranked = lonely[:1] if lonely and lonely[0] == ranked[0] else [v for v in ranked if v not in lonely]
            answers[cue] = tuple(Tick(value) for value in ranked)
        else:
            answers[cue] = (Tick(ranked[0]),)
    levels = {"high": 0, "medium": 1, "low": 2}
    named = sorted((crop for crop in sheet.crops if crop != "any"), key=lambda crop: levels[sheet.crops[crop]])
    crop = named[0] if named else next(iter(knowledge.crops.crops))
    return Case(crop=crop, months=tuple(sheet.season[:1]), answers=answers)


def unreachable_cause(library: Library) -> Iterator[Problem]:
    """A cause that even its own plainest case does not bring to the top."""
    k = library.knowledge
    for sheet in k.sheets.values():
        case = plainest_case(sheet, k)
        ranked = believe(case, fire(case, k), k, library.weights).ranked()
        if ranked[0][0] not in (sheet.id, *sheet.inseparable_from):
            wrong = f"its own plainest case comes out as {ranked[0][0]}"
            yield library.problem(library.sheet_file(sheet), ["cues"], wrong, "sharpen its cues")


def same_to_the_eye(library: Library) -> Iterator[Problem]:
    """Two sheets on one crop that no cue tells apart, not marked inseparable."""
    k = library.knowledge
    apart = np.sum([separations(cue, library.weights) for cue in k.cues], axis=0)
    for (i, one), (j, other) in combinations(enumerate(k.sheets.values()), 2):
        marked = other.id in one.inseparable_from or one.id in other.inseparable_from
        if apart[i, j] < _TOLD_APART and not marked and _share_a_crop(one, other):
            wrong = f"no cue tells it from {other.id} ({apart[i, j]:.1f} nats)"
            mend = "add a cue, or mark the two inseparable_from each other"
            yield library.problem(library.sheet_file(one), ["cues"], wrong, mend)


def _share_a_crop(one: Sheet, other: Sheet) -> bool:
    return "any" in one.crops or "any" in other.crops or bool(one.crops.keys() & other.crops.keys())


CHECKS: tuple[Check, ...] = (
    dangling_source,
    unused_source,
    claim_without_basis,
    basis_outside_sheet,
    effect_without_evidence,
    unknown_answer,
    unknown_cause,
    unknown_in_counts,
    unknown_signal,
    unknown_in_published_lists,
    sheet_without_tell,
    crop_without_causes,
    shared_synonym,
    one_sided_look_alike,
    answer_never_used,
    raw_id_in_text,
    unreachable_cause,
    same_to_the_eye,
)
