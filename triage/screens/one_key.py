"""A question that is answered with one key, without Enter."""

from __future__ import annotations

from collections.abc import Mapping

import questionary
from prompt_toolkit import PromptSession
from prompt_toolkit.key_binding import KeyBindings
from prompt_toolkit.key_binding.key_processor import KeyPressEvent
from prompt_toolkit.keys import Keys

LATER = "later"


def one_key(ask: str, keys: Mapping[str, str], plain: bool) -> str:
    """The letter pressed out of `keys` (letter -> what it means); Enter is LATER. KeyboardInterrupt on Ctrl-C."""
    bindings = KeyBindings()

    def on(key: str | Keys, result: str) -> None:
        @bindings.add(key, eager=True)
        def _press(event: KeyPressEvent) -> None:
            event.app.exit(result=result)

    for letter in keys:
        on(letter, letter)
    on(Keys.ControlM, LATER)

    @bindings.add(Keys.ControlC, eager=True)
    def _leave(event: KeyPressEvent) -> None:
        event.app.exit(exception=KeyboardInterrupt)

    @bindings.add(Keys.Any)
    def _other(event: KeyPressEvent) -> None:
        """Any other key does nothing."""

    told = "  ".join(f"{letter} {says}" for letter, says in keys.items())
    head = ">" if plain else "•"
    session: PromptSession[str] = PromptSession(f"{head} {ask}\n   {told}  Enter later ", key_bindings=bindings)
    return str(questionary.Question(session.app).unsafe_ask())
