"""The log: every judged note, kept in one SQLite file."""

from pedal.log.reader import StoreReader
from pedal.log.writer import open_store

__all__ = ["StoreReader", "open_store"]
