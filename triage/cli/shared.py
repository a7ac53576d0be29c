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
    journal_address: str | None = None  # --journal; else the environment or the profile decides

    @cached_property
    def screen(self) -> Screen:
        return screen(self.plain)

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

    @cached_property
    def data_folder(self) -> Path:
        from platformdirs import user_data_path

        return user_data_path(APP)

    @cached_property
    def profile_path(self) -> Path:
        from platformdirs import user_config_path

        return user_config_path(APP) / "garden.toml"

    @cached_property
    def profile(self) -> Any:
        """The garden's settings in force: triage.records.profile.Profile."""
        from triage.records.profile import load_profile

        return load_profile(self.profile_path, os.environ, {"journal": self.journal_address})

    @cached_property
    def journal(self) -> Any:
        """The open journal (triage.records.store.Journal), closed when the command ends."""
        from triage.records.store import open_journal

        where = self.profile.settings.journal or self.data_folder / "journal.db"
        journal = open_journal(where, self.data_folder / "backups")
        context = click.get_current_context(silent=True)
        if context is not None:
            context.find_root().call_on_close(journal.close)
        return journal

    @cached_property
    def crop_words(self) -> dict[str, list[str]]:
        """Every crop with all words for it, its name first."""
        return {key: [crop.name, *crop.synonyms] for key, crop in self.knowledge.crops.crops.items()}

    @cached_property
    def waits(self) -> Any:
        from triage.reasoning.library import knowledge_folder
        from triage.records.waits import load_waits

        return load_waits(knowledge_folder())


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
