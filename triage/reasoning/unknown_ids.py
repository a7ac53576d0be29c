"""Checks for names that lead nowhere: answers, causes, crops, signals. Named in checks.CHECKS like all others."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from triage.reasoning import coverage
from triage.reasoning.case import Context
from triage.reasoning.findings import DERIVED
from triage.reasoning.inspected import Library
from triage.reasoning.library import BY_CROP
from triage.reasoning.yaml_text import Problem, Step

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
        "twin_unlike",
        "pest_unseen",
        "severity_known",
        "test_patch_known",
    }
    | {"class", "cause", "class_chance", "cause_chance", "unknown_chance", "crop", "family", "new_growth"}
)


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
    for short, place, cues in _tallies(library):
        for cue, tally in cues.items():
            for text in wrong(cue, list(tally["ticks"])):
                yield library.problem(short, [*place, cue], text, "see cues.yaml")
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


def _tallies(library: Library) -> Iterator[tuple[str, list[Step], dict[str, Any]]]:
    """Every tally with its file and where it stands there: by cause, or by cause and group of crops."""
    for short, file in library.files.items():
        if short.startswith("tallies/"):
            for cause, inside in (file.data or {}).items():
                if short.startswith(BY_CROP):
                    yield from ((short, [cause, group], cues) for group, cues in inside.items())
                else:
                    yield short, [cause], inside


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
        if entry.group not in k.crops.groups:
            yield library.problem("crops.yaml", ["crops", crop_id], f"no group '{entry.group}'", "add it")


def unknown_in_counts(library: Library) -> Iterator[Problem]:
    """A tally or a count of questions for a sheet or crop that is not there."""
    k = library.knowledge
    for short, file in library.files.items():
        if short.startswith("tallies/"):
            class_id = short.rpartition("/")[2].removesuffix(".yaml")
            for cause in file.data or {}:
                if k.class_of(cause) != class_id:
                    yield library.problem(short, [cause], f"no sheet '{cause}' of class {class_id}", "mend the id")
    for short, path, _ in _tallies(library):
        if short.startswith(BY_CROP) and path[-1] not in k.crops.groups:
            yield library.problem(short, path, f"no group of crops '{path[-1]}'", "see crops.yaml")
    for crop, counts in k.asked_per_thousand.items():
        short = "asked_per_thousand.yaml"
        if crop not in k.crops.crops:
            yield library.problem(short, [crop], f"no crop '{crop}'", "see crops.yaml")
        for cause in counts:
            if cause not in k.sheets:
                yield library.problem(short, [crop, cause], f"no sheet '{cause}'", "mend the id")


def without_kin(library: Library) -> Iterator[Problem]:
    """A sheet in no group of kin.yaml or in two, or a group of a sheet that is not of its class."""
    k = library.knowledge
    named = Counter(cause for groups in k.kin.values() for causes in groups.values() for cause in causes)
    for class_id, groups in k.kin.items():
        for group, causes in groups.items():
            for cause in causes:
                if k.class_of(cause) != class_id or class_id not in k.class_ids:
                    wrong = f"no sheet '{cause}' of class {class_id}"
                    yield library.problem("kin.yaml", [class_id, group], wrong, "mend the id")
                elif named[cause] > 1:
                    wrong = f"'{cause}' stands in more than one group"
                    yield library.problem("kin.yaml", [class_id, group], wrong, "leave it in one")
    for cause, sheet in k.sheets.items():
        if cause not in named:
            wrong = f"'{cause}' stands in no group"
            yield library.problem("kin.yaml", [sheet.class_id], wrong, "add it to the group it looks most like")


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
