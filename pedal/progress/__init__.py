"""Logged verdicts -> bias, spread, advice: numbers only."""
