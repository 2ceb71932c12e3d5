"""Measurements, side by side with what one would use instead; see ``python -m tests.benchmarks --help``."""
