from __future__ import annotations

from pathlib import Path

import pytest

from triage.reasoning.files import write_whole
from triage.reasoning.yaml_text import BadInput, line_of, parse, parse_json_lines, read_text


def test_a_key_that_stands_twice_is_refused_with_its_line() -> None:
    with pytest.raises(BadInput) as caught:
        parse("crop: bean\nmonth: 8\ncrop: pea\n", "a.yaml")
    assert "a.yaml, line 3" in str(caught.value)
    assert "'crop' stands twice" in str(caught.value)


@pytest.mark.parametrize("text", ["a: [1, 2", "a: {b", "\tx: 1", "a: 'open"])
def test_broken_yaml_names_the_file(text: str) -> None:
    with pytest.raises(BadInput) as caught:
        parse(text, "b.yaml")
    assert str(caught.value).startswith("b.yaml")


def test_the_line_of_a_nested_value() -> None:
    text = "crop: bean\nanswers:\n  pattern:\n  - pale_stippling\n  - nonsense\n"
    assert line_of(text, ["crop"]) == 1
    assert line_of(text, ["answers", "pattern", 1]) == 5
    assert line_of(text, ["answers", "nowhere", 3]) == 2  # its nearest parent
    assert line_of("", ["crop"]) is None


def test_json_lines_name_the_bad_one() -> None:
    assert parse_json_lines('{"a": 1}\n\n{"a": 2}\n', "c") == [{"a": 1}, {"a": 2}]
    with pytest.raises(BadInput, match="line 2"):
        parse_json_lines('{"a": 1}\n{"a": \n', "c")


def test_unreadable_files_get_one_clear_line(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="there is no such file"):
        read_text(tmp_path / "none.yaml")
    with pytest.raises(BadInput, match="folder"):
        read_text(tmp_path)
    (tmp_path / "x").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(BadInput, match="not a text file"):
        read_text(tmp_path / "x")


def test_a_file_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    target = tmp_path / "deep" / "file.json"
    write_whole(target, "one")
    assert target.read_text() == "one"
    with pytest.raises(UnicodeEncodeError):
        write_whole(target, "half\ud800")
    assert target.read_text() == "one"
    assert [path.name for path in target.parent.iterdir()] == ["file.json"]
