"""Short forms for what was seen and done: a question a field, Enter leaves it out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

import questionary

from triage.reasoning.yaml_text import BadInput
from triage.records.dates import parse_date
from triage.screens import prompts
from triage.screens.prompts import Option

Reader = Callable[[str], Any]


@dataclass(frozen=True)
class Field:
    """One question of a form. `read` turns what was typed into the value; it raises BadInput."""

    name: str
    ask: str
    kind: Literal["text", "choice", "yes_no"] = "text"
    needed: bool = False
    choices: tuple[tuple[str, str], ...] = ()
    default: str = ""


def whole(text: str) -> int:
    return int(text)


def decimal(text: str) -> float:
    return float(text.replace(",", "."))


_CAUSE = Field("cause", "Which pest or disease? Its name, or part of it")
_BY = (
    ("coach", "Somebody who knows the crop well"),
    ("lens", "A look through a lens"),
    ("laboratory", "A laboratory"),
)

#: The forms by what a person calls the entry.
FORMS: dict[str, tuple[Field, ...]] = {
    "spray": (
        Field("mix", "What was sprayed?", needed=True, default="home mix"),
        Field("volume_ml", "How much, such as 1.5 L?"),
        Field("round", "Which round of the series? 1, 2, 3"),
        Field("weather", "What was the weather like?"),
        Field("note", "Anything else?"),
    ),
    "count": (
        Field("looked", "How many leaves did you look at?"),
        Field("infested", "On how many of them was the pest?"),
        Field("pests", "How many pests in all?"),
        Field("damage", "How much of the leaf is damaged, 0 to 100 percent?"),
        Field("sprayed", "Were these plants sprayed?", "yes_no"),
        Field("note", "Anything else?"),
    ),
    "action": (
        Field("what", "What did you do?", needed=True),
        Field("note", "Anything else?"),
    ),
    "harvest": (
        Field("amount", "How much did you pick? A number"),
        Field("unit", "Of what: kg, g, lb, heads, pieces?"),
        Field("note", "Anything else?"),
    ),
    "note": (Field("text", "What do you want to write down?", needed=True),),
    "confirm": (
        Field("cause", _CAUSE.ask, needed=True),
        Field("by_whom", "How is it known?", "choice", needed=True, choices=_BY),
        Field("note", "Anything else?"),
    ),
}

#: How typed text becomes a value, where it is not text.
READERS: dict[str, Reader] = {
    "looked": whole,
    "infested": whole,
    "pests": whole,
    "round": whole,
    "plants": whole,
    "damage": decimal,
    "amount": decimal,
}


def fill(
    kind: str, given: Mapping[str, Any], readers: Mapping[str, Reader], plain: bool, only_needed: bool
) -> dict[str, Any]:
    """Ask for the fields of an entry that were not given. KeyboardInterrupt when the person breaks off."""
    found = dict(given)
    for field in FORMS[kind]:
        if found.get(field.name) is not None or (only_needed and not field.needed):
            continue
        found[field.name] = ask(field, readers.get(field.name, str), plain)
    return found


def ask(field: Field, read: Reader, plain: bool) -> Any:
    """One field asked for; None when it is left out."""
    if field.kind == "yes_no":
        return prompts.yes_no(field.ask, plain)
    if field.kind == "choice":
        return prompts.choose(field.ask, [Option(value, says) for value, says in field.choices], plain)
    tail = "" if field.needed else " (Enter leaves it out)"
    text = typed(field.ask + tail, plain, lambda text: _fits(text, read, field.needed), field.default)
    return read(text) if text else None


def ask_day(today: date, plain: bool) -> date:
    """When it was; Enter is today."""

    def read(text: str) -> date:
        return parse_date(text, today)

    text = typed("When? (today, yesterday, last tuesday, 3 aug)", plain, lambda t: _fits(t, read, True), "today")
    return read(text)


def ask_name(ask: str, default: str, plain: bool) -> str | None:
    """A name, the usual one offered; None when there is none."""
    return typed(ask, plain, lambda _: True, default) or None


def ask_place(is_crop: Callable[[str], bool | str], plain: bool) -> tuple[str, str]:
    """Crop and bed of a planting that is not written down yet."""
    crop = typed("Which crop?", plain, is_crop)
    return crop, typed("In which bed?", plain, lambda text: bool(text.strip()) or "This one is needed.")


def choose_planting(choices: Sequence[tuple[str, str]], plain: bool) -> str | None:
    """One of the plantings (uid, label), or None for a new one."""
    new = "\0new"
    options = [*(Option(uid, says) for uid, says in choices), Option(new, "Another one")]
    found = prompts.choose("Which planting?", options, plain)
    if found is None:
        raise KeyboardInterrupt
    return None if found == new else found


def typed(ask: str, plain: bool, check: Callable[[str], bool | str], default: str = "", start: str = "") -> str:
    """A line of text. Enter alone takes `default`; `start` stands in the line already, to be mended.

    KeyboardInterrupt when the person breaks off.
    """
    prompt = questionary.text(
        ask,
        default=start,
        instruction=f"(Enter: {default})" if default else None,
        validate=lambda text: True if default and not text.strip() else check(text),
        qmark=">" if plain else "•",
    )
    return str(prompt.unsafe_ask()).strip() or default


def _fits(text: str, read: Reader, needed: bool) -> bool | str:
    if not text.strip():
        return "This one is needed." if needed else True
    try:
        read(text.strip())
    except BadInput as error:
        problem = error.problems[0]
        return f"{problem.wrong}. {problem.mend}"
    except ValueError:
        return "A number, please."
    return True
