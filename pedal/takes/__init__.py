"""The sound around each verdict, kept in a folder of bounded size: off unless the settings say so."""

from pedal.takes.keeper import TakeKeeper
from pedal.takes.writing import TakeWriting

__all__ = ["TakeKeeper", "TakeWriting"]
