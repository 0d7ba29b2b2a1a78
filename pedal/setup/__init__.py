"""Presses, pins and sounds -> a pedal that knows its panel, switches, input and output, one step after another.

Pure: it says what it wishes to hear or to play (`wish.py`), is told what came (`event.py`), and draws nothing.
"""
