"""Runs a command of the journal as a person would, on a day of our choice."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date
from typing import Any

import click
from click.testing import CliRunner, Result

from tests.conftest import real_knowledge
from triage.cli.shared import Shop

TODAY = date(2026, 8, 5)  # a Wednesday


@dataclass(frozen=True)
class Ran:
    """What a command said: its code, its results and its messages."""

    code: int
    out: str
    err: str

    def json(self) -> Any:
        return json.loads(self.out)

    def lines(self) -> list[Any]:
        return [json.loads(line) for line in self.out.splitlines()]


def run(command: click.Command, *arguments: str, code: int = 0, plain: bool = True, today: date = TODAY) -> Ran:
    """Run the command with these arguments. It must end with `code`, and never with a stack trace."""
    shop = Shop(plain=plain, today=today)
    shop.__dict__["knowledge"] = real_knowledge()
    result: Result = CliRunner().invoke(command, list(arguments), obj=shop)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code == code, (result.exit_code, result.output)
    return Ran(result.exit_code, result.stdout, result.stderr)
