"""Block -> readings. It hears hertz, not music."""

from pedal.pitch.reading import Reading
from pedal.pitch.tracker import hop_samples, make_tracker

__all__ = ["Reading", "hop_samples", "make_tracker"]
