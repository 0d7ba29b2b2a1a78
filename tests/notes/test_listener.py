"""The listener cuts what it hears into notes, tells them as they happen, and never invents one."""

from __future__ import annotations

import numpy as np
import pytest
from strings import RATE, curve, scene, string

from pedal.notes.edges import Edges
from pedal.notes.event import End, Fall, Hold, Onset, Rest, Rise
from pedal.notes.listener import Listener
from pedal.pitch import make_tracker
from pedal.theory.cents import cents_between
from tests.grids import grid

HOP = 128
G2, G3, C4, D5 = 98.0, 196.0, 261.63, 587.33


def hear(samples, *, gap_at: int | None = None, gap: int = 0, told=lambda reading: reading):
    """All events of a sound; `gap` samples are lost at block `gap_at`; `told` changes a reading."""
    tracker = make_tracker(RATE, HOP)
    listener, edges, events = Listener(RATE, HOP, tracker.thinned), Edges(HOP), []
    for number, start in enumerate(range(0, len(samples) - HOP + 1, HOP)):
        block, lost = samples[start : start + HOP], gap if number == gap_at else 0
        if lost:
            edges.forget()
        (edge,) = edges.of(block)
        for reading in tracker.push(block, lost_samples=lost):
            events += listener.hear(told(reading), edge, lost_samples=lost)
            lost = 0
    return events + listener.finish()


def hear_as(samples, cents, confidence):
    """Events of a sound whose pitch is told, `cents` over C4 so long after its onset at 0.4 s, with that confidence."""

    def told(reading):
        since_s = reading.time_s - 0.4
        if not reading.hz or since_s <= 0.0:
            return reading
        return reading._replace(hz=C4 * 2 ** (cents(since_s) / 1200), confidence=confidence(since_s))

    return hear(samples, told=told)


def notes(events):
    return [event.note for event in events if isinstance(event, End)]


@pytest.mark.parametrize("hz", [G2, C4, D5])
def test_a_bend_and_release_is_told_as_it_happens(hz) -> None:
    bend = curve(hz, (0.35, 0), (0.2, 200), (0.4, 200), (0.2, 0), (0.4, 0))
    events = hear(scene(2.6, (0.4, string(bend, len(bend) / RATE))))
    kinds = [type(event) for event in events]
    assert kinds == [Onset, Rest, Rise, Hold, Fall, Hold, End]
    times = [event.time_s for event in events]
    assert times == sorted(times)
    assert times[0] == pytest.approx(0.4, abs=0.02)
    assert 0.4 < times[1] < 0.75 < times[2] < 0.9 < times[3] < 1.35 < times[4] < 1.5 < times[5] < 2.0
    assert cents_between(hz, events[3].hz) == pytest.approx(200, abs=5)


@pytest.mark.parametrize("hz", [G2, C4])
def test_a_string_struck_ten_times_a_second_gives_ten_notes(hz) -> None:
    parts = [(0.4 + 0.1 * i, string(hz, 0.1, cut_s=0.004, seed=i)) for i in range(10)]
    heard = notes(hear(scene(1.9, *parts)))
    assert [n.onset_s for n in heard] == pytest.approx([0.4 + 0.1 * i for i in range(10)], abs=0.02)
    assert all(n.refusal is None for n in heard)


@pytest.mark.parametrize("hz", [G2, C4, D5])
def test_plucks_softer_than_what_still_rings_are_heard(hz) -> None:
    parts = [(0.4 + 0.2 * i, string(hz, 0.202, peak=(0.3, 0.18)[i % 2], pick=0.3, seed=i)) for i in range(6)]
    heard = notes(hear(scene(2.0, *parts)))
    assert [n.onset_s for n in heard] == pytest.approx([0.4 + 0.2 * i for i in range(6)], abs=0.02)


@pytest.mark.parametrize("hz", [G2, C4, D5])
def test_a_scale_at_eight_notes_a_second_is_eight_notes(hz) -> None:
    steps = (0, 3, 5, 7, 10, 12, 10, 7)
    parts = [(0.4 + 0.125 * i, string(hz * 2 ** (k / 12), 0.125, seed=i)) for i, k in enumerate(steps)]
    heard = notes(hear(scene(2.0, *parts)))
    assert [round(1200 * np.log2(n.rest_hz / hz) / 100) for n in heard] == list(steps)


def test_a_finger_that_scrapes_along_the_string_strikes_no_note() -> None:
    bend = curve(G3, (0.35, 0), (0.3, 200), (0.4, 200))
    scrape = np.random.default_rng(6).normal(size=round(0.3 * RATE)) * 0.004
    heard = notes(hear(scene(2.0, (0.4, string(bend, 1.05)), (0.75, scrape))))
    assert [n.shape for n in heard] == ["rise"]


def test_a_new_pluck_on_another_pitch_ends_the_note_before() -> None:
    parts = [(0.4 + 0.3 * i, string(hz, 0.32)) for i, hz in enumerate([C4, 311.13, 349.23])]
    heard = notes(hear(scene(1.9, *parts)))
    assert [round(n.onset_s, 1) for n in heard] == [0.4, 0.7, 1.0]
    assert heard[0].end_s == pytest.approx(heard[1].onset_s, abs=0.02)
    assert heard[0].ending == "cut"


@pytest.mark.parametrize("hz", [G3, C4])
def test_a_hammer_on_and_pull_off_are_three_level_notes_of_one_pluck(hz) -> None:
    legato = curve(hz, (0.3, 0), (0.0, 200), (0.3, 200), (0.0, 0), (0.4, 0))
    events = hear(scene(2.0, (0.4, string(legato, len(legato) / RATE, decay_s=3))))
    heard = notes(events)
    assert [(n.shape, n.begun_by) for n in heard] == [("level", "pluck"), ("level", "hammer_on"), ("level", "pull_off")]
    assert [cents_between(hz, n.rest_hz) for n in heard] == pytest.approx([0, 200, 0], abs=2)
    assert [n.onset_s for n in heard] == pytest.approx([0.4, 0.7, 1.0], abs=0.04)  # a jump's own 27 ms
    assert [n.end_s for n in heard[:-1]] == [n.onset_s for n in heard[1:]]
    assert [type(event) for event in events].count(Onset) == 1


@pytest.mark.parametrize("interval", [300, 400, 500, 700], ids=["minor third", "major third", "fourth", "fifth"])
@pytest.mark.parametrize("hz", [G2, C4])
def test_two_strings_struck_together_are_refused(hz, interval) -> None:
    other = hz * 2 ** (interval / 1200)
    heard = notes(hear(scene(1.8, (0.4, string(hz, 0.9)), (0.4, string(other, 0.9, seed=9)))))
    assert heard, "a chord is not silence: the player is told"
    assert heard[0].refusal in ("two_strings", "no_pitch")
    assert all(n.refusal is not None for n in heard)


@pytest.mark.parametrize("hz", [G2, C4, D5])
def test_a_string_that_only_rings_along_does_not_spoil_the_note(hz) -> None:
    bend = curve(hz, (0.35, 0), (0.2, 200), (0.5, 200))
    along = string(hz * 2 ** (5 / 12), 1.05, peak=0.25 * 10 ** (-25 / 20), pick=0)
    heard = notes(hear(scene(2.0, (0.4, string(bend, 1.05)), (0.4, along))))
    assert [n.shape for n in heard] == ["rise"]
    assert cents_between(heard[0].rest_hz, heard[0].hold_hz) == pytest.approx(200, abs=3)


@pytest.mark.parametrize("hz", [C4, D5, 784.0])
def test_wide_vibrato_is_no_second_string(hz) -> None:
    t = np.arange(round(1.5 * RATE)) / RATE
    shaken = hz * 2 ** (40 * np.sin(2 * np.pi * 5.5 * t) * (t > 0.3) / 1200)
    heard = notes(hear(scene(2.4, (0.4, string(shaken, 1.5, decay_s=3)))))
    assert [n.refusal for n in heard] == [None]
    assert heard[0].vibrato.rate_hz == pytest.approx(5.5, abs=0.3)


def test_a_thump_is_no_note() -> None:
    thump = np.random.default_rng(1).normal(size=960) * np.linspace(0.3, 0, 960)
    assert hear(scene(1.5, (0.5, thump))) == []


def test_a_muting_hand_is_no_new_note() -> None:
    curl = curve(233.08, (0.35, 0), (0.2, 35), (0.3, 35))
    slap = np.random.default_rng(2).normal(size=480) * np.linspace(0.05, 0, 480)
    heard = notes(hear(scene(1.9, (0.4, string(curl, 0.85, cut_s=0.03)), (0.4 + 0.815, slap))))
    assert [(n.shape, n.ending) for n in heard] == [("rise", "cut_sharp")]


def test_a_dead_string_is_heard_and_not_judged() -> None:
    dead = np.random.default_rng(4).normal(size=RATE // 2) * 0.1 * np.exp(-np.arange(RATE // 2) / RATE / 0.4)
    heard = notes(hear(scene(1.6, (0.5, dead))))
    assert len(heard) <= 1
    assert all(n.refusal is not None for n in heard)


@pytest.mark.parametrize(("third", "from_s", "db"), grid([0.0, 0.1], [0.0, 2.0], [-50.0, -57.0, -65.0], each=2))
def test_a_transformers_hum_over_hiss_is_no_note(third, from_s, db) -> None:
    """The fault: beside 50 Hz with weak harmonics hiss is alike to itself, and bends were told that nobody played."""
    sound = scene(6.0, noise_db=db - 25.0)
    t = np.arange(round((6.0 - from_s) * RATE)) / RATE
    hum = np.sin(2 * np.pi * 50 * t) + 0.3 * third * np.sin(4 * np.pi * 50 * t) + third * np.sin(6 * np.pi * 50 * t + 1)
    sound[-len(hum) :] += (np.sqrt(2.0) * 10 ** (db / 20) * hum).astype(np.float32)
    assert notes(hear(sound)) == []


def test_a_note_in_a_transformers_hum_is_told() -> None:
    sound = scene(3.0, (1.5, string(C4, 1.0)), noise_db=-75.0)
    sound += (0.0045 * np.sin(2 * np.pi * 50 * np.arange(len(sound)) / RATE)).astype(np.float32)
    (note,) = notes(hear(sound))
    assert cents_between(C4, note.hold_hz) == pytest.approx(0.0, abs=3.0)


@pytest.mark.parametrize("noise_db", [-90, -60, -40, -20, -6])
def test_noise_is_no_note(noise_db) -> None:
    assert hear(scene(3.0, noise_db=noise_db)) == []


@pytest.mark.parametrize("mains", [50.0, 60.0])
def test_hum_is_no_note_with_a_number(mains) -> None:
    t = np.arange(3 * RATE) / RATE
    hum = 0.02 * np.sin(2 * np.pi * mains * t) + 0.01 * np.sin(2 * np.pi * 3 * mains * t)
    assert all(n.shape in ("level", "not_a_bend") for n in notes(hear(scene(3.0, (0.0, hum)))))


def test_a_short_gap_leaves_the_note_whole_and_a_long_one_ends_it() -> None:
    steady = scene(2.2, (0.4, string(C4, 1.4, decay_s=4)))
    assert len(notes(hear(steady, gap_at=300, gap=480))) == 1
    long_gap = hear(steady, gap_at=300, gap=RATE)
    times = [event.time_s for event in long_gap]
    assert times == sorted(times)
    first = notes(long_gap)[0]
    assert first.end_s == pytest.approx(300 * HOP / RATE, abs=0.05)


def test_finish_ends_what_still_sounds() -> None:
    heard = notes(hear(scene(1.0, (0.4, string(C4, 0.6, cut_s=0.001)))))
    assert [n.shape for n in heard] == ["level"]


def test_nothing_heard_nothing_told() -> None:
    assert Listener(RATE, HOP, make_tracker(RATE, HOP).thinned).finish() == []


def unstruck(hz: float, seconds: float, begin_db: float, end_db: float):
    """A wave of nine partials whose level goes in a straight line (dB), faded in without a scratch."""
    n = round(seconds * RATE)
    t = np.arange(n) / RATE
    wave = sum(np.sin(2 * np.pi * k * hz * t + k) / k for k in range(1, 10))
    wave = wave / np.abs(wave).max() * 10 ** (np.linspace(begin_db, end_db, n) / 20)
    fade = round(0.05 * RATE)
    wave[:fade] *= np.linspace(0, 1, fade)
    return wave


@pytest.mark.parametrize("echo_db", [-41.0, -42.0, -43.0])
def test_what_a_note_leaves_behind_and_only_fades_is_no_note(echo_db) -> None:
    """An echo outlives the end of its note, and was told as a note of its own, in one case as a curl."""
    echo = unstruck(G2, 1.2, echo_db, echo_db - 20.0)
    assert len(notes(hear(scene(2.6, (0.4, string(G2, 0.5)), (0.86, echo))))) == 1


@pytest.mark.parametrize("hz", [G2, C4])
@pytest.mark.parametrize("rest_s", [0.1, 0.6])
def test_what_grows_without_being_struck_is_one(hz, rest_s) -> None:
    """As behind a volume pedal."""
    swell = unstruck(hz, 1.2, -60.0, -16.0)
    heard = notes(hear(scene(2.8, (0.4, string(hz, 0.5)), (0.9 + rest_s, swell))))
    assert [note.refusal for note in heard] == [None, None]


def risen(since_s: float) -> float:
    return 200.0 * min(1.0, max(0.0, since_s - 0.02) / 0.07)


def faint_first(since_s: float) -> float:
    return 0.7 if since_s < 0.1 else 0.98


def test_a_quick_bend_whose_beginning_is_faint_is_heard_from_there() -> None:
    (note,) = notes(hear_as(scene(1.4, (0.4, string(C4, 0.6))), risen, faint_first))
    assert note.shape == "rise"
    assert cents_between(C4, note.from_hz or note.rest_hz) < 60.0
    assert cents_between(C4, note.hold_hz) == pytest.approx(200.0, abs=3.0)


@pytest.mark.parametrize("off", [40.0, -40.0])
def test_of_a_string_that_stands_only_what_is_clear_is_heard(off) -> None:
    (note,) = notes(
        hear_as(scene(1.4, (0.4, string(C4, 0.6))), lambda since_s: off if since_s < 0.1 else 0.0, faint_first)
    )
    assert note.shape == "level"
    assert cents_between(C4, note.first_hz) == pytest.approx(0.0, abs=2.0)


def test_what_is_fainter_than_a_note_ever_is_leads_to_none() -> None:
    (note,) = notes(hear_as(scene(1.4, (0.4, string(C4, 0.6))), risen, lambda since_s: 0.5 if since_s < 0.1 else 0.98))
    assert note.shape == "level"


def test_a_pitch_that_leaps_to_the_first_clear_one_does_not_lead_to_it() -> None:
    (note,) = notes(
        hear_as(scene(1.4, (0.4, string(C4, 0.6))), lambda since_s: 0.0 if since_s < 0.1 else 200.0, faint_first)
    )
    assert note.shape == "level"
    assert cents_between(C4, note.first_hz) == pytest.approx(200.0, abs=2.0)
