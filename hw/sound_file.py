"""A recorded take as an audio source: WAV of plain numbers, and FLAC, block by block.

What a file is is told by its first bytes, here, before libsndfile sees it: it would try each of its thirty decoders,
and a file from elsewhere could choose the weakest.
"""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path
from typing import BinaryIO, Literal

import numpy as np
import soundfile
from numpy.typing import NDArray

from pedal.errors import TakeError
from pedal.ports import Block, StreamFacts

LOWEST_RATE, HIGHEST_RATE = 8_000, 192_000
"""Sample rates the tracker takes."""
MOST_CHANNELS = 32
_PLAIN_NUMBERS, _EXTENSIBLE = (1, 3), 0xFFFE
"""Format tags: integers, floats, and "look further on"."""
_MOST_CHUNKS = 64
_FLOATING = ("FLOAT", "DOUBLE")
_PROMISED_MORE = re.compile(r"^data : \d+ \(should be \d+\)", re.MULTILINE)
"""libsndfile's remark on a WAV whose header counts more bytes than the file has."""


class SoundFile:
    """One channel of a sound file, from its first to its last sample; memory does not grow with its length.

    Samples that are not numbers are bridged by a straight line; a take of floating point that goes beyond full scale is
    scaled down as a whole. `remarks` says afterwards, in a sentence each, what was done.
    """

    def __init__(self, path: Path, *, channel: int = 1, block_samples: int = 8192) -> None:
        self._path, self._channel, self._block_samples = path, channel, block_samples
        self._raw: BinaryIO | None = None
        self._file: soundfile.SoundFile | None = None
        self._channels = 1
        self._truncated = False
        self._not_numbers = 0
        self._scale, self._dtype = 1.0, "float32"
        self._peak = 0.0
        self.total_samples = 0
        """Samples a channel that the header promises."""

    def open(self) -> StreamFacts:
        """Open the file; raises TakeError with what is wrong with it."""
        self._raw = self._opened()
        try:
            if not _is_wav_or_flac(self._raw):
                raise self._no_sound_file()
            self._raw.seek(0)
            # The very file that was looked at, whatever its name has come to mean meanwhile.
            try:
                self._file = file = soundfile.SoundFile(self._raw.fileno(), closefd=False)
            except soundfile.LibsndfileError as fault:
                raise self._no_sound_file() from fault
            self._refuse_what_cannot_be_judged(file)
        except TakeError:
            self.close()
            raise
        self.total_samples, self._channels = file.frames, file.channels
        self._dtype = "float64" if file.subtype == "DOUBLE" else "float32"
        if file.subtype in _FLOATING:
            self._scale = self._scale_of(file)
        self._truncated = bool(_PROMISED_MORE.search(file.extra_info))
        remark = "" if file.channels == 1 else f"{file.channels} channels: judging channel {self._channel}"
        return StreamFacts(str(self._path), file.samplerate, self._block_samples, self._channel, remark)

    def read(self) -> Block | None:
        """The next block, shorter at the end; None once all was read."""
        if self._file is None:
            return None
        try:
            frames = self._file.read(self._block_samples, dtype=self._dtype, always_2d=True)
        except soundfile.LibsndfileError:  # a damaged FLAC frame: nothing after it can be decoded
            self._truncated = True
            return None
        if not len(frames):
            return None
        return Block(self._made_sound(frames[:, self._channel - 1].copy()).astype(np.float32))

    def close(self) -> None:
        """Let go of the file; safe to call twice."""
        if self._file is not None:
            self._file.close()
            self._file = None
        if self._raw is not None:
            self._raw.close()
            self._raw = None

    @property
    def remarks(self) -> list[str]:
        """What a listener should know of the samples read so far, one sentence each."""
        said = []
        if self._truncated:
            said.append(f"{self._path} ends early: what it holds was judged")
        if self._not_numbers:
            said.append(f"{self._path} has {self._not_numbers} samples that are not numbers: they were bridged")
        if self._scale != 1.0:
            said.append(f"{self._path} goes {1 / self._scale:.3g} times beyond full scale: it was scaled down")
        if self._peak == 0.0:
            other = f"; it has {self._channels} channels, choose another" if self._channels > 1 else ""
            said.append(f"channel {self._channel} of {self._path} is silent: no note was heard{other}")
        return said

    def _opened(self) -> BinaryIO:
        """A regular file, open to read: a pipe without a writer would wait for ever. Raises TakeError."""
        try:
            handle = os.open(self._path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
        except OSError as fault:
            why = f"{self._path} cannot be read: {fault.strerror}; check the name and its permissions"
            raise TakeError(why) from fault
        facts = os.fstat(handle)
        if stat.S_ISREG(facts.st_mode) and facts.st_size:
            return os.fdopen(handle, "rb", buffering=0)
        os.close(handle)
        if stat.S_ISDIR(facts.st_mode):
            raise TakeError(f"{self._path} cannot be read: Is a directory; check the name and its permissions")
        if not stat.S_ISREG(facts.st_mode):
            raise TakeError(f"{self._path} is no file: give a WAV or FLAC file")
        raise TakeError(f"{self._path} is empty: record it again")

    def _no_sound_file(self) -> TakeError:
        return TakeError(f"{self._path} is no sound file that can be read: give a WAV or FLAC file")

    def _refuse_what_cannot_be_judged(self, file: soundfile.SoundFile) -> None:
        if not file.frames:
            raise TakeError(f"{self._path} holds no samples: record it again")
        if not LOWEST_RATE <= file.samplerate <= HIGHEST_RATE:
            able = f"{LOWEST_RATE} to {HIGHEST_RATE}"
            raise TakeError(f"{self._path} has {file.samplerate} samples a second: takes from {able} can be judged")
        if file.channels > MOST_CHANNELS:
            able = f"takes of at most {MOST_CHANNELS} can be judged"
            raise TakeError(f"{self._path} has {file.channels} channels: {able}")
        if not 1 <= self._channel <= file.channels:
            raise TakeError(f"{self._path} has no channel {self._channel}: choose 1 to {file.channels}")

    def _made_sound(self, samples: NDArray[np.floating]) -> NDArray[np.floating]:
        """Finite samples within full scale, counting what had to be mended."""
        finite = np.isfinite(samples)
        if not finite.all():
            self._not_numbers += int(np.count_nonzero(~finite))
            good = np.flatnonzero(finite)
            bad = np.flatnonzero(~finite)
            samples[bad] = np.interp(bad, good, samples[good]) if len(good) else 0.0
        samples *= self._scale
        self._peak = max(self._peak, float(np.abs(samples).max()))
        return samples

    def _scale_of(self, file: soundfile.SoundFile) -> float:
        """What brings the loudest sample to full scale, if it lies beyond; clipping would tear the tone apart."""
        peak = 1.0
        for frames in file.blocks(self._block_samples, dtype=self._dtype, always_2d=True):
            numbers = frames[np.isfinite(frames)]
            peak = max(peak, float(np.abs(numbers).max(initial=0.0)))
        file.seek(0)
        return 1.0 / peak


def _is_wav_or_flac(raw: BinaryIO) -> bool:
    """Whether it begins as FLAC, or as a WAV whose samples are plain numbers (integer or float).

    Chunk and format layout: "Multimedia Programming Interface and Data Specifications 1.0" (RIFF, WAVE), and EBU Tech
    3306 for RF64, both from memory; tests hold them to what libsndfile writes.
    """
    head = raw.read(12)
    if head[:4] == b"fLaC":
        return True
    if head[:4] not in (b"RIFF", b"RF64", b"RIFX") or head[8:12] != b"WAVE":
        return False
    order: Literal["big", "little"] = "big" if head[:4] == b"RIFX" else "little"
    for _ in range(_MOST_CHUNKS):
        chunk = raw.read(8)
        if len(chunk) < 8:
            return False
        size = int.from_bytes(chunk[4:], order)
        if chunk[:4] == b"fmt ":
            layout = raw.read(min(size, 26))
            at = 24 if int.from_bytes(layout[:2], order) == _EXTENSIBLE else 0
            return int.from_bytes(layout[at : at + 2], order) in _PLAIN_NUMBERS
        if chunk[:4] == b"data":
            return False
        raw.seek(size + size % 2, os.SEEK_CUR)
    return False
