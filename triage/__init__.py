"""Leaf triage: from a damaged plant to a verdict and a spray judgement."""

import os

__version__ = "0.1.0"

# Before numpy comes in: our arrays are small, and threads of its linear algebra would mostly wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
