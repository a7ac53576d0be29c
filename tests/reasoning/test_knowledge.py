"""Loading: errors with lines, the cache, and the checks, each on a copy broken on purpose."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from triage.reasoning import checks, unknown_ids
from triage.reasoning.inspected import Check, Library
from triage.reasoning.library import assemble, knowledge_folder, load, read_files
from triage.reasoning.yaml_text import BadInput


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    root = tmp_path / "knowledge"
    shutil.copytree(knowledge_folder(), root, ignore=shutil.ignore_patterns("cases"))
    return root


@pytest.fixture
def one_class(tmp_path: Path) -> Path:
    """The knowledge with the sheets of one class: quick to read, and as much a knowledge as the whole."""
    root = tmp_path / "knowledge"
    shutil.copytree(knowledge_folder(), root, ignore=shutil.ignore_patterns("cases"))
    for other in [*root.glob("causes/*"), *root.glob("tallies/*/*")]:
        if other.stem != "soft_bodied":
            shutil.rmtree(other) if other.is_dir() else other.unlink()
    return root


@pytest.fixture(scope="module")
def intact() -> Library:
    files = read_files(knowledge_folder())
    return Library(assemble(files), files)


def reread(root: Path, intact: Library) -> Library:
    """The knowledge of a damaged copy. Files that are as they were are not read from YAML again."""
    before = intact.files
    files = {
        short: before[short] if short in before and before[short].text == file.text else file
        for short, file in read_files(root).items()
    }
    return Library(assemble(files), files)


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text, f"'{old}' is not in {path.name}"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def _append(path: Path, text: str) -> None:
    path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")


MITE = "causes/soft_bodied/two_spotted_spider_mite.yaml"


def test_the_knowledge_is_sound(intact: Library) -> None:
    problems = checks.run(intact)
    assert [str(problem) for problem in problems] == []


def test_it_holds_what_it_must(knowledge) -> None:
    assert len(knowledge.sheets) >= 171
    assert len(knowledge.patterns) >= 40
    assert len(knowledge.crops.crops) >= 41
    for class_id in knowledge.class_ids:
        assert any(sheet.class_id == class_id for sheet in knowledge.sheets.values()), class_id


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("commonness: high", "commonness: huge", "commonness"),
        ("pale_stippling: almost_always", "pale_stippling: alwys", "cues.pattern.pale_stippling"),
        ("threshold:", "treshold:", "treshold: no such field"),
        ("effect: kills_on_contact", "effect: cures", "spray.effect"),
    ],
)
def test_a_broken_sheet_names_file_line_and_field(one_class: Path, old: str, new: str, told: str) -> None:
    edit(one_class / MITE, old, new)
    with pytest.raises(BadInput) as caught:
        load(one_class)
    message = str(caught.value)
    assert f"knowledge/{MITE}, line " in message
    assert told in message


def test_the_cache_gives_the_same_and_follows_every_change(one_class: Path, tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    first = load(one_class, cache)
    kept = list(cache.glob("*.json"))
    assert len(kept) == 1
    assert load(one_class, cache) == first
    edit(one_class / MITE, "name: Two-spotted spider mite", "name: Glasshouse spider mite")
    changed = load(one_class, cache)
    assert changed.sheets["two_spotted_spider_mite"].name == "Glasshouse spider mite"
    assert changed.version != first.version
    assert len(list(cache.glob("*.json"))) == 1, "the old copy is dropped"


def test_a_damaged_cache_costs_nothing(one_class: Path, tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    first = load(one_class, cache)
    [kept] = cache.glob("*.json")
    kept.write_text("{ damaged")
    assert load(one_class, cache) == first


def _drop_tells(root: Path) -> None:
    path = root / MITE
    text = path.read_text(encoding="utf-8")
    start, end = text.index("\ntells:\n"), text.index("\nlooks_like:")
    path.write_text(text[:start] + "\ntells: []" + text[end:], encoding="utf-8")


def _flea_beetle(root: Path) -> Path:
    return root / "causes/chewing_beetle/flea_beetle_crucifer.yaml"


BREAKS: list[tuple[Check, Callable[[Path], None], str]] = [
    (checks.dangling_source, lambda r: edit(r / MITE, "sources: [", "sources: [no_such_source, "), "no_such_source"),
    (
        checks.unused_source,
        lambda r: _append(r / "sources.yaml", "zz_idle: {who: A, title: B, kind: extension}\n"),
        "zz_idle",
    ),
    (checks.claim_without_basis, lambda r: edit(r / MITE, "season: [from_memory]", "season: []"), "rests on nothing"),
    (
        checks.basis_outside_sheet,
        lambda r: edit(r / MITE, "season: [from_memory]", "season: [ucipm_slug]"),
        "not among the sheet's sources",
    ),
    (
        checks.effect_without_evidence,
        lambda r: edit(r / "causes/nutritional/nitrogen_deficiency.yaml", "evidence: from_memory", "evidence: trial"),
        "names no source",
    ),
    (unknown_ids.unknown_answer, lambda r: edit(r / MITE, "pale_stippling:", "pale_speckling:"), "pale_speckling"),
    (
        unknown_ids.unknown_answer,
        lambda r: edit(r / "patterns.yaml", "pattern: [yellow_between_veins]", "pattern: [yellow_vains]"),
        "can never fire",
    ),
    (unknown_ids.unknown_cause, lambda r: edit(r / MITE, "cause: ozone_injury", "cause: ozone"), "no sheet 'ozone'"),
    (unknown_ids.unknown_cause, lambda r: edit(r / MITE, "crops: {bean:", "crops: {beans:"), "no crop 'beans'"),
    (
        unknown_ids.unknown_answer,
        lambda r: edit(r / "tallies/imagined/soft_bodied.yaml", "pale_stippling:", "pale_speckling:"),
        "pale_speckling",
    ),
    (
        unknown_ids.unknown_in_counts,
        lambda r: edit(r / "tallies/imagined/soft_bodied.yaml", "two_spotted_spider_mite:", "three_spotted_mite:"),
        "no sheet 'three_spotted_mite' of class soft_bodied",
    ),
    (
        unknown_ids.unknown_in_counts,
        lambda r: edit(r / "tallies/by_crop/soft_bodied.yaml", "  cucurbit_vegetables:", "  cucurbits:"),
        "no group of crops 'cucurbits'",
    ),
    (
        unknown_ids.unknown_answer,
        lambda r: edit(r / "tallies/by_crop/soft_bodied.yaml", "fine_webbing:", "fine_netting:"),
        "trace has no answer 'fine_netting'",
    ),
    (
        unknown_ids.unknown_cause,
        lambda r: edit(r / "crops.yaml", "group: okra", "group: mallows"),
        "no group 'mallows'",
    ),
    (
        unknown_ids.unknown_in_counts,
        lambda r: edit(r / "asked_per_thousand.yaml", "two_spotted_spider_mite:", "three_spotted_mite:"),
        "no sheet 'three_spotted_mite'",
    ),
    (
        unknown_ids.without_kin,
        lambda r: edit(r / "kin.yaml", "two_spotted_spider_mite", "three_spotted_mite"),
        "no sheet 'three_spotted_mite' of class soft_bodied",
    ),
    (
        unknown_ids.without_kin,
        lambda r: edit(r / "kin.yaml", "[chilli_thrips, ", "[chilli_thrips, melon_aphid, "),
        "more than one",
    ),
    (unknown_ids.without_kin, lambda r: edit(r / "kin.yaml", "black_bean_aphid, ", ""), "stands in no group"),
    (
        unknown_ids.unknown_signal,
        lambda r: edit(r / "decisions.yaml", "when: {test_patch: {is: burnt}}", "when: {patch: {is: burnt}}"),
        "no signal 'patch'",
    ),
    (
        unknown_ids.unknown_in_published_lists,
        lambda r: edit(r / "published_lists.yaml", "two_spotted_spider_mite", "three_spotted_mite"),
        "three_spotted_mite",
    ),
    (checks.sheet_without_tell, _drop_tells, "is empty"),
    (
        checks.crop_without_causes,
        lambda r: edit(
            r / "crops.yaml",
            "\ncrops:\n",
            "\ncrops:\n  skirret:\n    name: Skirret\n    family: carrot_family\n    group: root_vegetables\n",
        ),
        "skirret",
    ),
    (checks.shared_synonym, lambda r: edit(r / "crops.yaml", "synonyms: [", "synonyms: [lettuce, "), "also stands for"),
    (
        checks.one_sided_look_alike,
        lambda r: edit(
            r / MITE, "looks_like:\n", "looks_like:\n- cause: deer\n  tell_apart: Deer leave prints, mites do not.\n"
        ),
        "deer does not look back",
    ),
    (
        checks.answer_never_used,
        lambda r: edit(
            r / "cues.yaml",
            "      pale_stippling:\n",
            "      glitter:\n        says: It glitters\n      pale_stippling:\n",
        ),
        "no sheet speaks of it",
    ),
    (checks.raw_id_in_text, lambda r: edit(r / MITE, "tells:\n- ", "tells:\n- see slow_specks "), "slow_specks"),
]


@pytest.mark.parametrize(("check", "damage", "told"), BREAKS, ids=lambda x: getattr(x, "__name__", None))
def test_each_check_finds_its_fault(
    copy: Path, intact: Library, check: Check, damage: Callable[[Path], None], told: str
) -> None:
    before = len(checks.run(intact, [check]))
    damage(copy)
    found = checks.run(reread(copy, intact), [check])
    assert len(found) > before
    assert any(told in str(problem) for problem in found)
    assert all(problem.line and problem.mend for problem in found)


def test_a_cause_no_case_can_reach_is_found(copy: Path, intact: Library) -> None:
    """A twin of the mite under another name, less common: the mite always wins."""
    twin = copy / "causes/soft_bodied/zz_twin_mite.yaml"
    shutil.copy(copy / MITE, twin)
    edit(twin, "commonness: high", "commonness: low")
    for tallies in copy.glob("tallies/*/soft_bodied.yaml"):
        block = re.search(r"^two_spotted_spider_mite:\n(?:  .*\n)*", tallies.read_text(encoding="utf-8"), re.MULTILINE)
        assert block
        _append(tallies, block[0].replace("two_spotted_spider_mite", "zz_twin_mite"))
    library = reread(copy, intact)
    unreachable = [str(p) for p in checks.unreachable_cause(library)]
    assert any("zz_twin_mite" in text for text in unreachable)
    same = [str(p) for p in checks.same_to_the_eye(library)]
    assert any("zz_twin_mite" in text for text in same)
