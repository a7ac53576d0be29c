"""Leaf triage: from a damaged plant to a verdict and a spray judgement."""

__version__ = "0.1.0"
