"""What a person asks of the mite projection, in words, turned into its figures. Raises BadInput."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from triage.reasoning.yaml_text import BadInput, Problem
from triage.spraying.mite_knowledge import Mites, Mix
from triage.spraying.mites import Kill, Temperatures, growing_days
from triage.spraying.readings import temperature_c
from triage.spraying.weather import read_weather

_USUAL_C = 25.0
_COLDEST, _HOTTEST = 12, 40  # C; beyond, nothing published was found
_KNOWN = (15, 35)  # C; between these the figures were measured


def _bad(field: str, wrong: str, mend: str = "") -> BadInput:
    return BadInput([Problem(field, None, "", wrong, mend)])


def warmth_of(
    at: str | None, file: Path | None, start: date | None, today: date, units: Any = None
) -> tuple[Temperatures, str]:
    """Temperatures and what to call them. A weather file starts at `start`, today, or its first day."""
    if at is not None and file is not None:
        raise _bad("--at", "cannot stand beside --weather", "give one of them")
    if file is None:
        try:
            celsius = _USUAL_C if at is None else temperature_c(at)
        except ValueError as error:
            raise _bad("--at", str(error)) from None
        if not _COLDEST <= celsius <= _HOTTEST:
            raise _bad("--at", f"{_both(celsius)} is beyond what is known of mites", "give 12 to 40 C (54 to 104 F)")
        rough = "" if _KNOWN[0] <= celsius <= _KNOWN[1] else " (a guess: measured from 15 to 35 C only)"
        return celsius, f"{_both(celsius)} day and night{rough}"
    weather = read_weather(file, units)
    first = start or (today if weather.first <= today <= weather.last else weather.first)
    days = growing_days(weather, first)
    mean = sum(low + high for low, high in days) / (2 * len(days))
    return days, f"from {first} on, by {file.name} ({len(days)} days, {_both(mean)} on average)"


def _both(celsius: float) -> str:
    return f"{celsius:.3g} C ({celsius * 9 / 5 + 32:.0f} F)"


def kill_of(mix: str | None, crawling: float | None, eggs: float | None, mites: Mites) -> tuple[Mix | None, Kill]:
    """The mix used, or None with figures (%) of the person's own, and the shares it kills."""
    if crawling is None and eggs is None:
        name = mix or mites.usual_mix
        if name not in mites.mixes:
            raise _bad("--mix", f"there is no mix “{name}”", "use " + ", ".join(mites.mixes))
        used = mites.mixes[name]
        return used, Kill(used.kills_crawling, used.kills_eggs)
    if mix is not None:
        raise _bad("--mix", "cannot stand beside --kill and --kill-eggs", "give one of them")
    if crawling is None:
        raise _bad("--kill-eggs", "needs --kill too", "for instance --kill 80 --kill-eggs 20")
    return None, Kill(crawling / 100, (eggs or 0) / 100)


def schedule_of(text: str, days: int) -> tuple[float, ...]:
    """“0,4,8” to days. Days may be halves; they rise, and lie within the days shown."""
    try:
        plan = tuple(float(part) for part in text.split(","))
    except ValueError:
        raise _bad("--sprays", f"“{text}” is not a list of days", "such as 0,3,6") from None
    if any(day < 0 or day > days for day in plan):
        raise _bad("--sprays", f"“{text}” goes beyond day 0 to {days}")
    if list(plan) != sorted(set(plan)):
        raise _bad("--sprays", f"the days of “{text}” do not rise", "such as 0,3,6")
    return plan
