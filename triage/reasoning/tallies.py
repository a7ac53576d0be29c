"""Growers counted: how many of those with one trouble gave each answer."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, model_validator


class Tally(BaseModel):
    """How many growers with one trouble answered a cue, and how many ticked each answer (half: "I think so")."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    asked: Annotated[float, Field(gt=0)]
    ticks: dict[str, Annotated[float, Field(gt=0)]]

    @model_validator(mode="after")
    def _no_more_than_asked(self) -> Tally:
        for answer, count in self.ticks.items():
            if count > self.asked:
                raise ValueError(f"{answer} was ticked {count:g} times, but only {self.asked:g} were asked")
        return self


def add_tallies(one: dict[str, Tally], other: dict[str, Tally]) -> dict[str, Tally]:
    """Two tallies of one cause, cue by cue, as one."""
    found = dict(one)
    for cue, tally in other.items():
        if cue in found:
            both = found[cue]
            ticks = {value: both.ticks.get(value, 0) + tally.ticks.get(value, 0) for value in both.ticks | tally.ticks}
            found[cue] = Tally(asked=both.asked + tally.asked, ticks=ticks)
        else:
            found[cue] = tally
    return found
