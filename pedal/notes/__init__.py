"""Readings -> notes: what was played, never what was wanted."""
