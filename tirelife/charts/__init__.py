"""Frames in, Altair charts out."""
