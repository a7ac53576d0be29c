"""What the log commands ask for, and how they read what is typed."""

from __future__ import annotations

from datetime import date
from typing import Any

from triage.cli.choosing import crop_id
from triage.cli.shared import Shop, fail
from triage.reasoning.yaml_text import BadInput


def ask_entry(
    shop: Shop,
    kind: str,
    place: dict[str, Any],
    given: dict[str, Any],
    when: tuple[date, bool],
    observer: str | None,
    scripted: bool,
) -> tuple[dict[str, Any], dict[str, Any], date, str | None]:
    """The form: the planting, the fields, the day and who, as far as they were not given."""
    from triage.records.entries import last_entry
    from triage.records.places import label, plantings
    from triage.screens import log_forms

    plain = shop.screen.plain
    day, ask_day = when
    with shop.journal.read() as session:
        standing = [(p.uid, label(p, shop.crop_words)) for p in plantings(session, standing=True)]
        last = last_entry(session)
        last_by = last.row.observer if last else None
    if not any(place.values()):
        uid = log_forms.choose_planting(standing, plain) if standing else None
        if uid is None:
            crop, bed = log_forms.ask_place(lambda text: _is_crop(shop, text), plain)
            place = {**place, "crop": crop, "bed": bed}
        else:
            place = {**place, "planting": uid}
            shop.screen.print(f"Planting: [label]{dict(standing)[uid]}[/]")
    readers = {**log_forms.READERS, "volume_ml": lambda t: value_of(shop, "volume_ml", t)}
    readers["cause"] = lambda text: value_of(shop, "cause", text)
    given = log_forms.fill(kind, given, readers, plain, only_needed=scripted)
    if not scripted and ask_day:
        day = log_forms.ask_day(shop.today, plain)
    if not scripted and observer is None:
        observer = log_forms.ask_name("Who?", shop.profile.settings.observer or last_by or "", plain)
    return place, given, day, observer


def ask_changes(shop: Shop, kind: str, held: dict[str, Any]) -> dict[str, str]:
    """One field chosen from a list, and its new value."""
    from triage.screens import log_forms, prompts

    names = [name for name in held if name not in ("id", "written", "planting", "case")]
    options = [
        prompts.Option(name, f"{name.replace('_', ' ')}: {'nothing' if held[name] is None else held[name]}")
        for name in names
    ]
    name = prompts.choose(f"What is wrong with this {kind}?", options, shop.screen.plain)
    if name is None:
        raise KeyboardInterrupt
    label, now = f"{name.replace('_', ' ')}:", "" if held[name] is None else str(held[name])
    return {name: log_forms.typed(label, shop.screen.plain, lambda _: True, start=now)}


def _is_crop(shop: Shop, text: str) -> bool | str:
    try:
        return bool(crop_id(shop, text))
    except BadInput as error:
        return f"{error.problems[0].wrong}. {error.problems[0].mend}"


def value_of(shop: Shop, name: str, value: Any) -> Any:
    """An option's text as the journal keeps it: a volume in mL, a cause by its id."""
    if value is None or not isinstance(value, str):
        return value
    if name == "volume_ml":
        from triage.spraying.units import kitchen_for, volume

        units = shop.knowledge.sprays.units
        kitchen = kitchen_for(units, shop.profile.settings.country or "")
        return round(volume(value, units, kitchen, "--volume").ml, 3)
    if name == "cause":
        from triage.teaching.look_alikes import find_cause

        return find_cause(value, shop.knowledge)
    return value.strip() or None


def settings_of(settings: tuple[str, ...]) -> dict[str, str]:
    changes = {}
    for setting in settings:
        name, sign, value = setting.partition("=")
        if not sign:
            raise fail(f"'{setting}' is no FIELD=VALUE", "such as --set volume=2L", "--set")
        changes[name.strip()] = value.strip()
    return changes


def read_field(shop: Shop, session: Any, kind: str, name: str, value: str) -> Any:
    """The new value of a field, read as its option would be."""
    from triage.records.dates import parse_date
    from triage.records.places import find_planting

    if not value:
        return None
    if name in ("date", "look_again", "look_on", "looked_on"):
        return parse_date(value, shop.today, name, future=name in ("look_again", "look_on"))
    if name == "planting":
        return find_planting(session, value, shop.crop_words).uid
    if name == "volume":
        return value_of(shop, "volume_ml", value)
    return value_of(shop, name, value) if name == "cause" else value
