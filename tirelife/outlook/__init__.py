"""Remaining distance, dates, what-ifs and back-tests."""
