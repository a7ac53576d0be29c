"""What every knowledge file of this room shares: facts that name what they rest on, and one way to be read."""

from __future__ import annotations

from pathlib import Path
from typing import Literal, TypeVar

from pydantic import ValidationError, model_validator

from triage.reasoning.knowledge import Model
from triage.reasoning.yaml_text import BadInput, Problem, parse, problems_of, read_text

M = TypeVar("M", bound=Model)
Basis = Literal["from_memory", "common_practice", "judgement"]


class Backed(Model):
    """Something with a source, or a mark that it has none."""

    sources: tuple[str, ...] = ()
    basis: Basis | None = None
    note: str | None = None

    @model_validator(mode="after")
    def _backed(self) -> Backed:
        if not self.sources and self.basis is None:
            raise ValueError("name a source, or mark it from_memory, common_practice or judgement")
        return self


def read_knowledge(folder: Path, file: str, shape: type[M]) -> M:
    """A file below the knowledge folder as its model. Raises BadInput that names line and field."""
    name = f"knowledge/{file}"
    text = read_text(folder / file, name)
    data = parse(text, name)
    if not isinstance(data, dict):
        raise BadInput([Problem(name, None, "", "is empty", "put the file back")])
    try:
        return shape.model_validate(data)
    except ValidationError as error:
        raise BadInput(problems_of(error, text, name)) from None
