"""`triage knowledge simulate`: how good could the knowledge be, and what does it mix up?"""

from __future__ import annotations

import json
import os
from pathlib import Path

import click

from triage.cli.shared import Shop, fail, mends_input, pass_shop


@click.command(name="simulate", short_help="Draw cases from the sheets and see how the interview fares.")
@click.option("--cases", default=2000, show_default=True, type=click.IntRange(1, 1_000_000), help="How many to draw.")
@click.option("--seed", default=1, show_default=True, type=click.IntRange(0), help="Same seed, same cases.")
@click.option("--workers", type=click.IntRange(1, 256), help="Processes to use; as a rule one a core.")
@click.option("--class", "class_id", metavar="CLASS", help="Causes of this class only, e.g. caterpillar.")
@click.option("--leave-out", is_flag=True, help="Also judge each worked case without the sheet of its cause.")
@click.option("--figure", type=click.Path(path_type=Path, dir_okay=False), help="Draw said against true: .png or .svg.")
@click.option("--json", "as_json", is_flag=True, help="All figures as one JSON object.")
@pass_shop
@mends_input
def command(
    shop: Shop,
    cases: int,
    seed: int,
    workers: int | None,
    class_id: str | None,
    leave_out: bool,
    figure: Path | None,
    as_json: bool,
) -> None:
    """Draws cases from the sheets, has a fallible grower answer, and counts how the interview does.

    \b
    Example:
      triage knowledge simulate
      triage knowledge simulate --cases 500 --class mollusc
      triage knowledge simulate --leave-out --figure said_and_true.svg

    The cases come from the same sheets that judge them, so this shows what the knowledge cannot tell
    apart and whether it means what it says, not whether the sheets are true. Worked cases show that.
    """
    import numpy as np

    from triage.reasoning.library import knowledge_folder
    from triage.reasoning.separation import inseparable_pairs
    from triage.reasoning.simulation import simulate, usual_observer
    from triage.reasoning.simulation_report import report
    from triage.reasoning.weights import compile_weights
    from triage.reasoning.worked_cases import load_cases
    from triage.screens import simulation_page as page

    page.check_figure(figure)
    knowledge = shop.knowledge
    if class_id is not None and class_id not in knowledge.class_ids:
        raise fail(f"there is no class '{class_id}'", "one of: " + ", ".join(knowledge.class_ids), "--class")
    observer = usual_observer(knowledge)
    with page.progress_on_stderr(cases, "Interviews", shop.plain) as progress:
        rng = np.random.default_rng(seed)
        outcomes = simulate(knowledge, cases, rng, class_id, observer, workers or os.cpu_count() or 1, progress)
    figures = report(outcomes)
    pairs = inseparable_pairs(knowledge, compile_weights(knowledge), class_id=class_id)
    left = page.run_left_out(knowledge, load_cases(knowledge_folder(), knowledge), shop.plain) if leave_out else []
    if as_json:
        print(json.dumps(page.as_data(figures, pairs, observer, seed, left)))
    else:
        page.show_report(figures, pairs, observer, seed, knowledge, shop.screen)
        if left:
            page.show_left_out(left, knowledge, shop.screen)
    if figure:
        page.draw_reliability(figures, figure)
