"""A list of which one key takes an answer at once, for muddy hands. The arrows and Enter work as well."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import questionary
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent, merge_key_bindings


@dataclass(frozen=True)
class Key:
    """One choice: the key that takes it at once, what it returns, and its words."""

    key: str
    value: str
    says: str


def pick_by_key(ask: str, keys: Sequence[Key], plain: bool) -> str:
    """The value of the key that was pressed. KeyboardInterrupt when the person breaks off."""
    prompt = questionary.select(
        ask,
        choices=[questionary.Choice(f"{one.key}  {one.says}", one.value) for one in keys],
        instruction=" ",
        qmark=">" if plain else "•",
        pointer=">",
        use_jk_keys=False,
        use_emacs_keys=False,
        erase_when_done=True,
    )
    bindings = KeyBindings()
    for one in keys:
        _exit_on(bindings, one)
    app = prompt.application
    app.key_bindings = merge_key_bindings([app.key_bindings, bindings] if app.key_bindings else [bindings])
    return str(app.run())


def _exit_on(bindings: KeyBindings, one: Key) -> None:
    @bindings.add(one.key, eager=True)
    def _exit(event: KeyPressEvent) -> None:
        event.app.exit(result=one.value)
