"""Questions on the terminal (questionary), with the same keys at every one.

questionary has no way back and no help of its own, so keys are bound on the prompt's
application: help is told in the foot of the same question, so that no tick is lost; a Wish ends
the question and the interview acts on it.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import questionary
from prompt_toolkit.application import Application
from prompt_toolkit.formatted_text import StyleAndTextTuples
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent, merge_key_bindings
from prompt_toolkit.layout import HSplit, Layout, Window
from prompt_toolkit.layout.controls import FormattedTextControl
from prompt_toolkit.styles import Style
from questionary.prompts.common import InquirerControl

from triage.reasoning.case import Tick


class Help(StrEnum):
    """What a person can have told without leaving the question."""

    WHY = "why"
    HOW = "how"
    STANDING = "so far"


class Wish(StrEnum):
    """What a person wants instead of answering."""

    CANT_TELL = "can't tell"
    BACK = "back"
    FINISH = "finish"
    LEAVE = "save and leave"


#: One key each. At typed questions Esc comes first, since letters are text there.
KEYS: dict[str, Wish | Help] = {
    "w": Help.WHY,
    "h": Help.HOW,
    "s": Help.STANDING,
    "x": Wish.CANT_TELL,
    "b": Wish.BACK,
    "f": Wish.FINISH,
    "q": Wish.LEAVE,
}
_ONE_LINE = "Enter this one  t I think so  x can't tell  b back"
_SEVERAL_LINE = "space ticks  Enter done  t I think so  x can't tell  b back"
_KEY_LINE = "w why  h how to check  s so far  f finish now  q save and leave"
_TYPED_LINE = "Type a part of its name. Esc then x: not listed. Esc then q: leave."

_STYLE = Style.from_dict(
    {
        "qmark": "bold",
        "question": "bold",
        "pointer": "bold",
        "highlighted": "bold",
        "selected": "bold",
        "answer": "",
        "foot": "italic",
        "keys": "",
        "instruction": "",
        "separator": "",
        "disabled": "",
    }
)
_THINK = "  (I think so)"


@dataclass(frozen=True)
class Option:
    """One answer on offer."""

    value: str
    says: str
    looks: str = ""
    alone: bool = False


Answer = tuple[Tick, ...] | Wish
Helps = Mapping[Help, str]


def pick_one(ask: str, options: Sequence[Option], plain: bool, helps: Helps | None = None) -> Answer:
    """One answer out of a list: Enter is sure, t is "I think so"."""
    prompt = questionary.select(
        ask,
        choices=[questionary.Choice(option.says, option.value) for option in options],
        instruction=" ",
        style=_STYLE,
        qmark=">" if plain else "•",
        pointer=">",
        use_jk_keys=True,
        erase_when_done=True,
    )
    control = _control(prompt.application)
    bindings = KeyBindings()

    if helps is not None:

        @bindings.add("t", eager=True)
        def _think(event: KeyPressEvent) -> None:
            event.app.exit(result=(Tick(str(control.get_pointed_at().value), sure=False),))

    found = _run(prompt.application, control, options, bindings, helps, several=False)
    return (Tick(found),) if isinstance(found, str) and not isinstance(found, Wish) else found


def pick_several(
    ask: str,
    options: Sequence[Option],
    plain: bool,
    helps: Helps | None = None,
    ticked: Sequence[Tick] = (),
    least: int = 1,
) -> Answer:
    """Any number of answers: space ticks, t ticks as "I think so", Enter is done."""
    before = {tick.value: tick.sure for tick in ticked}
    alone = {option.value for option in options if option.alone}

    def wrong(values: list[str]) -> str:
        if len(values) < least:
            return "Tick with the space bar what you see, or press x if you can't tell."
        if len(values) > 1 and alone & set(values):
            return "“Found none” cannot stand beside another tick."
        return ""

    prompt = questionary.checkbox(
        ask,
        choices=[
            questionary.Choice(
                option.says + ("" if before.get(option.value, True) else _THINK),
                option.value,
                checked=option.value in before,
            )
            for option in options
        ],
        instruction=" ",
        style=_STYLE,
        qmark=">" if plain else "•",
        pointer=">",
        use_jk_keys=True,
        erase_when_done=True,
    )
    control = _control(prompt.application)
    bindings = KeyBindings()

    @bindings.add("t", eager=True)
    def _think(event: KeyPressEvent) -> None:
        choice = control.get_pointed_at()
        title = str(choice.title)
        if title.endswith(_THINK):
            choice.title = title.removesuffix(_THINK)
            control.selected_options.remove(choice.value)
        else:
            choice.title = title + _THINK
            if choice.value not in control.selected_options:
                control.selected_options.append(choice.value)

    @bindings.add(" ", eager=True)
    def _tick(event: KeyPressEvent) -> None:
        choice = control.get_pointed_at()
        choice.title = str(choice.title).removesuffix(_THINK)
        if choice.value in control.selected_options:
            control.selected_options.remove(choice.value)
        else:
            control.selected_options.append(choice.value)

    @bindings.add("a", eager=True)
    @bindings.add("i", eager=True)
    def _nothing(event: KeyPressEvent) -> None:
        """questionary's "all" and "invert" make no sense for what one sees."""

    told: list[str] = []

    @bindings.add("enter", eager=True)
    def _done(event: KeyPressEvent) -> None:
        values = [str(choice.value) for choice in control.get_selected_values()]
        told[:] = [wrong(values)]
        if not told[0]:
            event.app.exit(result=values)

    found = _run(prompt.application, control, options, bindings, helps, several=True, told=told)
    if isinstance(found, list):
        think = {c.value for c in control.choices if str(c.title).endswith(_THINK)}
        return tuple(Tick(value, value not in think) for value in found)
    return found  # type: ignore[no-any-return]


def type_ahead(ask: str, words: Sequence[str], check: Callable[[str], bool | str], plain: bool) -> str | Wish:
    """A word typed with a list of matches below it."""
    prompt = questionary.autocomplete(
        ask,
        choices=list(words),
        validate=check,
        match_middle=True,
        style=_STYLE,
        qmark=">" if plain else "•",
        erase_when_done=True,
    )
    bindings = KeyBindings()
    for key in ("x", "q"):
        _exit_on(bindings, ("escape", key), KEYS[key])
    app = prompt.application
    app.key_bindings = merge_key_bindings([app.key_bindings, bindings] if app.key_bindings else [bindings])
    print(_TYPED_LINE)
    return app.run()  # type: ignore[no-any-return]


def yes_no(ask: str, plain: bool) -> bool | None:
    """Yes, no, or None for "don't know"."""
    options = [Option("yes", "Yes"), Option("no", "No"), Option("unknown", "I don't know")]
    found = pick_one(ask, options, plain)
    if isinstance(found, Wish):
        return None
    return {"yes": True, "no": False}.get(found[0].value)


def choose(ask: str, options: Sequence[Option], plain: bool) -> str | None:
    """One plain choice, without the interview's keys. None when the person breaks off."""
    found = pick_one(ask, options, plain)
    return None if isinstance(found, Wish) else found[0].value


def number(ask: str, plain: bool) -> int | None:
    """A whole number, or None when left empty."""
    prompt = questionary.text(
        ask,
        validate=lambda text: text.strip() == "" or text.strip().isdigit() or "A whole number, or just Enter.",
        instruction="(a number, or just Enter)",
        style=_STYLE,
        qmark=">" if plain else "•",
        erase_when_done=True,
    )
    text = prompt.unsafe_ask().strip()
    return int(text) if text else None


def _control(app: Application[Any]) -> InquirerControl:
    return next(c for c in app.layout.find_all_controls() if isinstance(c, InquirerControl))


def _exit_on(bindings: KeyBindings, keys: tuple[str, ...], wish: Wish | Help) -> None:
    @bindings.add(*keys, eager=True)
    def _exit(event: KeyPressEvent) -> None:
        event.app.exit(result=wish)


def _run(
    app: Application[Any],
    control: InquirerControl,
    options: Sequence[Option],
    bindings: KeyBindings,
    helps: Helps | None,
    several: bool,
    told: list[str] | None = None,
) -> Any:
    """Run a list prompt with a foot: what the pointed answer looks like, help asked for, the keys.

    Without `helps` it is a plain choice that knows none of the interview's keys.
    """
    looks = {option.value: option.looks for option in options}
    first = _SEVERAL_LINE if several else _ONE_LINE
    bare = "space ticks  Enter done" if several else "arrows move  Enter takes it"
    told = [] if told is None else told  # what the foot says instead: help asked for, or what is wrong
    if helps is not None:
        for key, wish in KEYS.items():
            if isinstance(wish, Wish):
                _exit_on(bindings, (key,), wish)
            else:
                _tell_on(bindings, key, helps.get(wish, ""), told)

    def foot() -> StyleAndTextTuples:
        text = told[0] if told else looks.get(str(control.get_pointed_at().value), "")
        width = max(20, app.output.get_size().columns - 4)
        lines = textwrap.wrap(text, width)[:4] if text else []
        shown = "\n".join(f"   {line}" for line in lines) or " "
        tail = f"\n{first}\n{_KEY_LINE}" if helps is not None else f"\n{bare}"
        return [("class:foot", shown), ("class:keys", tail)]

    focus = app.layout.current_control
    foot_window = Window(FormattedTextControl(foot), dont_extend_height=True, wrap_lines=True)
    app.layout = Layout(HSplit([app.layout.container, foot_window]), focused_element=focus)
    app.key_bindings = merge_key_bindings([app.key_bindings, bindings] if app.key_bindings else [bindings])
    return app.run()


def _tell_on(bindings: KeyBindings, key: str, text: str, told: list[str]) -> None:
    """The key shows the text in the foot, and takes it away again when pressed twice."""

    @bindings.add(key, eager=True)
    def _tell(event: KeyPressEvent) -> None:
        told[:] = [] if told == [text] else [text]
