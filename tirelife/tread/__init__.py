"""Readings to the state of a tire at a visit, and what its pattern says."""
