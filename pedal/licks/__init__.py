"""Verdicts -> which note of a lick each was, what became of it, and where else the lick could sing."""
