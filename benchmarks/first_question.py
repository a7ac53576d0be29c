"""How long until the first question stands, and how long from an answer to the next question.

    python benchmarks/first_question.py

Wall-clock times of one machine mean little elsewhere, so each is also told as a multiple of the
time Python takes to start and import nothing, measured in the same run.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pexpect

RUNS = 7


def bare_start() -> float:
    begin = time.perf_counter()
    subprocess.run([sys.executable, "-c", "pass"], check=True)
    return time.perf_counter() - begin


def to_first_question(env: dict[str, str]) -> float:
    begin = time.perf_counter()
    child = pexpect.spawn(sys.executable, ["-m", "triage", "ask"], env=env, dimensions=(24, 80), timeout=30)
    child.expect("Which plant is it")
    taken = time.perf_counter() - begin
    child.close(force=True)
    return taken


def to_next_question() -> float:
    from triage.reasoning.case import Case, Tick
    from triage.reasoning.engine import build
    from triage.reasoning.interview import Interview, step
    from triage.reasoning.library import knowledge_folder, load

    engine = build(load(knowledge_folder()))
    interview = Interview(Case(crop="bean", months=(8,))).answered("pattern", (Tick("pale_stippling"),))
    step(interview, engine)
    begin = time.perf_counter()
    step(interview.answered("position", (Tick("oldest_lowest"),)), engine)
    return time.perf_counter() - begin


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        env = {**os.environ, "TERM": "xterm-256color", "PROMPT_TOOLKIT_NO_CPR": "1"}
        env |= {f"XDG_{name}_HOME": str(Path(folder) / name) for name in ("CACHE", "STATE", "DATA", "CONFIG")}
        bare = statistics.median(bare_start() for _ in range(RUNS))
        cold = to_first_question(env)  # reads the YAML and fills the cache
        warm = statistics.median(to_first_question(env) for _ in range(RUNS))
        following = statistics.median(to_next_question() for _ in range(RUNS))
    for name, seconds in (
        ("bare Python", bare),
        ("first question, cold", cold),
        ("first question", warm),
        ("next question", following),
    ):
        print(f"{name:<22} {seconds * 1000:7.0f} ms   {seconds / bare:5.1f} x bare Python")


if __name__ == "__main__":
    main()
