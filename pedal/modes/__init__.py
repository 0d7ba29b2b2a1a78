"""Verdict or gesture -> next aim, screen model, log entry. One file a mode."""
