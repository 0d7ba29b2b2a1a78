"""The sound around each verdict, kept in a folder of bounded size: off unless the settings say so."""

from pedal.takes.keeper import TakeKeeper

__all__ = ["TakeKeeper"]
