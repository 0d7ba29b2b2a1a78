"""A recorded take as an audio source: WAV of every kind, FLAC and what else libsndfile reads, block by block."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from pedal.app.errors import TakeError
from pedal.app.ports import Block, StreamFacts

LOWEST_RATE, HIGHEST_RATE = 8_000, 192_000
"""Sample rates the tracker takes."""
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
        self._refuse_what_is_no_file()
        try:
            self._file = file = soundfile.SoundFile(self._path)
        except (soundfile.LibsndfileError, TypeError) as fault:  # TypeError: ".raw" by name, which tells no format
            raise TakeError(f"{self._path} is no sound file that can be read: give a WAV or FLAC file") from fault
        try:
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

    def _refuse_what_is_no_file(self) -> None:
        try:
            with self._path.open("rb") as raw:
                first = raw.read(1)
        except OSError as fault:
            why = f"{self._path} cannot be read: {fault.strerror}; check the name and its permissions"
            raise TakeError(why) from fault
        if not first:
            raise TakeError(f"{self._path} is empty: record it again")

    def _refuse_what_cannot_be_judged(self, file: soundfile.SoundFile) -> None:
        if not file.frames:
            raise TakeError(f"{self._path} holds no samples: record it again")
        if not LOWEST_RATE <= file.samplerate <= HIGHEST_RATE:
            able = f"{LOWEST_RATE} to {HIGHEST_RATE}"
            raise TakeError(f"{self._path} has {file.samplerate} samples a second: takes from {able} can be judged")
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
