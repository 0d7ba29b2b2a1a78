"""Standard error is mute while PortAudio chatters, and speaks again afterwards, whoever else was quiet meanwhile."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from hw.portaudio_stream import quiet


@contextmanager
def heard_in(path: Path) -> Iterator[None]:
    """File descriptor 2 leads into this file."""
    kept = os.dup(2)
    file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    os.dup2(file, 2)
    os.close(file)
    try:
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)


@pytest.mark.parametrize("first_out", [0, 1])
def test_two_that_overlap_leave_it_speaking(tmp_path: Path, first_out: int) -> None:
    """Input and output open in two threads: whoever came second kept the mute one, and put it back for good."""
    both = [quiet(), quiet()]
    with heard_in(tmp_path / "words"):
        for one in both:
            one.__enter__()
        os.write(2, b"chatter ")
        both[first_out].__exit__(None, None, None)
        os.write(2, b"chatter ")
        both[1 - first_out].__exit__(None, None, None)
        os.write(2, b"heard")
    assert (tmp_path / "words").read_bytes() == b"heard"


def test_many_threads_leave_it_speaking_and_no_descriptor_open(tmp_path: Path) -> None:
    def chatter() -> None:
        for _ in range(200):
            with quiet():
                os.write(2, b"chatter")

    with heard_in(tmp_path / "words"):
        before = descriptors()
        threads = [threading.Thread(target=chatter) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        os.write(2, b"heard")
        assert descriptors() == before
    assert (tmp_path / "words").read_bytes() == b"heard"


def descriptors() -> int:
    return sum(1 for _ in Path("/proc/self/fd").iterdir())
