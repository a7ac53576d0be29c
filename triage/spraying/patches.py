"""Whether a mix was tried on a crop, and how it went: without a clean test patch no programme goes ahead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from triage.spraying.programme_knowledge import PatchRules

State = Literal["clean", "burnt", "open", "too_soon", "too_old", "weaker", "none"]


@dataclass(frozen=True)
class Mixed:
    """A mix by its name and strength (percent by volume; None: not told)."""

    name: str
    oil_percent: float | None = None
    soap_percent: float | None = None


@dataclass(frozen=True)
class Tried:
    """One test patch on this crop. `same_planting`: on the very planting that is to be sprayed."""

    on: date
    mix: Mixed
    variety: str | None = None
    same_planting: bool = False
    result: Literal["clean", "burnt"] | None = None
    looked_on: date | None = None


@dataclass(frozen=True)
class Standing:
    """What the patches say about a mix: `says` in one line, `instead` what to do when it is not clean."""

    state: State
    says: str
    instead: str = ""
    on: date | None = None

    @property
    def clean(self) -> bool:
        return self.state == "clean"


def standing(tried: Sequence[Tried], mix: Mixed, variety: str | None, today: date, rules: PatchRules) -> Standing:
    """The newest patch of this mix on this crop and variety decides. A burnt one is never outvoted by an older one."""
    fitting = [patch for patch in tried if patch.on <= today and _same(patch, mix, variety)]
    strong = [patch for patch in fitting if not _weaker(patch.mix, mix, rules)]
    # A weaker mix that burnt is a warning for this stronger one too.
    telling = [patch for patch in fitting if patch in strong or patch.result == "burnt"]
    if not telling:
        return _nothing(bool(fitting), any(patch.mix.name.casefold() == mix.name.casefold() for patch in tried))
    newest = max(telling, key=lambda patch: (patch.on, patch.result == "burnt"))
    return _judge(newest, today, rules)


def clean_from(patched: date, rules: PatchRules) -> date:
    """The first day on which a clean look counts."""
    return patched + timedelta(days=rules.first_look_days)


def looks_of(patched: date, rules: PatchRules) -> tuple[date, date]:
    """The days of the two looks."""
    return clean_from(patched, rules), patched + timedelta(days=rules.second_look_days)


def _judge(patch: Tried, today: date, rules: PatchRules) -> Standing:
    first = clean_from(patch.on, rules)
    if patch.result == "burnt":
        return Standing("burnt", f"The test patch of {patch.on} burnt.", rules.if_burnt, patch.on)
    if (today - patch.on).days > rules.counts_for_days:
        says = f"The last test patch is of {patch.on}: more than {rules.counts_for_days} days ago."
        return Standing("too_old", says, "Try one or two plants again: triage patch start", patch.on)
    if patch.result is None:
        says = f"The test patch of {patch.on} has no result yet."
        how = "Look at it now" if today >= first else f"Look at it on {first}"
        return Standing("open", says, f"{how}, then: triage patch result clean (or burnt)", patch.on)
    if patch.looked_on is not None and patch.looked_on < first:
        says = f"The test patch of {patch.on} was looked at too soon, on {patch.looked_on}."
        return Standing("too_soon", says, f"Look again from {first} on, then: triage patch result clean", patch.on)
    return Standing("clean", f"The test patch of {patch.on} stayed clean.", "", patch.on)


def _nothing(weaker_was_clean: bool, other_variety: bool) -> Standing:
    start = "Try it on one or two plants first: triage patch start"
    if weaker_was_clean:
        return Standing("weaker", "Only a weaker mix was tried on this crop.", start)
    if other_variety:
        return Standing("none", "This mix was tried, but on another variety.", start)
    return Standing("none", "No test patch of this mix on this crop is on record.", start)


def _same(patch: Tried, mix: Mixed, variety: str | None) -> bool:
    if patch.mix.name.casefold().strip() != mix.name.casefold().strip():
        return False
    return patch.same_planting or (patch.variety or "").casefold() == (variety or "").casefold()


def _weaker(tried: Mixed, wanted: Mixed, rules: PatchRules) -> bool:
    pairs = ((tried.oil_percent, wanted.oil_percent), (tried.soap_percent, wanted.soap_percent))
    return any(had is not None and want is not None and had + rules.strength_slack < want for had, want in pairs)
