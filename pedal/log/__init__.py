"""The log: every judged note, kept in one SQLite file."""

from pedal.log.reader import StoreReader
from pedal.log.writer import open_store
from pedal.settings.log_path import log_path

__all__ = ["StoreReader", "log_path", "open_store"]
