"""Shapes of knowledge/weather_holds.yaml: what holds a spray back, from which figure on, and who says so."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, model_validator

from triage.reasoning.knowledge import Model, Text
from triage.spraying.backed import Backed, read_knowledge


class Figure(Model):
    """A number as the program reckons with it, and as a grower is told it."""

    value: float
    unit: Literal["C", "mm", "km/h", "%", "days"]
    told: Text


class Rule(Backed):
    """One reason to wait. `care`: where a warning begins; `disagree`: what other sources say."""

    name: Text
    number: Figure
    care: Figure | None = None
    says: Text
    care_says: str = ""
    disagree: str = ""

    @model_validator(mode="after")
    def _care_is_told(self) -> Rule:
        if self.care and not self.care_says:
            raise ValueError("care needs care_says")
        return self


class DrySpell(Backed):
    """Less rain than this in so many days: feel the soil."""

    days: Annotated[int, Field(ge=1)]
    rain_mm: Annotated[float, Field(ge=0)]


class WashedOff(Backed):
    says_wet: Text
    says_dry: Text


class HoldRules(Model):
    """All of knowledge/weather_holds.yaml."""

    heat: Rule
    freezing: Rule
    cold: Rule
    rain: Rule
    wind: Rule
    damp: Rule
    thirst: Rule
    dry_spell: DrySpell
    bloom: Rule
    harvest: Rule
    sulfur: Rule
    spray: Rule
    oil: Rule
    shock: Rule
    washed_off: WashedOff


def load_holds(folder: Path) -> HoldRules:
    """knowledge/weather_holds.yaml below the knowledge folder. Raises BadInput that names line and field."""
    return read_knowledge(folder, "weather_holds.yaml", HoldRules)
