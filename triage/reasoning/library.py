"""Reads knowledge/ from disk: once from YAML, afterwards from a cache keyed by content.

The cache is JSON (never pickle) and only ever a copy: when it is missing, stale or
damaged the YAML is read again.
"""

from __future__ import annotations

import gc
import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from importlib import resources
from pathlib import Path
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, Field, TypeAdapter, ValidationError

from triage import __version__
from triage.reasoning import knowledge as k
from triage.reasoning.files import write_whole
from triage.reasoning.spray_knowledge import SafetyFile, SprayFile
from triage.reasoning.tallies import Tally, add_tallies
from triage.reasoning.yaml_text import BadInput, Problem, parse, problems_of, read_text

#: Where the tallies by groups of crops lie: cause, group, cue.
BY_CROP = "tallies/by_crop/"
M = TypeVar("M", bound=BaseModel)


@dataclass(frozen=True)
class KnowledgeFile:
    """One YAML file below the knowledge folder."""

    name: str  # as a person would say it: "knowledge/causes/viral/x.yaml"
    text: str

    @cached_property
    def data(self) -> Any:
        """Its content, read once; not to be changed. Raises BadInput."""
        return parse(self.text, self.name)


def knowledge_folder() -> Path:
    """Where knowledge/ lies: beside the package in a checkout, inside it when installed."""
    package = Path(str(resources.files("triage")))
    for folder in (package.parent / "knowledge", package / "knowledge"):
        if (folder / "scale.yaml").is_file():
            return folder
    raise BadInput([Problem("knowledge", None, "", "the knowledge folder is missing", "reinstall")])


def read_files(root: Path) -> dict[str, KnowledgeFile]:
    """Every YAML file the program uses, by its path below the root."""
    found = {}
    for path in sorted(_yaml_paths(root)):
        short = path.relative_to(root).as_posix()
        found[short] = KnowledgeFile(f"knowledge/{short}", read_text(path, f"knowledge/{short}"))
    return found


def _yaml_paths(root: Path) -> Iterator[Path]:
    yield from root.glob("*.yaml")
    yield from root.glob("causes/*/*.yaml")
    yield from root.glob("tallies/*/*.yaml")


def fingerprint(files: dict[str, KnowledgeFile]) -> str:
    """Twelve hex digits that change whenever any word of the knowledge does."""
    digest = hashlib.sha256(__version__.encode())
    for short, file in files.items():
        digest.update(f"\0{short}\0{file.text}".encode())
    return digest.hexdigest()[:12]


def load(root: Path, cache: Path | None = None) -> k.Knowledge:
    """The knowledge at `root`. Raises BadInput that names file, line and field.

    `cache` is a folder that may be written to; without it the YAML is always read.
    """
    with staying():
        return _load(root, cache)


@contextmanager
def staying() -> Iterator[None]:
    """What is read inside stays: it is not searched for garbage, neither now nor later.

    Searching took more than half of the time of reading, and half of that of an interview.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
        gc.freeze()
    finally:
        if was_on:
            gc.enable()


def _load(root: Path, cache: Path | None) -> k.Knowledge:
    files = read_files(root)
    version = fingerprint(files)
    kept = cache / f"knowledge-{version}.json" if cache else None
    if kept and kept.is_file():
        try:
            return k.Knowledge.model_validate_json(kept.read_bytes())
        except (OSError, ValidationError):
            pass  # a damaged copy costs nothing: read the YAML again
    knowledge = assemble(files)
    if kept:
        _keep(kept, knowledge.model_dump_json(exclude_defaults=True))
    return knowledge


def _keep(path: Path, text: str) -> None:
    """Write the copy whole or not at all, and drop older copies. Never fails the caller."""
    try:
        write_whole(path, text)
        for old in path.parent.glob("knowledge-*.json"):
            if old != path:
                old.unlink(missing_ok=True)
    except OSError:
        pass  # a read-only home only makes the start slower


def assemble(files: dict[str, KnowledgeFile]) -> k.Knowledge:
    """The knowledge these files hold. Raises BadInput that names file, line and field."""
    problems: list[Problem] = []

    def model(short: str, shape: type[M]) -> M | None:
        file = files.get(short)
        if file is None:
            problems.append(Problem(f"knowledge/{short}", None, "", "there is no such file"))
            return None
        try:
            return shape.model_validate(file.data)
        except ValidationError as error:
            problems.extend(problems_of(error, file.text, file.name))
        except BadInput as error:
            problems.extend(error.problems)
        return None

    sheets: dict[str, k.Sheet] = {}
    for short, file in files.items():
        if not short.startswith("causes/"):
            continue
        _, class_id, name = short.split("/")
        cause = name.removesuffix(".yaml")
        if cause in sheets:
            problems.append(Problem(file.name, None, "", f"there are two sheets named {cause}"))
        sheet = model(short, k.Sheet)
        if sheet:
            sheets[cause] = sheet.model_copy(update={"id": cause, "class_id": class_id})
    for short in files:
        if short.startswith(BY_CROP):
            for cause, by_group in _table(short, _TALLIES_ON, files, problems).items():
                if cause in sheets:
                    sheets[cause] = sheets[cause].model_copy(update={"tally_on": by_group})
        elif short.startswith("tallies/"):
            for cause, tally in _table(short, _TALLIES, files, problems).items():
                if cause in sheets:
                    all_of_it = add_tallies(sheets[cause].tally, tally)
                    sheets[cause] = sheets[cause].model_copy(update={"tally": all_of_it})
    crops = model("crops.yaml", k.CropFile)
    cues = model("cues.yaml", k.CueFile)
    scale = model("scale.yaml", k.Scale)
    patterns = model("patterns.yaml", k.PatternFile)
    decisions = model("decisions.yaml", k.DecisionFile)
    cautions = model("cautions.yaml", _CautionFile)
    sprays = model("sprays.yaml", SprayFile)
    safety = model("safety.yaml", SafetyFile)
    sources = _table("sources.yaml", _SOURCES, files, problems)
    asked = _table("asked_per_thousand.yaml", _ASKED, files, problems)
    kin = _table("kin.yaml", _KIN, files, problems)
    if problems:
        raise BadInput(problems)
    assert crops and cues and scale and patterns and decisions and cautions and sprays and safety
    return k.Knowledge(
        version=fingerprint(files),
        sheets=sheets,
        crops=crops,
        cues=cues.cues,
        aliases=cues.aliases,
        scale=scale,
        patterns=patterns.patterns,
        contradictions=patterns.contradictions,
        situations=decisions.situations,
        decisions=decisions.decisions,
        cautions=cautions.cautions,
        sprays=sprays,
        safety=safety,
        sources=sources,
        asked_per_thousand=asked,
        kin=kin,
    )


class _CautionFile(k.Model):
    cautions: list[k.Caution]


_SOURCES = TypeAdapter(dict[str, k.Source])
_TALLIES = TypeAdapter(dict[str, dict[str, Tally]])
_TALLIES_ON = TypeAdapter(dict[str, dict[str, dict[str, Tally]]])
_ASKED = TypeAdapter(dict[str, dict[str, Annotated[float, Field(gt=0)]]])
_KIN = TypeAdapter(dict[str, dict[str, list[str]]])
T = TypeVar("T")


def _table(
    short: str, shape: TypeAdapter[dict[str, T]], files: dict[str, KnowledgeFile], problems: list[Problem]
) -> dict[str, T]:
    """A file that is one table by id. What is wrong with it is added to `problems`."""
    file = files.get(short)
    if file is None:
        problems.append(Problem(f"knowledge/{short}", None, "", "there is no such file"))
        return {}
    try:
        return shape.validate_python(file.data or {})
    except ValidationError as error:
        problems.extend(problems_of(error, file.text, file.name))
    except BadInput as error:
        problems.extend(error.problems)
    return {}
