"""Readings to cold pressure, its history, and its cost."""
