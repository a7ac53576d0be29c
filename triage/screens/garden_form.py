"""The garden's profile: shown, and asked for question by question."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

from rich.markup import escape
from rich.table import Table

from triage.reasoning.yaml_text import BadInput
from triage.records.entries import short
from triage.records.places import CropWords, label
from triage.records.profile import HEMISPHERES, REGIONS, SOAPS, UNITS, Profile, Settings
from triage.records.tables import Planting
from triage.screens import prompts
from triage.screens.console import Screen
from triage.screens.journal_page import day_text
from triage.screens.log_forms import typed
from triage.screens.prompts import Option

#: What each setting is, in words.
SAYS = {
    "name": "Garden",
    "region": "Region",
    "country": "Country",
    "hemisphere": "Half of the earth",
    "units": "Measures",
    "beds": "Beds",
    "tank": "Sprayer holds",
    "soap": "Soap at hand",
    "oils": "Oils at hand",
    "observer": "You are",
    "journal": "Journal",
}
_CHOICES = {
    "region": {value: value.replace("_", " ").title() for value in REGIONS},
    "hemisphere": {"north": "Northern", "south": "Southern", "tropics": "Tropics: no winter"},
    "units": {"metric": "Litres and grams", "us": "US gallons and cups", "imperial": "Imperial gallons and pints"},
    "soap": {"plain": "Plain liquid soap", "detergent": "Dish detergent", "insecticidal": "Insecticidal soap"},
}
assert set(_CHOICES["hemisphere"]) == set(HEMISPHERES)
assert set(_CHOICES["units"]) == set(UNITS)
assert set(_CHOICES["soap"]) == set(SOAPS)
_ASK = {
    "name": "What is the garden called?",
    "region": "Where in the world is it?",
    "country": "Which country? Its two letters, such as GB or US",
    "hemisphere": "On which half of the earth?",
    "units": "Which measures do you use?",
    "beds": "The beds, with commas between them",
    "tank": "How much does your sprayer hold, such as 8 L?",
    "soap": "Which soap do you use?",
    "oils": "Which oils do you have, with commas between them?",
    "observer": "Your name, as it should stand in the journal",
}


def show_profile(profile: Profile, path: str, screen: Screen) -> None:
    """Every setting with where it comes from."""
    table = Table.grid(padding=(0, 1, 0, 0))
    table.add_column(style="label", width=18, no_wrap=True)
    table.add_column(width=screen.width - 18 - 14, overflow="fold")
    table.add_column(width=11, no_wrap=True)
    for name, words in SAYS.items():
        value = getattr(profile.settings, name)
        where = profile.origin.get(name, "default")
        table.add_row(words, escape(told(name, value)), "" if where == "default" else f"[soft]{where}[/]")
    screen.print(table, f"[soft]File: {escape(path)}[/]")


def told(name: str, value: Any) -> str:
    """A setting's value in words."""
    if name == "journal" and value is None:
        return "in this user's own folder"
    if value in (None, ()):
        return "not said"
    if isinstance(value, tuple):
        return ", ".join(value)
    return _CHOICES.get(name, {}).get(value, str(value))


def ask_profile(now: Settings, check: Callable[[dict[str, Any]], None], screen: Screen) -> dict[str, Any]:
    """All settings asked for; Enter keeps what they are, - empties. KeyboardInterrupt when the person breaks off."""
    found: dict[str, Any] = {}
    screen.print("[soft]Enter alone keeps what is offered or leaves it out; - empties it.[/]")
    for name, ask in _ASK.items():
        value = getattr(now, name)
        if name in _CHOICES:
            first = [value] if value else []
            rest = [key for key in _CHOICES[name] if key != value]
            options = [Option(key, _CHOICES[name][key]) for key in (*first, *rest)]
            if not first and name != "units":
                options.append(Option("", "Leave it open"))
            chosen = prompts.choose(ask, options, screen.plain)
            if chosen is None:
                raise KeyboardInterrupt
            found[name] = chosen or None
            screen.print(f"{escape(ask)} [label]{escape(told(name, found[name]))}[/]")
            continue
        default = ", ".join(value) if isinstance(value, tuple) else value or ""
        answer = typed(ask, screen.plain, partial(_fits, check, name), default)
        found[name] = None if answer in ("", "-") else answer
    return found


def _fits(check: Callable[[dict[str, Any]], None], name: str, text: str) -> bool | str:
    if text.strip() in ("", "-"):
        return True
    try:
        check({name: text.strip()})
    except BadInput as error:
        return error.problems[0].wrong
    return True


def show_plantings(found: Sequence[Planting], words: CropWords, screen: Screen) -> None:
    """What stands where, bed by bed, with the letters that name a planting."""
    if not found:
        screen.print("Nothing is planted yet: triage garden plant CROP --bed NAME")
        return
    bed = None
    for planting in found:
        if planting.bed.name != bed:
            bed = planting.bed.name
            screen.print(f"[label]{escape(bed)}[/]")
        name = label(planting, words).removesuffix(f", {bed}")
        days = [("sown", planting.sown), ("planted", planting.planted), ("cleared", planting.removed)]
        when = ", ".join(f"{word} {day_text(day)}" for word, day in days if day)
        screen.print(f"  {escape(name)}{': ' + when if when else ''} [soft]{short(planting.uid)}[/]")
