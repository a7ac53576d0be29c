"""What a person said for a programme, put into its outset."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta

from triage.spraying.gap import Gap
from triage.spraying.holds import Plants
from triage.spraying.programme import Judgement, Look, Outset
from triage.spraying.programme_knowledge import ProgrammeRules
from triage.spraying.weather import Weather

#: Gives the gap for a cause, the weather and the first day.
GapOf = Callable[[str | None, Weather | None, date], Gap]


@dataclass(frozen=True)
class Told:
    """What was said this time. None or empty: nothing, so what was said before stays."""

    start: date | None = None
    weather: Weather | None = None
    harvests: tuple[date, ...] = ()
    last_sulfur: date | None = None
    last_oil: date | None = None
    thirsty: bool | None = None
    bloom: bool | None = None
    bloom_over: date | None = None
    planted_out: date | None = None
    dried: tuple[date, ...] = ()
    look: Look | None = None
    scent: bool = False


def new_outset(judgement: Judgement, told: Told, today: date, rules: ProgrammeRules, gap_of: GapOf) -> Outset:
    """The outset of a new programme."""
    usual = rules.outbreak.every_days
    bare = Outset(told.start or today, judgement, Gap(usual, usual), today, scent=told.scent)
    found = updated(bare, replace(told, start=None), today, rules, gap_of)
    return replace(found, gap=gap_of(judgement.cause, found.weather, found.start))


def updated(outset: Outset, told: Told, today: date, rules: ProgrammeRules, gap_of: GapOf) -> Outset:
    """The outset with what was said now; new weather makes a new gap."""
    plants = outset.plants
    asked = any(value is not None for value in (told.thirsty, told.bloom, told.bloom_over))
    plants = Plants(
        thirsty=plants.thirsty if told.thirsty is None else told.thirsty,
        in_bloom=plants.in_bloom if told.bloom is None and told.bloom_over is None else told.bloom is not False,
        bloom_over=told.bloom_over or (plants.bloom_over if told.bloom is None else None),
        last_sulfur=told.last_sulfur or plants.last_sulfur,
        last_oil=told.last_oil or plants.last_oil,
        last_shock=told.planted_out or plants.last_shock,
    )
    start = told.start or outset.start
    found = replace(
        outset,
        start=start,
        plants=plants,
        seen=today if asked else outset.seen,
        harvests=tuple(sorted({*outset.harvests, *told.harvests})),
        dried=tuple(sorted({*outset.dried, *told.dried})),
        looks=outset.looks if told.look is None else (*_without(outset.looks, told.look.on), told.look),
    )
    if told.weather is not None:
        found = _with_weather(found, told.weather, rules)
    if told.weather is not None or told.start is not None:
        found = replace(found, gap=gap_of(outset.judgement.cause, found.weather, start))
    return found


def _without(looks: tuple[Look, ...], on: date) -> tuple[Look, ...]:
    return tuple(look for look in looks if look.on != on)


def _with_weather(outset: Outset, weather: Weather, rules: ProgrammeRules) -> Outset:
    """New days over old ones, as many as the programme can need: a dry spell before it, and its horizon."""
    first = outset.start - timedelta(days=10)
    last = outset.start + timedelta(days=2 * rules.horizon.days)
    days = {day.on: day for day in (*outset.weather_days, *weather.days) if first <= day.on <= last}
    kept = tuple(days[on] for on in sorted(days))
    return replace(outset, weather_file=weather.file, weather_days=kept)
