"""Essential oils as a grower names them, and how strong a blend of them may be."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from triage.reasoning.case import did_you_mean
from triage.reasoning.spray_knowledge import SprayFile, Strength
from triage.spraying.units import bad, read_number, share


@dataclass(frozen=True)
class Limits:
    """Where a warning begins and where the program stops, % by volume."""

    warn: float | None
    refuse: float
    strength: Strength


def read_oils(texts: tuple[str, ...], file: SprayFile) -> dict[str, float]:
    """Oils with their parts from "peppermint", "peppermint=2" or "2 rosemary". Raises BadInput."""
    found: dict[str, float] = {}
    for text in (part for whole in texts for part in whole.split(",") if part.strip()):
        name, parts = _name_and_parts(text.strip())
        words = name.lower().removesuffix(" oil").removesuffix(" essential").strip().replace(" ", "_")
        if words in file.refused_oils:
            raise bad("--oil", file.refused_oils[words].says, "take peppermint or rosemary")
        if words not in file.oils:
            hint = did_you_mean(words, file.oils) or f"one of: {', '.join(file.oils)}"
            raise bad("--oil", f"'{name}' is no oil this program knows", f"{hint}; 'other' gets the strict limits")
        if parts <= 0:
            raise bad("--oil", f"no part of {name}", "parts above 0, such as peppermint=2")
        found[words] = found.get(words, 0.0) + parts
    return found


def _name_and_parts(text: str) -> tuple[str, float]:
    name, sign, number = text.partition("=")
    if sign:
        parts, rest = read_number(number, "--oil")
        if rest:
            raise bad("--oil", f"'{text}' is no oil with parts", "write it like peppermint=2")
        return name.strip(), parts
    if text[:1].isdigit():
        parts, name = read_number(text, "--oil")
        return name, parts
    return text, 1.0


def blend(oils: Mapping[str, float]) -> dict[str, float]:
    """Parts as shares of 1."""
    whole = math.fsum(oils.values())
    return {name: parts / whole for name, parts in oils.items()}


def oil_limits(oils: Mapping[str, float], file: SprayFile) -> Limits:
    """The limits of a blend: each oil may use up its share of its own limit, and together no more than one.

    1 / sum(share / limit), so half clove and half peppermint is refused above 0.33% (our judgement).
    """
    groups = {name: file.oil_groups[file.oils[name].group] for name in oils}
    refuse = 1 / sum(part / groups[name].refuse_percent for name, part in blend(oils).items())
    warn = 1 / sum(part / (groups[name].warn_percent or math.inf) for name, part in blend(oils).items())
    strictest = min(groups.values(), key=lambda group: group.refuse_percent)
    return Limits(warn, refuse, strictest)


def usual_oil_share(oils: Mapping[str, float], file: SprayFile) -> float:
    """The usual rate of a blend, put together as the limits are."""
    rates = {name: file.oil_groups[file.oils[name].group].rate for name in oils}
    return 1 / sum(part / share(rate, file.units) for name, part in blend(oils).items() if (rate := rates[name]))
