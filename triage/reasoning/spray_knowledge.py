"""Shapes of knowledge/sprays.yaml and knowledge/safety.yaml.

Every block carries what it rests on: `sources` (keys of sources.yaml), `basis` (what it
rests on instead), or both.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

Text = Annotated[str, Field(min_length=1)]
Basis = Literal["common_practice", "from_memory", "judgement", "calculation"]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Range = tuple[Positive, Positive]


# The same shape as knowledge.Model, which this module cannot import: knowledge.py imports from here.
class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Resting(_Model):
    """A claim with what it rests on."""

    sources: list[str] = []
    basis: Basis | None = None

    @model_validator(mode="after")
    def _rests_on_something(self) -> Resting:
        if not (self.sources or self.basis):
            raise ValueError("rests on nothing: name a source or a basis")
        return self


class Said(Resting):
    """A claim in words."""

    says: Text


class HomeMix(_Model):
    """How strong the usual home mix is, beside published strengths."""

    oil_percent: float
    soap_percent: float
    says: Text
    sources: list[str]


class Volume(Said):
    ml: Positive
    words: list[str]


class TwoMeanings(_Model):
    """A word for two units: the one meant depends on the country."""

    words: list[str]
    us: str
    imperial: str


class SpoonSet(_Model):
    says: Text
    teaspoon: str  # keys of volumes
    tablespoon: str


class Unit(Resting):
    size: Positive
    words: list[str]


class Units(Resting):
    volumes: dict[str, Volume]
    two_meanings: dict[str, TwoMeanings]
    spoon_words: dict[Literal["teaspoon", "tablespoon"], list[str]]
    spoons: dict[str, SpoonSet]
    lengths: dict[str, Unit]  # in metres
    hardness: dict[str, Unit]  # in mg/L as calcium carbonate
    imperial_countries: list[str]
    spoons_by_country: dict[str, str]
    drops: Text

    @model_validator(mode="after")
    def _units_exist(self) -> Units:
        named = [unit for two in self.two_meanings.values() for unit in (two.us, two.imperial)]
        named += [unit for spoons in self.spoons.values() for unit in (spoons.teaspoon, spoons.tablespoon)]
        lost = [unit for unit in named if unit not in self.volumes]
        lost += [spoons for spoons in self.spoons_by_country.values() if spoons not in self.spoons]
        if lost:
            raise ValueError(f"no measure is called '{lost[0]}'")
        return self


class Measuring(Resting):
    """How fine a person can measure, and between which sizes a job makes sense."""

    spoon_step_tsp: Positive
    syringe_step_ml: Positive
    coarse_spoon: Positive
    largest_tank_ml: Positive
    largest_job_ml: Positive
    handy_step_ml: dict[str, Positive]  # by spoon set


class Rate(_Model):
    """So much of one volume to one of another, such as 2 teaspoons to the gallon."""

    amount: Positive
    of: str
    to: str


class Oil(Said):
    group: str
    density: Positive  # relative to water
    note: str = ""


class Strength(Said):
    """The usual rate of an ingredient and the limits of its strength, % by volume of the finished mix."""

    rate: Rate | None
    rate_says: Text
    rate_basis: Basis | None
    warn_percent: Positive | None
    refuse_percent: Positive
    warn_says: str
    warn_sources: list[str] = []  # those of the warning alone
    refuse_says: Text


class Soap(Strength):
    what: Text
    true_soap_percent: Range | None  # by weight of the concentrate
    curds: bool


class Rung(Said):
    """One published strength to hold a mix against."""

    percent: Positive
    kind: Literal["works", "harms", "stood", "usual"]


class Cover(Said):
    ml_per_m2: Range


class Coverage(Resting):
    covers: dict[str, Cover]
    footprint_m2: dict[str, Positive]
    footprint_basis: Basis
    water_test: Text


class HardnessClass(_Model):
    up_to: Positive | None
    words: list[str]
    says: Text
    do: Text
    verdict: Literal["fine", "note", "jar_test", "swap"]


class HardWater(Resting):
    soap_mg_per_mg: Range
    classes: dict[str, HardnessClass]
    very_hard_taken_mg_per_l: Positive
    remedy: Text
    jar_test: Text
    jar_basis: Basis
    no_curds: Text
    signs: Text
    worst_mg_per_l: Positive
    little_lost: Positive


class Emulsion(Resting):
    gravity_m_s2: Positive
    viscosity_mpas: dict[int, Positive]
    density_kg_m3: dict[int, Positive]
    usual_temp_c: float
    drop_um: Positive
    drop_range_um: Range
    drop_basis: Basis
    cleared_share: Annotated[float, Field(gt=0, lt=1)]
    width_to_depth: Positive
    step_s: Positive
    shortest_s: Positive
    longest_s: Positive
    longest_basis: Basis
    check_yourself: Text
    throw_away: Text


class Timer(Resting):
    usual_minutes: Positive
    most_minutes: Positive
    shake_minutes: Range


class Sensitive(Said):
    level: Literal["high", "medium", "wax", "unknown"]


class SprayFile(_Model):
    """knowledge/sprays.yaml."""

    home_mix: HomeMix
    units: Units
    measuring: Measuring
    oils: dict[str, Oil]
    refused_oils: dict[str, Said]
    oil_groups: dict[str, Strength]
    soaps: dict[Literal["plain", "detergent", "insecticidal"], Soap]
    ladder: dict[str, list[Rung]]
    coverage: Coverage
    hard_water: HardWater
    emulsion: Emulsion
    timer: Timer
    sensitive: dict[str, Sensitive]
    steps: dict[str, Said]

    @model_validator(mode="after")
    def _groups_exist(self) -> SprayFile:
        lost = [oil.group for oil in self.oils.values() if oil.group not in self.oil_groups]
        if lost:
            raise ValueError(f"no oil group is called '{lost[0]}'")
        return self


class SafetyItem(Said):
    id: str
    brief: str = ""  # the short form, shown where a spray is mixed or planned


class Rules(_Model):
    """The rules of some countries; without countries, those of the rest of the world."""

    says: Text
    countries: list[str]
    words: list[str]
    items: list[SafetyItem]


class SafetySection(_Model):
    id: str
    title: Text
    items: list[SafetyItem]


class SafetyFile(_Model):
    """knowledge/safety.yaml."""

    rules: dict[str, Rules]
    sections: list[SafetySection]

    def rules_for(self, country: str) -> str | None:
        """The id of the rules for a country by its letters or name; None when none are known for it."""
        plain = country.strip()
        for name, rules in self.rules.items():
            if plain.upper() in rules.countries or plain.lower() in rules.words:
                return name
        return None

    def in_order(self, country: str = "") -> list[Rules]:
        """All rules, those of the country first. Without a known country, the general ones first."""
        first = self.rules_for(country) or next(name for name, rules in self.rules.items() if not rules.countries)
        return sorted(self.rules.values(), key=lambda rules: rules is not self.rules[first])

    def brief(self, country: str = "") -> list[SafetyItem]:
        """What is shown where a spray is mixed or planned: the rules of the country, then the rest."""
        items = [*self.in_order(country)[0].items, *(item for part in self.sections for item in part.items)]
        return [item for item in items if item.brief]
