"""Trips or plain answers to a driving profile."""
