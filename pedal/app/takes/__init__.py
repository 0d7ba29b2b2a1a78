"""The sound around each verdict, kept in a folder of bounded size: off unless the settings say so."""

from pedal.app.takes.keeper import TakeKeeper
from pedal.app.takes.writing import TakeWriting

__all__ = ["TakeKeeper", "TakeWriting"]
