"""Note + aim -> verdict."""
