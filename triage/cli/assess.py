"""`triage assess`: verdicts on cases written down."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from triage.cli.shared import Shop, mends_input, pass_shop, say
from triage.reasoning.yaml_text import BadInput, Problem


@click.command(name="assess", short_help="Verdicts on case files.")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line, a case each.")
@click.option("--why", is_flag=True, help="All the reasons below each verdict.")
@pass_shop
@mends_input
def command(shop: Shop, files: tuple[Path, ...], as_json: bool, why: bool) -> None:
    """Tells what most likely did the damage in each case FILE (YAML or JSON; - is stdin).

    \b
    Example:
      triage assess bean.yaml
      triage assess --json examples/*.yaml

    What a case file holds: triage schema case. A file with several cases is a visit: each gets its
    verdict, and the plan at the end merges them.
    """
    from triage.reasoning.verdict import judge
    from triage.reasoning.visit import merge
    from triage.screens.case_files import read_case_file
    from triage.screens.verdict_page import show_plan

    problems: list[Problem] = []
    for path in files:
        try:
            cases = read_case_file(path, shop.knowledge)
        except BadInput as error:
            problems += error.problems
            continue
        verdicts = [judge(case, shop.engine) for case in cases]
        for verdict in verdicts:
            if as_json:
                print(json.dumps(record(str(path), verdict)))
            else:
                show_record(shop, str(path), verdict, why)
        if len(verdicts) > 1 and not as_json:
            show_plan(merge(verdicts, shop.knowledge), shop.knowledge, shop.screen)
    if problems:
        for problem in problems:
            say(f"triage: {problem}")
        raise SystemExit(2)


def record(file: str, verdict: Any) -> dict[str, Any]:
    """The machine contract of design: the verdict with the file it is about."""
    return {"file": file, **verdict.model_dump(mode="json", by_alias=True)}


def show_record(shop: Shop, file: str, verdict: Any, why: bool) -> None:
    from triage.screens.verdict_page import show, show_why

    crop = shop.knowledge.crops.crops[verdict.crop].name if verdict.crop else "Plant"
    show(verdict, shop.knowledge, shop.screen, f"{file}: {crop}")
    if why:
        show_why(verdict, shop.knowledge, shop.screen)
    shop.screen.print("")
