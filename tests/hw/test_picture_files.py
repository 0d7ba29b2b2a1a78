"""PNG files are numbered and written only when the picture changed; a film keeps its times."""

from __future__ import annotations

import pytest
from PIL import Image

from hw.picture_files import GifScreen, PngScreen
from pedal.errors import DeviceError
from pedal.screen.drawing import draw
from pedal.screen.samples import samples

# Written out, and not taken from the code, so that a change of it is seen.
DOT, LAST_MS, LEAST_MS = 4, 1500, 20

FIRST, SECOND = list(map(draw, list(samples().values())[3:5]))


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_files_are_numbered_and_only_for_changes(tmp_path):
    screen = PngScreen(tmp_path / "deep" / "pictures")
    for picture in (FIRST, FIRST, SECOND, SECOND, FIRST):
        screen.show(picture)
    assert names(tmp_path / "deep" / "pictures") == ["screen-0001.png", "screen-0002.png", "screen-0003.png"]
    assert screen.count == 3


def test_dots_are_squares(tmp_path):
    PngScreen(tmp_path).show(FIRST)
    with Image.open(tmp_path / "screen-0001.png") as saved:
        assert saved.size == (128 * DOT, 64 * DOT)
        assert saved.convert("1").resize((128, 64), Image.Resampling.NEAREST).tobytes() == FIRST.tobytes()


def test_a_file_where_the_folder_should_be_is_refused(tmp_path):
    (tmp_path / "taken").write_text("")
    with pytest.raises(DeviceError, match="taken: cannot save pictures here .*; give a folder that you may write to"):
        PngScreen(tmp_path / "taken")


def film_of(path, shown):
    """Shows pictures at given times in seconds; returns (length in ms, picture) for each frame of the film."""
    times = iter([at_s for at_s, _ in shown])
    screen = GifScreen(path, dot=1, clock=lambda: next(times))
    for _, picture in shown:
        screen.show(picture)
    screen.close()
    frames = []
    with Image.open(path) as film:
        for number in range(film.n_frames):
            film.seek(number)
            frames.append((film.info["duration"], film.convert("L").point(lambda v: 255 * (v > 127)).convert("1")))
    return frames


def test_a_film_keeps_the_times_and_the_pictures(tmp_path):
    frames = film_of(tmp_path / "film.gif", [(1.0, FIRST), (1.5, SECOND), (1.505, FIRST)])
    assert [length for length, _ in frames] == [500, LEAST_MS, LAST_MS]
    assert [picture.tobytes() for _, picture in frames] == [p.tobytes() for p in (FIRST, SECOND, FIRST)]


def test_a_film_without_pictures_is_no_file(tmp_path):
    GifScreen(tmp_path / "film.gif").close()
    assert names(tmp_path) == []


def test_a_film_is_written_once(tmp_path):
    screen = GifScreen(tmp_path / "film.gif")
    screen.show(FIRST)
    screen.close()
    (tmp_path / "film.gif").unlink()
    screen.close()
    assert names(tmp_path) == []


def test_a_film_shows_blank_as_black(tmp_path):
    ticks = iter([0.0, 1.0, 2.0])
    screen = GifScreen(tmp_path / "film.gif", dot=1, clock=lambda: next(ticks))
    screen.show(FIRST)
    screen.dim(0.0)
    screen.dim(1.0)
    screen.close()
    with Image.open(tmp_path / "film.gif") as film:
        assert film.n_frames == 3
        film.seek(1)
        assert film.convert("L").getextrema() == (0, 0)


def test_a_film_into_a_folder_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(DeviceError, match="there is no folder .*nowhere; make it"):
        GifScreen(tmp_path / "nowhere" / "film.gif")


def test_a_film_that_cannot_be_written_says_so(tmp_path):
    (tmp_path / "film.gif").mkdir()
    screen = GifScreen(tmp_path / "film.gif")
    screen.show(FIRST)
    with pytest.raises(DeviceError, match="cannot write the film"):
        screen.close()
