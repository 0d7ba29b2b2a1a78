"""Block -> readings. It hears hertz, not music."""

from pedal.pitch.reading import Reading
from pedal.pitch.tracker import make_tracker

__all__ = ["Reading", "make_tracker"]
