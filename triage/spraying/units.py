"""Volumes, rates, areas and spoons as a grower writes them.

The size of every unit stands in knowledge/sprays.yaml with its source; here is only how
an amount is read, converted and put into kitchen spoons.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from triage.reasoning.case import did_you_mean
from triage.reasoning.spray_knowledge import Rate, SprayFile, Units
from triage.reasoning.yaml_text import BadInput, Problem

System = Literal["us", "imperial"]

_FRACTIONS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅛": "1/8"}
_NUMBER = re.compile(r"(?P<whole>\d+)\s+(?P<top>\d+)/(?P<bottom>\d+)|(?P<up>\d+)/(?P<down>\d+)|(?P<plain>\d*[.,]?\d+)")
_LONGEST = 40  # characters; also keeps numbers finite
_QUARTERS = {0: "", 1: "¼", 2: "½", 3: "¾"}


@dataclass(frozen=True)
class Kitchen:
    """Which gallon a bare "gallon" is, and which spoons lie in the drawer."""

    system: System
    spoons: str  # a key of units.spoons


@dataclass(frozen=True)
class Volume:
    ml: float
    unit: str  # a key of units.volumes, as the person wrote it
    amount: float


@dataclass(frozen=True)
class Spoons:
    """A volume in whole tablespoons and quarter teaspoons, as near as spoons come to it."""

    tablespoons: int
    quarter_teaspoons: int
    ml: float  # what these spoons hold
    exact_ml: float

    @property
    def error(self) -> float:
        """How far off the spoons are, as a share of what was wanted."""
        return abs(self.ml - self.exact_ml) / self.exact_ml if self.exact_ml else 0.0


def bad(field: str, wrong: str, mend: str = "") -> BadInput:
    """Bad input that came by an option."""
    return BadInput([Problem(field, None, "", wrong, mend)])


def kitchen_for(units: Units, country: str = "", measure: str = "", spoons: str = "") -> Kitchen:
    """The measures at hand, from what is known: told spoons, country, the unit of the tank or bed.

    Raises BadInput for spoons that are not in the knowledge.
    """
    letters = country.strip().upper()
    system: System = "imperial" if letters in units.imperial_countries else "us"
    if spoons:
        if spoons not in units.spoons:
            raise bad("--spoons", f"there are no '{spoons}' spoons here", f"one of: {', '.join(units.spoons)}")
        return Kitchen(system, spoons)
    if letters in units.spoons_by_country:
        return Kitchen(system, units.spoons_by_country[letters])
    split = _split(measure)
    unit = _find(units, split[1], Kitchen(system, "metric")) if split else None
    american = unit.startswith("us_") if unit else bool(re.search(r"(?<![a-z])(?:ft|feet|foot|in|yd)\b", measure))
    return Kitchen(system, "us" if letters == "" and american else "metric")


def read_number(text: str, field: str) -> tuple[float, str]:
    """The number a text begins with, and the rest. Takes 1.5, 1,5, 1/2, 1 1/2 and ½.

    Raises BadInput where there is none, or where a comma could mean two things.
    """
    plain = text.strip()
    if len(plain) > _LONGEST:
        raise bad(field, "that is too long for an amount", "write it like 1.5 L, 1 gal or 1/2 pint")
    for sign, digits in _FRACTIONS.items():
        plain = plain.replace(sign, f" {digits}")
    plain = plain.strip()
    match = _NUMBER.match(plain)
    if not match:
        raise bad(field, f"'{text}' does not begin with a number", "write it like 1.5 L, 1 gal or 1/2 pint")
    if re.match(r"\d+,\d{3}(?!\d)", plain):
        raise bad(field, f"'{text}' could mean two numbers", "leave the comma out, or use a point")
    part = match.groupdict()
    if part["plain"]:
        value = float(part["plain"].replace(",", "."))
    else:
        top, bottom = int(part["top"] or part["up"]), int(part["bottom"] or part["down"])
        if bottom == 0:
            raise bad(field, f"'{text}' divides by nothing", "write it like 1/2")
        value = int(part["whole"] or 0) + top / bottom
    return value, plain[match.end() :].strip()


def volume(text: str, units: Units, kitchen: Kitchen, field: str = "--tank") -> Volume:
    """A volume such as "1.5 L", "1 gal" or "1/2 imp pint". Raises BadInput."""
    amount, word = read_number(text, field)
    if re.fullmatch(r"drops?", word.lower()):
        raise bad(field, units.drops)
    unit = _find(units, word, kitchen)
    if unit is None:
        raise bad(field, f"'{word or text}' is no measure this program knows", _unit_hint(word, units))
    if amount <= 0:
        raise bad(field, f"'{text}' is nothing", "an amount above 0")
    return Volume(amount * units.volumes[unit].ml, unit, amount)


def rate(text: str, units: Units, kitchen: Kitchen, field: str = "--oil-rate") -> float:
    """A share of the finished mix from "0.2%", "2 tsp/gal", "2 mL per L" or "1 tbsp to 1 gal".

    Percent is by volume of the tank's fill: 1% is 10 mL to the litre, 1.28 US fluid ounces to the
    US gallon (penn_state_oil). Raises BadInput.
    """
    plain = text.strip()
    if plain.endswith("%"):
        value, rest = read_number(plain[:-1], field)
        if rest:
            raise bad(field, f"'{text}' is no strength", "write it like 0.2%")
        return value / 100
    parts = re.split(r"(?<=[a-zA-Z.])\s*/\s*|\s+(?:per|to(?: the)?|in(?: a)?|a)\s+", plain, maxsplit=1)
    if len(parts) != 2:
        raise bad(field, f"'{text}' is no strength", "write it like 0.2%, 2 tsp/gal or 2.5 mL/L")
    below = parts[1] if re.match(r"[\d½¼¾⅓⅔⅛.]", parts[1]) else f"1 {parts[1]}"
    if re.match(r"0+(?:[.,]0*)?(?:\s|$)", parts[0]):
        return 0.0
    return volume(parts[0], units, kitchen, field).ml / volume(below, units, kitchen, field).ml


def share(of: Rate, units: Units) -> float:
    """A rate of the knowledge as a share by volume."""
    return of.amount * units.volumes[of.of].ml / units.volumes[of.to].ml


def length_m(text: str, units: Units, field: str) -> float:
    """A length in metres from "15 cm" or "6 in". Raises BadInput."""
    amount, word = read_number(text, field)
    for unit in units.lengths.values():
        if word.lower() in unit.words and amount > 0:
            return amount * unit.size
    raise bad(field, f"'{text}' is no length", "write it like 15 cm or 6 in")


def area_m2(text: str, units: Units, field: str = "--bed") -> float:
    """An area in square metres from "4 m2", "100 sq ft", "4 x 8 ft" or "1.2 m x 3 m". Raises BadInput."""
    sides = re.split(r"\s*(?:[xX×*]|\bby\b)\s*", text.strip())
    hint = "write it like 4 m2, 100 sq ft or 4 x 8 ft"
    if len(sides) == 2 and all(sides):
        if not re.search(r"[a-zA-Z'\"]", sides[0]):
            sides[0] += " " + read_number(sides[1], field)[1]
        return length_m(sides[0], units, field) * length_m(sides[1], units, field)
    amount, word = read_number(text, field)
    word = word.lower().replace(".", "").replace("²", "2").replace("^", "")
    square = re.fullmatch(r"(?:sq|square)\s*(?P<a>[a-z]+)|(?P<b>[a-z]+)2", word)
    for unit in units.lengths.values():
        if square and (square["a"] or square["b"]) in unit.words and amount > 0:
            return amount * unit.size**2
    raise bad(field, f"'{text}' is no area", hint)


def hardness_mg_l(text: str, file: SprayFile, field: str = "--hardness") -> float:
    """Water hardness in mg/L as calcium carbonate from "200", "12 gpg", "11 dH" or "hard".

    A word is taken at the hard end of its class. Raises BadInput.
    """
    plain = " ".join(text.lower().split())
    for grade in file.hard_water.classes.values():
        if plain in grade.words:
            return grade.up_to or file.hard_water.very_hard_taken_mg_per_l
    amount, word = read_number(plain, field) if plain[:1].isdigit() else (math.nan, plain)
    for unit in file.units.hardness.values():
        if word in unit.words and math.isfinite(amount):
            found = amount * unit.size
            if found > file.hard_water.worst_mg_per_l:
                raise bad(field, f"{text} is harder than any tap water", "in ppm, grains (gpg) or dH?")
            return found
    raise bad(field, f"'{text}' is no hardness", "write it like 200 ppm, 12 gpg, 11 dH, or soft, hard, very hard")


def temperature_c(text: str, field: str) -> float:
    """Degrees Celsius from "18 C" or "65 F". Raises BadInput."""
    match = re.fullmatch(r"(-?\d+(?:[.,]\d+)?)\s*°?\s*([cCfF])", text.strip())
    if not match:
        raise bad(field, f"'{text}' is no temperature", "write it like 18 C or 65 F")
    value = float(match[1].replace(",", "."))
    return value if match[2] in "cC" else (value - 32) / 1.8


def in_spoons(ml: float, units: Units, kitchen: Kitchen, most_ml: float = math.inf) -> Spoons:
    """A volume to the nearest quarter teaspoon, in tablespoons and teaspoons; never above `most_ml`."""
    spoons = units.spoons[kitchen.spoons]
    quarter = units.volumes[spoons.teaspoon].ml / 4
    # Half a quarter up: a spoon that is a shade too full is the common slip, so ties go down.
    steps = math.ceil(ml / quarter - 0.5 - 1e-9)
    if steps * quarter > most_ml * (1 + 1e-12):
        steps = math.floor(most_ml / quarter * (1 + 1e-12))
    in_tablespoon = round(units.volumes[spoons.tablespoon].ml / quarter)
    table, rest = divmod(max(steps, 0), in_tablespoon)
    return Spoons(table, rest, (table * in_tablespoon + rest) * quarter, ml)


def spoons_text(spoons: Spoons) -> str:
    """Spoons in words: "1 tbsp + 1½ tsp"."""
    parts = []
    if spoons.tablespoons:
        parts.append(f"{spoons.tablespoons} tbsp")
    if spoons.quarter_teaspoons:
        whole, quarters = divmod(spoons.quarter_teaspoons, 4)
        parts.append(f"{whole or ''}{_QUARTERS[quarters]} tsp")
    return " + ".join(parts)


def _split(text: str) -> tuple[float, str] | None:
    try:
        return read_number(text, "")
    except BadInput:
        return None


def _find(units: Units, word: str, kitchen: Kitchen) -> str | None:
    """The key of the unit a word stands for."""
    plain = " ".join(word.lower().replace(".", " ").split())
    for key, unit in units.volumes.items():
        if plain == unit.says.lower() or plain in unit.words:
            return key
    for two in units.two_meanings.values():
        if plain in two.words:
            return two.us if kitchen.system == "us" else two.imperial
    spoons = units.spoons[kitchen.spoons]
    if plain in units.spoon_words["teaspoon"]:
        return spoons.teaspoon
    return spoons.tablespoon if plain in units.spoon_words["tablespoon"] else None


def _unit_hint(word: str, units: Units) -> str:
    known = [*_words(units)]
    return did_you_mean(word.lower(), known) or "L, mL, gal, imp gal, qt, pint or fl oz"


def _words(units: Units) -> Iterable[str]:
    for unit in units.volumes.values():
        yield from unit.words
    for two in units.two_meanings.values():
        yield from two.words
