"""How published problem lists are held against the sheets: counting, grouping, unknown ids, bad files."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.reasoning.coverage import (
    FILE,
    PublishedList,
    PublishedLists,
    covered,
    elsewhere,
    load_lists,
    measure,
    missing,
    missing_of,
    most_wanted,
    once,
    thin,
    unknown_ids,
)
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.library import knowledge_folder
from triage.reasoning.yaml_text import BadInput

TEXT = """\
lists:
- crop: bean
  source: &book {who: A society, title: A book, kind: handbook}
  entries: {mites: two_spotted_spider_mite, rust: null, root-lesion nematode: null}
- crop: pea
  source: *book
  entries: {root-lesion nematodes: null, rust: null}
- crop: lettuce
  source: {who: An office, title: A page, kind: extension}
  entries: {rust: null, root-lesion nematode: null, slugs: slug}
one_thing:
- name: root-lesion nematode
  names: [root-lesion nematode, root-lesion nematodes]
"""
FAMILIES = {"bean": "legume", "pea": "legume", "lettuce": "daisy_family"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / FILE).write_text(TEXT, encoding="utf-8")
    return tmp_path


def listed(entries: dict[str, str | None], crop: str = "bean", title: str = "A page") -> PublishedList:
    source = {"who": "An office", "title": title, "kind": "extension"}
    return PublishedList.model_validate({"crop": crop, "source": source, "entries": entries})


@given(st.dictionaries(st.text(min_size=1), st.none() | st.text(min_size=1), min_size=1))
def test_every_entry_is_covered_or_missing_and_never_both(entries: dict[str, str | None]) -> None:
    one = listed(entries)
    assert set(covered(one)) | set(missing(one)) == set(entries)
    assert len(covered(one)) + len(missing(one)) == len(entries)


def test_figures_of_a_list(folder: Path, knowledge: Knowledge) -> None:
    by_crop = measure(load_lists(folder), knowledge.sheets, ["lettuce", "bean", "tomato", "other"])
    assert list(by_crop) == ["lettuce", "bean", "tomato"]
    [bean] = by_crop["bean"]
    assert (bean.covered, bean.missing) == (("mites",), ("rust", "root-lesion nematode"))
    assert bean.entries == 3
    assert bean.share == pytest.approx(1 / 3)
    assert by_crop["tomato"] == []
    assert thin(by_crop) == {"lettuce": 1, "bean": 1, "tomato": 0}


def test_missing_of_a_crop_tells_each_name_once(knowledge: Knowledge) -> None:
    lists = [listed({"b": None, "a": None}), listed({"a": None, "c": None, "d": "slug"})]
    [covers] = measure(PublishedLists(lists=lists), knowledge.sheets, ["bean"]).values()
    assert missing_of(covers) == ("b", "a", "c")


def test_a_sheet_that_does_not_name_the_crop_is_told_apart(knowledge: Knowledge) -> None:
    entries: dict[str, str | None] = {"mites": "two_spotted_spider_mite", "scab": "common_scab_potato", "?": None}
    one = listed({**entries, "cutworms": "cutworm"})
    assert "bean" in knowledge.sheets["two_spotted_spider_mite"].crops
    assert "any" in knowledge.sheets["cutworm"].crops
    assert elsewhere(one, knowledge.sheets) == ("scab",)


def test_a_list_for_several_crops_counts_once(knowledge: Knowledge) -> None:
    lists = [
        listed({"slugs": "slug", "downy mildew": None}, "bean"),
        listed({"slugs": "slug", "downy mildew": "downy_mildew_pea"}, "pea"),
        listed({"slugs": "slug"}, "pea", "Another page"),
    ]
    by_crop = measure(PublishedLists(lists=lists), knowledge.sheets, ["bean", "pea"])
    assert once(by_crop) == (2, 3)


def test_wanted_counts_a_list_once_and_keeps_families_apart(folder: Path) -> None:
    wanted = most_wanted(load_lists(folder), FAMILIES)
    assert [(w.name, w.lists, w.crops) for w in wanted] == [
        ("root-lesion nematode", 2, ("bean", "pea", "lettuce")),
        ("rust", 1, ("bean", "pea")),
        ("rust", 1, ("lettuce",)),
    ]


def test_one_thing_may_hold_on_some_crops_only() -> None:
    lists = [listed({"rust": None}, "bean", "One"), listed({"leaf rust": None}, "pea", "Two")]
    both = {"name": "rust of legumes", "names": ["rust", "leaf rust"]}
    wide = PublishedLists.model_validate({"lists": lists, "one_thing": [both]})
    narrow = PublishedLists.model_validate({"lists": lists, "one_thing": [{**both, "crops": ["bean"]}]})
    assert [(w.name, w.lists) for w in most_wanted(wide, FAMILIES)] == [("rust of legumes", 2)]
    assert [w.name for w in most_wanted(narrow, FAMILIES)] == ["leaf rust", "rust of legumes"]


def test_unknown_ids_are_named_with_their_line(folder: Path) -> None:
    text = TEXT.replace("crop: lettuce", "crop: letuce").replace("slugs: slug", "slugs: slugg")
    text += "  crops: [bean, peas]\n"
    (folder / FILE).write_text(text, encoding="utf-8")
    problems = list(unknown_ids(load_lists(folder), FAMILIES, {"slug", "two_spotted_spider_mite"}, text))
    assert [str(problem) for problem in problems] == [
        f"knowledge/{FILE}, line 8, lists.2.crop: no crop is called 'letuce' (use an id of crops.yaml)",
        f"knowledge/{FILE}, line 10, lists.2.entries.slugs: no sheet is called 'slugg' "
        "(use the file name of a sheet, or null)",
        f"knowledge/{FILE}, line 14, one_thing.0.crops.1: no crop is called 'peas' (use an id of crops.yaml)",
    ]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("title: A page, ", "", "line 9, lists.2.source.title: is missing"),
        ("entries: {root-lesion nematodes: null, rust: null}", "entries: {}", "line 7, lists.1.entries"),
        ("rust: null, root-lesion nematode: null, slugs", "slugs: null, slugs", "'slugs' stands twice"),
    ],
)
def test_a_broken_file_is_one_clear_line(folder: Path, old: str, new: str, told: str) -> None:
    assert old in TEXT
    (folder / FILE).write_text(TEXT.replace(old, new), encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        load_lists(folder)
    assert told in str(caught.value)


def test_a_missing_file_says_so(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="there is no such file"):
        load_lists(tmp_path)


def test_the_real_lists_are_sound(knowledge: Knowledge) -> None:
    published = load_lists(knowledge_folder())
    assert list(unknown_ids(published, knowledge.crops.crops, knowledge.sheets)) == []
    seen = [(one.crop, one.source.who, one.source.title) for one in published.lists]
    assert len(seen) == len(set(seen)), "a list stands twice"
    by_crop = measure(published, knowledge.sheets, list(knowledge.crops.crops))
    assert set(thin(by_crop)) <= {"tomatillo", "ground_cherry", "nasturtium"}


def test_every_name_of_one_thing_stands_in_a_list_without_a_sheet() -> None:
    published = load_lists(knowledge_folder())
    without = {(name, one.crop) for one in published.lists for name in missing(one)}
    for thing in published.one_thing:
        for name in thing.names:
            assert any(name == n and (not thing.crops or crop in thing.crops) for n, crop in without), name
