"""Is the knowledge sound? Small named checks, each yielding Problems with file, line and a way to mend.

A check is a plain function of a Library; add one by writing it and naming it in CHECKS.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np

from triage.reasoning.belief import believe
from triage.reasoning.case import Case, Tick
from triage.reasoning.explain import separations
from triage.reasoning.findings import fire
from triage.reasoning.inspected import Check, Library
from triage.reasoning.knowledge import MARKS, Knowledge, Sheet
from triage.reasoning.unknown_ids import (
    unknown_answer,
    unknown_cause,
    unknown_in_counts,
    unknown_in_published_lists,
    unknown_signal,
    without_kin,
)
from triage.reasoning.yaml_text import Problem, Step

#: Two sheets nearer than this (nats, over all cues a grower can answer) look the same to everyone.
_TOLD_APART = 2.0
_FEWEST_CAUSES = 3


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
    without_kin,
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
