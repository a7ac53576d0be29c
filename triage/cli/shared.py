"""What every command needs: where things lie, the reasoning kit, and one way to fail."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import cached_property, wraps
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

import click

from triage.reasoning.yaml_text import BadInput, Problem
from triage.screens.console import Screen, screen

P = ParamSpec("P")
R = TypeVar("R")

APP = "leaf-triage"


@dataclass
class Shop:
    """Paths and tools of one run, made when first needed. Handed down by click as its object."""

    plain: bool
    today: date

    @cached_property
    def screen(self) -> Screen:
        return screen(self.plain)

    @cached_property
    def state_folder(self) -> Path:
        from platformdirs import user_state_path

        return user_state_path(APP)

    @cached_property
    def cache_folder(self) -> Path:
        from platformdirs import user_cache_path

        return user_cache_path(APP)

    @cached_property
    def knowledge(self) -> Any:
        from triage.reasoning.library import knowledge_folder, load

        return load(knowledge_folder(), self.cache_folder)

    @cached_property
    def engine(self) -> Any:
        from triage.reasoning.engine import build

        return build(self.knowledge)


def say(text: str) -> None:
    """A message to the person, on stderr: results alone go to stdout."""
    click.echo(text, err=True)


def mends_input(command: Callable[P, R]) -> Callable[P, R]:
    """Bad input becomes one clear line a problem and exit code 2, never a stack trace."""

    @wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> R:
        try:
            return command(*args, **kwargs)
        except BadInput as error:
            for problem in error.problems:
                say(f"triage: {problem}")
            sys.exit(2)
        except BrokenPipeError:
            # The reader (head, less) went away: not an error of ours.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            sys.exit(0)

    return run


def fail(wrong: str, mend: str = "", field: str = "") -> BadInput:
    """Bad input that came by an argument."""
    return BadInput([Problem(field or "argument", None, "", wrong, mend)])


pass_shop = click.make_pass_decorator(Shop)
