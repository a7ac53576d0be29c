"""Reads a case file named on the command line; `-` is standard input."""

from __future__ import annotations

import sys
from pathlib import Path

from triage.reasoning.case import Case, read_visit
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.yaml_text import parse, read_text


def read_case_file(path: Path, knowledge: Knowledge) -> list[Case]:
    """The cases in a file. Raises BadInput that names file, line and field."""
    name = str(path)
    text = sys.stdin.read() if name == "-" else read_text(path)
    return read_visit(parse(text, name), knowledge, name, text)
