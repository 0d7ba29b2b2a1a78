"""The log: every judged note, kept in one SQLite file."""

from pedal.app.store.place import log_path
from pedal.app.store.reader import StoreReader
from pedal.app.store.writer import open_store

__all__ = ["StoreReader", "log_path", "open_store"]
