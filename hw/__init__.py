"""Adapters: one device library each, behind the ports of pedal.ports."""
