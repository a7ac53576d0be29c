"""The interview at a real terminal, with a keyboard."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.screens.terminal import CTRL_C, DOWN, ENTER, ESC, Terminal


@pytest.fixture
def ask(tmp_path: Path):
    opened = []

    def start(*args: str, **more) -> Terminal:
        terminal = Terminal(*args, folder=tmp_path, **more)
        opened.append(terminal)
        return terminal

    yield start
    for terminal in opened:
        terminal._child.close(force=True)


def to_the_damage(terminal: Terminal, crop: str = "bean") -> None:
    terminal.shows("Which plant is it?")
    terminal.type(*crop, ENTER)
    terminal.shows("What does the damage look like?")


def come_to(terminal: Terminal, question: str, before: str = "What has been left behind?") -> None:
    """Answer "can't tell" to the question that may be asked before this one: the order is the program's own."""
    terminal.shows_any(question, before)
    if question not in terminal.display():
        terminal.type("x")
    terminal.shows(question)


def pinpricks_and_creepers(terminal: Terminal) -> None:
    terminal.pick("Dots and specks")
    terminal.type(ENTER)
    terminal.pick("Many pale pinprick dots")
    terminal.type(ENTER)
    come_to(terminal, "Which creature")
    terminal.pick("Tiny specks and fliers")
    terminal.type(ENTER)
    terminal.pick("creep slowly")
    terminal.type(ENTER)


def finish(terminal: Terminal) -> None:
    """Answer "can't tell" to what is still asked, then the questions about the day."""
    ends = ("How bad is it?", "What next?")
    while not any(words in terminal.shows_any("x can't tell", *ends) for words in ends):
        # The hint may still stand from the page before when the last answer ended the questions.
        terminal.type_and_wait("x", "can’t tell", *ends)
    if "How bad is it?" in terminal.display():
        terminal.type(DOWN, ENTER)
        terminal.shows("Has this mix been tried")
        terminal.type(DOWN, DOWN, ENTER)
        terminal.shows("Which of these is so today?")
        terminal.type(ENTER)
        terminal.shows("In how many days")
        terminal.type("9", ENTER)
    terminal.shows("What next?")


def test_a_bean_with_pinpricks_and_creepers(ask) -> None:
    """The main job, from the first key to the verdict, on 80 by 24."""
    terminal = ask("ask", "--month", "8")
    to_the_damage(terminal)
    pinpricks_and_creepers(terminal)
    finish(terminal)
    screen = terminal.shows("Two-spotted spider mite")
    assert "Likely" in screen
    assert "Spray?" in screen
    assert "one plant" in screen
    terminal.pick("Done", ENTER)
    terminal.shows("Keep this visit?")
    terminal.pick("No", ENTER)
    terminal.shows("Not kept.")
    assert terminal.ends() == 0
    asked = terminal.text.count("x can't tell")
    assert asked >= 2
    assert "Traceback" not in terminal.text


def test_help_keys_keep_the_ticks(ask) -> None:
    terminal = ask("ask", "--crop", "bean")
    terminal.pick("Dots and specks")
    terminal.type("w")
    terminal.shows("The kind of damage tells most")
    terminal.type("h")
    terminal.shows("Pick the five worst leaves")
    terminal.type("s")
    terminal.shows("So far:")
    terminal.type("s")
    assert "● Dots and specks" in terminal.display()


def test_think_so_back_and_standing(ask) -> None:
    terminal = ask("ask", "--crop", "bean", "--month", "8")
    terminal.pick("Dots and specks")
    terminal.type(ENTER)
    terminal.pick("Many pale pinprick dots", "t")
    terminal.shows("Many pale pinprick dots  (I think so)")
    terminal.type(ENTER)
    terminal.shows("So far:")
    terminal.shows("Many pale pinprick dots (I think so)")
    terminal.type("b")
    terminal.shows("Back to: What does the damage look like?")


def test_nothing_ticked_is_told_how(ask) -> None:
    terminal = ask("ask", "--crop", "bean")
    terminal.shows("What does the damage look like?")
    terminal.type(ENTER)
    terminal.shows("press x if you can't tell")
    terminal.type("z", "a", "i")  # keys that mean nothing here
    assert "●" not in terminal.display()


def test_found_none_stands_alone(ask) -> None:
    terminal = ask("ask", "--crop", "bean", "--month", "8")
    terminal.pick("Dots and specks")
    terminal.type(ENTER)
    terminal.pick("Many pale pinprick dots")
    terminal.type(ENTER)
    come_to(terminal, "Which creature")
    terminal.pick("Nothing found")
    terminal.pick("Tiny specks and fliers")
    terminal.type(ENTER)
    terminal.pick("Looked on both sides, found none")
    terminal.pick("creep slowly")
    terminal.type(ENTER)
    terminal.shows("cannot stand beside another tick")


def test_ctrl_c_saves_and_resume_goes_on(ask) -> None:
    terminal = ask("ask", "--month", "8")
    to_the_damage(terminal)
    terminal.pick("Dots and specks")
    terminal.type(ENTER)
    terminal.pick("Many pale pinprick dots")
    terminal.type(ENTER)
    come_to(terminal, "Which creature")
    terminal.type(CTRL_C)
    terminal.shows("triage ask --resume")
    assert terminal.ends() == 0
    again = ask("ask", "--resume")
    again.shows("Which creature")
    assert "Which plant" not in again.text


def test_save_and_leave_with_one_key(ask) -> None:
    terminal = ask("ask", "--crop", "tomato")
    terminal.shows("What does the damage look like?")
    terminal.type("q")
    terminal.shows("triage ask --resume")
    assert terminal.ends() == 0


def test_finish_now_gives_a_verdict(ask) -> None:
    terminal = ask("ask", "--crop", "tomato")
    terminal.shows("What does the damage look like?")
    terminal.type("f")
    terminal.shows("Unclear")
    terminal.shows("plant clinic")


def test_resume_without_a_draft_is_one_clear_line(ask) -> None:
    terminal = ask("ask", "--resume")
    assert terminal.ends() == 2
    assert "no interview was left" in terminal.text


def test_a_wrong_crop_gets_a_hint_and_synonyms_work(ask) -> None:
    terminal = ask("ask")
    terminal.shows("Which plant is it?")
    terminal.type(*"tomatoe", ENTER)
    terminal.shows("did you mean")
    terminal.type(*(["\x7f"] * 7), *"courgette", ENTER)
    terminal.shows("Which plant is it? Summer squash")


def test_esc_x_is_a_plant_not_in_the_list(ask) -> None:
    terminal = ask("ask")
    terminal.shows("Which plant is it?")
    terminal.type(ESC + "x")
    terminal.shows("Which plant is it? Some other crop")


def test_two_problems_on_one_plant_give_one_plan(ask) -> None:
    terminal = ask("ask", "--month", "8", size=(120, 40))
    to_the_damage(terminal)
    pinpricks_and_creepers(terminal)
    finish(terminal)
    terminal.pick("another kind of damage", ENTER)
    terminal.shows("What does the damage look like?")
    terminal.pick("Holes and bites")
    terminal.type(ENTER)
    terminal.pick("Larger uneven holes")
    terminal.type(ENTER)
    finish(terminal)
    terminal.pick("Done", ENTER)
    terminal.shows("Keep this visit?")
    assert "Two-spotted spider mite" in terminal.text.rpartition("One plan for this plant")[2]
    terminal.type(CTRL_C)
    assert terminal.ends() == 0
    again = ask("ask", "--resume", size=(120, 40))
    again.shows("What next?")
    again.pick("Done", ENTER)
    again.shows("One plan for this plant")


def test_no_color_and_plain(ask) -> None:
    terminal = ask("--plain", "ask", "--crop", "tomato")
    terminal.shows("What does the damage look like?")
    terminal.type("f")
    screen = terminal.shows("Unclear")
    assert not set("─█░│") & set(screen)
