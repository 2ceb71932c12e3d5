"""Readings to the state of a tire at a visit, and what its pattern says."""

from tirelife.tread.visits import tire_visits

__all__ = ["tire_visits"]
