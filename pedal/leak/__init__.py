"""Samples with the pedal's own drone, chords and clicks in them -> the same without them."""
