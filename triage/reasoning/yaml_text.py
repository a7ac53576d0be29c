"""YAML and JSON text to plain data, with errors that name file, line and field.

Every file a person writes (knowledge or case) comes in here, so that a slip gets
one clear line instead of a stack trace.
"""

from __future__ import annotations

import json
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml
from pydantic import ValidationError

Step = str | int


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong in a file, and how to mend it."""

    file: str
    line: int | None
    field: str
    wrong: str
    mend: str = ""

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}, line {self.line}"
        field = f", {self.field}" if self.field else ""
        mend = f" ({self.mend})" if self.mend else ""
        return f"{place}{field}: {self.wrong}{mend}"


class BadInput(Exception):
    """Input that cannot be used. Carries one Problem or more."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = tuple(problems)


class _Loader(yaml.CSafeLoader):
    """The C loader, made to refuse a key that stands twice in one mapping."""


def _mapping(loader: _Loader, node: yaml.MappingNode) -> dict[Hashable, Any]:
    seen: set[Hashable] = set()
    for key_node, _ in node.value:
        key = loader.construct_object(key_node)
        if key in seen:
            raise yaml.MarkedYAMLError(problem=f"'{key}' stands twice", problem_mark=key_node.start_mark)
        seen.add(key)
    return yaml.SafeLoader.construct_mapping(loader, node, deep=True)


_Loader.add_constructor(yaml.resolver.BaseResolver.DEFAULT_MAPPING_TAG, _mapping)


def read_text(path: Path, name: str | None = None) -> str:
    """The text of a file. Raises BadInput when it is missing or not UTF-8."""
    shown = name or str(path)
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise BadInput([Problem(shown, None, "", "there is no such file")]) from None
    except IsADirectoryError:
        raise BadInput([Problem(shown, None, "", "this is a folder", "name a file")]) from None
    except PermissionError:
        raise BadInput([Problem(shown, None, "", "may not be read")]) from None
    except UnicodeDecodeError:
        raise BadInput([Problem(shown, None, "", "is not a text file", "save it as UTF-8")]) from None


def parse(text: str, file: str) -> Any:
    """YAML (or JSON, which is YAML) to plain data. Raises BadInput with the line."""
    try:
        return yaml.load(text, Loader=_Loader)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark
        line = mark.line + 1 if mark else None
        raise BadInput([Problem(file, line, "", str(error.problem), "mend the YAML")]) from None
    except (yaml.YAMLError, ValueError) as error:
        first = str(error).splitlines()[0]
        raise BadInput([Problem(file, None, "", f"is not YAML: {first}")]) from None


def parse_json_lines(text: str, file: str) -> list[Any]:
    """JSON, one value a line. Raises BadInput with the line."""
    found = []
    for number, line in enumerate(text.splitlines(), 1):
        if line.strip():
            try:
                found.append(json.loads(line))
            except ValueError as error:
                raise BadInput([Problem(file, number, "", f"is not JSON: {error}")]) from None
    return found


def line_of(text: str, path: Iterable[Step]) -> int | None:
    """The line (from 1) on which the value at this path begins, or of its nearest parent."""
    node = _composed(text)
    if node is None:
        return None
    line = node.start_mark.line
    for step in path:
        child = None
        if isinstance(node, yaml.MappingNode):
            for key, value in node.value:
                if key.value == str(step):
                    child, line = value, key.start_mark.line
        elif isinstance(node, yaml.SequenceNode) and isinstance(step, int) and step < len(node.value):
            child = node.value[step]
            line = child.start_mark.line
        if child is None:
            break
        node = child
    return line + 1


@lru_cache(maxsize=4)
def _composed(text: str) -> yaml.Node | None:
    """The nodes of a text with their marks; kept for a moment, as one file often has many faults."""
    return yaml.compose(text, Loader=yaml.CSafeLoader)


def problems_of(error: ValidationError, text: str, file: str) -> list[Problem]:
    """A pydantic error told as Problems with lines."""
    found = []
    for item in error.errors(include_url=False):
        path: list[Step] = list(item["loc"])
        message = item["msg"].removeprefix("Value error, ")
        field = ".".join(str(step) for step in path)
        mend = ""
        if item["type"] == "extra_forbidden":
            message, mend = "no such field", "check the spelling or take it out"
        elif item["type"] == "missing":
            message, mend = "is missing", "add it"
        found.append(Problem(file, line_of(text, path), field, message[:1].lower() + message[1:], mend))
    return found
