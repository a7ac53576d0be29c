"""A programme of sprays: what it starts from, its dated steps, and when it begins and ends.

Days are whole days. The dates are never kept: they are laid out anew (layout.py) from what was
set at the outset and what was done since, so that one spray moved moves the rest.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Any, Literal

from pydantic import TypeAdapter, ValidationError

from triage.reasoning.yaml_text import BadInput, Problem
from triage.spraying.gap import Gap
from triage.spraying.holds import Plants
from triage.spraying.patches import Standing
from triage.spraying.programme_knowledge import ProgrammeRules
from triage.spraying.weather import Day, Weather

Advice = Literal["spray", "check_first", "do_not_spray"]
Growth = Literal["clean", "hit"]
Kind = Literal["spray", "look"]
Stage = Literal["outbreak", "later", "scent", "look"]


@dataclass(frozen=True)
class Judgement:
    """What the verdict says of the spray; `comes_from` says which verdict; `instead` what to do when it says no."""

    advice: Advice
    effect: str
    cause: str | None
    cause_name: str
    comes_from: str
    reason: str = ""
    instead: tuple[str, ...] = ()


@dataclass(frozen=True)
class Look:
    """What somebody found. growth: the newest leaves; pests: whether living ones are left. None: not told."""

    on: date
    growth: Growth | None = None
    pests: bool | None = None
    burnt: bool = False


@dataclass(frozen=True)
class Outset:
    """What a programme starts from. `seen`: the day on which the plants were last looked at (thirst, bloom).

    `dried`: days of sprays that had dried before the rain of that day came. `looks`: reported to the programme itself.
    """

    start: date
    judgement: Judgement
    gap: Gap
    seen: date
    plants: Plants = field(default_factory=Plants)
    harvests: tuple[date, ...] = ()
    scent: bool = False
    weather_file: str = ""
    weather_days: tuple[Day, ...] = ()
    dried: tuple[date, ...] = ()
    looks: tuple[Look, ...] = ()

    @cached_property
    def weather(self) -> Weather | None:
        return Weather(self.weather_file, self.weather_days) if self.weather_days else None


@dataclass(frozen=True)
class Since:
    """What the journal holds: the patch, sprays of this mix and of others, looks, and whether the planting stands.

    `no_longer`: why a visit since the start says that it is no longer worth a spray; empty: none does.
    """

    patch: Standing
    done: tuple[date, ...] = ()
    other_sprays: tuple[date, ...] = ()
    sulfur: tuple[date, ...] = ()
    oil: tuple[date, ...] = ()
    looks: tuple[Look, ...] = ()
    no_longer: str = ""
    removed: date | None = None


@dataclass(frozen=True)
class Moved:
    """A day that did not do, and why: a hold's id, `not_done`, or `spray_before`."""

    off: date
    reason: str
    why: str


@dataclass(frozen=True)
class Step:
    """One dated thing to do. `id` stays the same when the date moves.

    laid_out: its day had nothing moved. until: the last day that would do, where there is a span.
    only_if: what must be so first. weather_known: whether that day's weather was in the file.
    """

    id: str
    kind: Kind
    stage: Stage
    number: int
    on: date
    laid_out: date
    says: str
    until: date | None = None
    moved: tuple[Moved, ...] = ()
    may_move: tuple[str, ...] = ()
    care: tuple[str, ...] = ()
    only_if: str = ""
    weather_known: bool = False
    done: bool = False
    found: str = ""
    washed_off: bool = False


@dataclass(frozen=True)
class Rule:
    """One rule of starting or stopping. `met`: for a start, it may go; for a stop, it has come."""

    id: str
    says: str
    met: bool
    instead: tuple[str, ...] = ()


@dataclass(frozen=True)
class Programme:
    """`go`: whether it may be sprayed at all. `waits`: holds with no end in sight, that keep the next step undated."""

    go: bool
    starts: tuple[Rule, ...]
    stops: tuple[Rule, ...]
    steps: tuple[Step, ...] = ()
    waits: tuple[Moved, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def stopped(self) -> Rule | None:
        return next((rule for rule in self.stops if rule.met), None)

    @property
    def instead(self) -> tuple[str, ...]:
        """What to do in place of spraying: of the start rules that are not met, or of the stop rule that came."""
        unmet = [says for rule in self.starts if not rule.met for says in rule.instead]
        return (*unmet, *(self.stopped.instead if self.stopped else ()))

    @property
    def ahead(self) -> tuple[Step, ...]:
        return tuple(step for step in self.steps if not step.done)

    @property
    def following(self) -> Step | None:
        """The step that comes next."""
        return next(iter(self.ahead), None)


def start_rules(outset: Outset, since: Since, rules: ProgrammeRules) -> tuple[Rule, ...]:
    """Every rule of starting, and whether it is met."""
    said = outset.judgement
    worth = said.advice == "spray" or (outset.scent and said.effect != "makes_worse")
    patch = since.patch
    return (
        Rule("verdict", rules.start.verdict if worth else said.reason, worth, () if worth else said.instead),
        Rule("patch", patch.says, patch.clean, () if patch.clean else (patch.instead,)),
        Rule("standing", rules.start.standing if since.removed is None else rules.stop.removed, since.removed is None),
    )


def stop_rules(outset: Outset, since: Since, rules: ProgrammeRules, came: str) -> tuple[Rule, ...]:
    """Every rule of stopping; `came` is the id of the one that has come."""
    listed: dict[str, tuple[str, tuple[str, ...]]] = {
        "burnt": (rules.stop.burnt, (rules.test_patch.if_burnt,)),
        "no_longer": (rules.stop.no_longer, (since.no_longer,) if since.no_longer else ()),
        "no_effect": (rules.no_effect.says, rules.no_effect.instead),
        "clean_for_good": (rules.clean_for_good.says, ()),
        "most_sprays": (f"{rules.most_sprays.number} sprays: {_low(rules.most_sprays.says)}", ()),
        "finished": ("The last of the laid-out dates is past.", ()),
    }
    if outset.scent:
        listed = {name: listed[name] for name in ("burnt", "most_sprays", "finished")}
    return tuple(Rule(name, says, name == came, instead) for name, (says, instead) in listed.items())


def _low(text: str) -> str:
    return text[:1].lower() + text[1:]


_OUTSET = TypeAdapter(Outset)


def to_data(outset: Outset) -> dict[str, Any]:
    """The outset as plain data for the journal, dates as ISO text."""
    data: dict[str, Any] = _OUTSET.dump_python(outset, mode="json", exclude_defaults=True)
    return data


def from_data(data: Mapping[str, Any], where: str = "programme") -> Outset:
    """The outset again. Raises BadInput naming the field."""
    try:
        return _OUTSET.validate_python(dict(data))
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        name = ".".join(str(step) for step in first["loc"])
        raise BadInput(
            [Problem(where, None, name, first["msg"], "end it, and plan anew: triage plan --anew")]
        ) from None
