"""Worked cases: published descriptions retold, with what is known to be right. Data, not code.

They are run as tests, measure how good the program is, and serve as drills. Half of them may
be used to mend the knowledge (`tune`); the other half only measures (`measure`). A case is told
`too_little` when two plant doctors, each alone with the words, could not name its class; there
"it is unclear" is a right answer too.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, TypeAdapter, ValidationError

from triage.reasoning.case import Case, read_visit
from triage.reasoning.knowledge import Knowledge, Model, Source, Text
from triage.reasoning.yaml_text import BadInput, Problem, line_of, parse, problems_of, read_text

Warns = Literal["no_spray", "no_oil_in_heat", "no_wet_leaves", "spare_helpers", "sample"]


Told = Literal["in_full", "in_part", "too_little"]


class Truth(Model):
    """What it was. `cause` is missing when no sheet holds it; `name` then says what it was."""

    class_id: str = Field(alias="class")
    cause: str | None = None
    name: str | None = None


class _CaseEntry(Model):
    id: Text
    told: Told
    half: Literal["tune", "measure"]
    tells: Text
    case: dict[str, Any]
    truth: Truth
    also_right: tuple[str, ...] = ()
    warns: tuple[Warns, ...] = ()
    warning: str | None = None
    source: Source


@dataclass(frozen=True)
class WorkedCase:
    """One published description in cues, with the right answer and its source."""

    id: str
    told: Told
    half: Literal["tune", "measure"]
    tells: str
    case: Case
    truth: Truth
    also_right: tuple[str, ...]
    warns: tuple[Warns, ...]
    source: Source
    right_classes: tuple[str, ...]

    @property
    def right_causes(self) -> tuple[str, ...]:
        return (*((self.truth.cause,) if self.truth.cause else ()), *self.also_right)


_ENTRIES = TypeAdapter(list[_CaseEntry])


def load_cases(root: Path, knowledge: Knowledge) -> list[WorkedCase]:
    """All worked cases below knowledge/cases/. Raises BadInput with file and line."""
    found: list[WorkedCase] = []
    problems: list[Problem] = []
    for path in sorted(root.glob("cases/*.yaml")):
        name = f"knowledge/cases/{path.name}"
        text = read_text(path, name)
        try:
            entries = _ENTRIES.validate_python(parse(text, name))
        except ValidationError as error:
            problems += problems_of(error, text, name)
            continue
        for index, entry in enumerate(entries):
            try:
                found.append(_read(entry, knowledge, name))
            except BadInput as error:
                line = line_of(text, [index])
                problems += [Problem(name, line, f"{entry.id} {p.field}", p.wrong, p.mend) for p in error.problems]
    problems += list(_twice(found))
    if problems:
        raise BadInput(problems)
    return found


def _read(entry: _CaseEntry, knowledge: Knowledge, name: str) -> WorkedCase:
    [case] = read_visit(entry.case, knowledge, name)
    truth = entry.truth
    for cause in (truth.cause, *entry.also_right):
        if cause is not None and cause not in knowledge.sheets:
            raise BadInput([Problem(name, None, "truth", f"no sheet '{cause}'", "mend the id or give a name only")])
    if truth.cause and knowledge.class_of(truth.cause) != truth.class_id:
        raise BadInput([Problem(name, None, "truth", f"{truth.cause} is not of class {truth.class_id}", "mend one")])
    if truth.class_id not in knowledge.class_ids:
        raise BadInput([Problem(name, None, "truth", f"no class '{truth.class_id}'", "mend the id")])
    return WorkedCase(
        id=entry.id,
        told=entry.told,
        half=entry.half,
        tells=entry.tells,
        case=case,
        truth=truth,
        also_right=entry.also_right,
        warns=entry.warns,
        source=entry.source,
        right_classes=(truth.class_id, *(knowledge.class_of(cause) for cause in entry.also_right)),
    )


def _twice(cases: list[WorkedCase]) -> Iterator[Problem]:
    seen: set[str] = set()
    for worked in cases:
        if worked.id in seen:
            yield Problem("knowledge/cases", None, worked.id, "the id stands twice", "rename one")
        seen.add(worked.id)
