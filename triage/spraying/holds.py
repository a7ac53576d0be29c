"""Is a day one to spray? The reasons to wait, each with its figure and source, and the next clear date.

Figures and sources stand in knowledge/weather_holds.yaml; where sources disagree it holds the
stricter and says so. Temperatures C, rain mm, wind km/h, humidity %.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Literal

from triage.reasoning.yaml_text import BadInput, Problem
from triage.spraying.readings import speed_kmh, temperature_c
from triage.spraying.weather import Day, Weather
from triage.spraying.weather_knowledge import HoldRules, Rule

Kind = Literal["hold", "care", "unknown"]

#: How far ahead a clear date is looked for when no weather file ends the search.
_FAR = 60


@dataclass(frozen=True)
class Plants:
    """What is known of the plants and of what was put on them. None or False: nothing known against it."""

    thirsty: bool = False
    in_bloom: bool = False
    bloom_over: date | None = None
    harvest: date | None = None
    last_sulfur: date | None = None
    last_spray: date | None = None
    last_oil: date | None = None
    last_shock: date | None = None


@dataclass(frozen=True)
class Hold:
    """One reason to wait (hold), to take care, or one thing not known.

    `clear_on`: the first day on which this reason by itself is gone, when that can be told
    beforehand. Weather reasons have none: the next day's figures decide.
    """

    id: str
    kind: Kind
    name: str
    found: str
    limit: str
    says: str
    disagree: str
    sources: tuple[str, ...]
    basis: str | None
    clear_on: date | None = None


@dataclass(frozen=True)
class DayReport:
    """All that speaks for and against spraying on one day."""

    on: date
    day: Day | None
    reasons: tuple[Hold, ...]

    def of(self, kind: Kind) -> tuple[Hold, ...]:
        return tuple(reason for reason in self.reasons if reason.kind == kind)

    @property
    def clear(self) -> bool:
        """True when nothing holds and nothing that must be known is unknown."""
        return not self.of("hold") and not self.of("unknown")


@dataclass(frozen=True)
class NextClear:
    """The next date without a hold. `weather_known`: whether that day's weather is in the file."""

    on: date
    weather_known: bool


def day_report(
    on: date, weather: Weather | Day | None, plants: Plants, rules: HoldRules, today: date | None = None
) -> DayReport:
    """Judge one day. `today` is the day on which the plants were looked at (thirst, bloom); `on` when left out."""
    looked = today or on
    day = weather.on(on) if isinstance(weather, Weather) else weather
    file = weather if isinstance(weather, Weather) else None
    reasons = [*_weather_reasons(on, day, file, rules), *_plant_reasons(on, looked, plants, rules)]
    order = {"hold": 0, "unknown": 1, "care": 2}
    return DayReport(on, day, tuple(sorted(reasons, key=lambda reason: order[reason.kind])))


def next_clear(
    after: date, weather: Weather | None, plants: Plants, rules: HoldRules, today: date | None = None
) -> NextClear | None:
    """The first clear day later than `after`.

    Within the weather file the weather counts; past its end only what can be dated does, and
    `weather_known` is False. None when nothing clears within two months (flowers, for one, open
    until somebody says when they are over).
    """
    looked = today or after
    for n in range(1, _FAR + 1):
        on = after + timedelta(days=n)
        known = weather is not None and on <= weather.last
        if known:
            if day_report(on, weather, plants, rules, looked).clear:
                return NextClear(on, True)
        elif not any(reason.kind == "hold" for reason in _plant_reasons(on, looked, plants, rules)):
            return NextClear(on, False)
    return None


def washed_off(sprayed: date, weather: Weather, rules: HoldRules) -> bool | None:
    """Whether rain on the day of a spray may have undone it; None when that day's rain is not known."""
    day = weather.on(sprayed)
    if day is None or day.rain is None:
        return None
    return day.rain >= rules.rain.number.value


def _weather_reasons(on: date, day: Day | None, weather: Weather | None, rules: HoldRules) -> Iterator[Hold]:
    for reason in _figures(on, day, weather, rules):
        # A rough answer is no figure: do not hand it back as one.
        asked = day is not None and day.asked and reason.kind != "unknown"
        yield replace(reason, found="as you say") if asked else reason


def _figures(on: date, day: Day | None, weather: Weather | None, rules: HoldRules) -> Iterator[Hold]:
    if day is None:
        if weather is not None:
            yield _unknown("day", "No weather", f"{on} is not in {weather.file}")
        return
    night = weather.on(on + timedelta(days=1)) if weather is not None else None
    yield from _temperature(day, night.low if night else None, rules)
    if day.rain is None:
        yield _unknown("rain", "Rain not known", "no figure")
    elif day.rain >= rules.rain.number.value:
        yield _reason("rain", "hold", rules.rain, f"{day.rain:g} mm")
    elif day.trace or day.rain > 0:
        yield _reason("rain", "care", rules.rain, "a trace")
    yield from _air(day, rules)
    if weather is not None:
        yield from _dry_spell(on, weather, rules)


def _temperature(day: Day, night: float | None, rules: HoldRules) -> Iterator[Hold]:
    """`night`: the lowest of the day after, which is the night that follows a spray."""
    if day.high is None:
        yield _unknown("heat", "Highest temperature not known", "no figure")
    elif day.high >= rules.heat.number.value:
        yield _reason("heat", "hold", rules.heat, f"up to {degrees(day.high)}")
    elif rules.heat.care and day.high >= rules.heat.care.value:
        yield _reason("heat", "care", rules.heat, f"up to {degrees(day.high)}")
    if day.high is not None and day.high < rules.cold.number.value:
        yield _reason("cold", "hold", rules.cold, f"no more than {degrees(day.high)}")
    elif day.low is not None and rules.cold.care and day.low < rules.cold.care.value:
        yield _reason("cold", "care", rules.cold, f"down to {degrees(day.low)}")
    lows = [low for low in (day.low, night) if low is not None]
    if lows and min(lows) <= rules.freezing.number.value:
        yield _reason("freezing", "hold", rules.freezing, f"down to {degrees(min(lows))}")


def _air(day: Day, rules: HoldRules) -> Iterator[Hold]:
    if day.wind is not None:
        if day.wind > rules.wind.number.value:
            yield _reason("wind", "hold", rules.wind, f"{day.wind:.0f} km/h")
        elif rules.wind.care and day.wind < rules.wind.care.value:
            yield _reason("wind", "care", rules.wind, f"{day.wind:.0f} km/h")
    if day.humidity is not None:
        if day.humidity >= rules.damp.number.value:
            yield _reason("damp", "hold", rules.damp, f"{day.humidity:.0f}%")
        elif rules.damp.care and day.humidity >= rules.damp.care.value:
            yield _reason("damp", "care", rules.damp, f"{day.humidity:.0f}%")


def _dry_spell(on: date, weather: Weather, rules: HoldRules) -> Iterator[Hold]:
    spell = rules.dry_spell
    days = [weather.on(on - timedelta(days=n)) for n in range(1, spell.days + 1)]
    rains = [day.rain for day in days if day is not None and day.rain is not None]
    if len(rains) == spell.days and sum(rains) < spell.rain_mm:
        found = f"{sum(rains):.1f} mm in {spell.days} days"
        limit = f"{spell.rain_mm:g} mm"
        says = rules.thirst.care_says
        yield Hold("dry_spell", "care", "Dry spell", found, limit, says, "", tuple(spell.sources), spell.basis)


def _plant_reasons(on: date, looked: date, plants: Plants, rules: HoldRules) -> Iterator[Hold]:
    if plants.thirsty and on < _plus(looked, rules.thirst):
        yield _reason("thirst", "hold", rules.thirst, "limp or dry", _plus(looked, rules.thirst))
    if plants.in_bloom and (plants.bloom_over is None or on < plants.bloom_over):
        yield _reason("bloom", "hold", rules.bloom, "flowers open", plants.bloom_over)
    if plants.harvest is not None and 0 <= (plants.harvest - on).days < rules.harvest.number.value:
        found = f"picking on {plants.harvest}"
        yield _reason("harvest", "hold", rules.harvest, found, plants.harvest + timedelta(days=1))
    for name, last, rule in (
        ("sulfur", plants.last_sulfur, rules.sulfur),
        ("oil", plants.last_oil, rules.oil),
        ("spray", plants.last_spray, rules.spray),
        ("shock", plants.last_shock, rules.shock),
    ):
        yield from _since(name, on, last, rule)


def _since(name: str, on: date, last: date | None, rule: Rule) -> Iterator[Hold]:
    if last is None or last > on:
        return
    ago = (on - last).days
    found = "the same day" if ago == 0 else f"{ago} day{'s' if ago > 1 else ''} before"
    if ago < rule.number.value:
        yield _reason(name, "hold", rule, found, _plus(last, rule))
    elif rule.care and ago < rule.care.value:
        yield _reason(name, "care", rule, found)


def _plus(day: date, rule: Rule) -> date:
    return day + timedelta(days=int(rule.number.value))


def _reason(name: str, kind: Kind, rule: Rule, found: str, clear_on: date | None = None) -> Hold:
    care = kind == "care"
    limit = rule.care.told if care and rule.care else rule.number.told
    says = rule.care_says if care else rule.says
    return Hold(name, kind, rule.name, found, limit, says, rule.disagree, rule.sources, rule.basis, clear_on)


def _unknown(name: str, title: str, found: str) -> Hold:
    return Hold(name, "unknown", title, found, "", "Look yourself before you spray.", "", (), None)


def degrees(celsius: float) -> str:
    """A temperature in both scales."""
    return f"{celsius:.0f} C ({celsius * 9 / 5 + 32:.0f} F)"


def told_day(on: date, hottest: str | None, rain: bool | None, wind: str | None, rules: HoldRules) -> Day:
    """A day from what a person told: “77F”, rain before it dries, “6mph”. Raises BadInput."""
    try:
        high = temperature_c(hottest) if hottest else None
        blew = speed_kmh(wind) if wind else None
    except ValueError as error:
        raise BadInput([Problem("argument", None, "", str(error))]) from None
    rained = None if rain is None else rules.rain.number.value if rain else 0.0
    return Day(on, high=high, rain=rained, wind=blew)


def told_plants(
    thirsty: bool | None,
    bloom: bool | None,
    bloom_over: date | None,
    harvest: date | None,
    last_sulfur: date | None,
    last_spray: date | None,
    last_oil: date | None,
    planted_out: date | None,
) -> Plants:
    """Plants from what a person told; what was not told counts as nothing against a spray."""
    return Plants(
        bool(thirsty), bool(bloom or bloom_over), bloom_over, harvest, last_sulfur, last_spray, last_oil, planted_out
    )
