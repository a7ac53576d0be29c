"""The knowledge under inspection, and what a check of it is."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from triage.reasoning.knowledge import Knowledge, Sheet
from triage.reasoning.library import KnowledgeFile
from triage.reasoning.weights import Weights, compile_weights
from triage.reasoning.yaml_text import Problem, Step, line_of


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
