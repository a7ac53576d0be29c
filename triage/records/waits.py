"""How long to wait before a second look: the shape of knowledge/waits.yaml."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from triage.reasoning.yaml_text import BadInput, parse, problems_of, read_text


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Wait(_Model):
    days: int = Field(ge=1, le=60)
    says: str
    basis: Literal["common_practice", "from_memory"]


class AfterVisit(_Model):
    spray: Wait
    check_first: Wait
    do_not_spray: Wait
    unclear: Wait


class Waits(_Model):
    after_visit: AfterVisit
    test_patch: Wait

    def days(self, verdicts: Sequence[tuple[str, str]]) -> int | None:
        """Days until a planting is looked at again, the soonest of its (state, spray advice); None: all was fine."""
        waits: dict[str, Wait] = dict(self.after_visit)
        return min(
            (waits["unclear" if state == "unclear" else advice].days for state, advice in verdicts), default=None
        )


def load_waits(folder: Path) -> Waits:
    """The waits in the knowledge folder. Raises BadInput that names line and field."""
    name = "knowledge/waits.yaml"
    text = read_text(folder / "waits.yaml", name)
    try:
        return Waits.model_validate(parse(text, name))
    except ValidationError as error:
        raise BadInput(problems_of(error, text, name)) from None
