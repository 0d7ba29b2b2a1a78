"""A finished note says what the hand did: shape, heights, times, ending, or why it is no bend."""

from __future__ import annotations

import numpy as np
import pytest
from curves import STEP_S, glide, note_of, readings, swing, tell_notes_of
from hypothesis import given, settings
from hypothesis import strategies as st

from pedal.notes.decoder import BIN_S, Segment
from pedal.notes.event import Fall, Hold, Rest, Rise
from pedal.notes.follower import Follower
from pedal.notes.heard import Ends, Heard
from pedal.notes.note import Trace
from pedal.notes.pluck import without_attack
from pedal.notes.runs import Run, find_runs, step_between
from pedal.notes.story import tell_notes
from pedal.theory.cents import cents_between


def height(note) -> float:
    return cents_between(note.rest_hz, note.hold_hz)


def final(note) -> float:
    return cents_between(note.rest_hz, note.final_hz)


REST = (0.35, 0.0)
SHAPES = {
    "a level note that rings": ([(1.0, 0)], 0.4, "level", "rang_out", 0),
    "a level note, cut": ([(1.0, 0)], 0.012, "level", "cut", 0),
    "a curl cut sharp": ([REST, (0.2, 35), (0.3, 35)], 0.012, "rise", "cut_sharp", 35),
    "a curl damped by a slower hand": ([REST, (0.2, 35), (0.3, 35)], 0.030, "rise", "cut_sharp", 35),
    "a small curl cut sharp": ([REST, (0.2, 16), (0.3, 16)], 0.012, "rise", "cut_sharp", 16),
    "a curl cut as soon as it arrives": ([REST, (0.2, 35), (0.06, 35)], 0.012, "rise", "cut_sharp", 35),
    "a curl that rings out": ([REST, (0.2, 35), (1.5, 35)], 0.5, "rise", "rang_out", 35),
    "a curl released": ([REST, (0.2, 35), (0.25, 35), (0.15, 0), (0.25, 0)], 0.012, "rise_fall", "released", 35),
    "a curl released at the last moment": (
        [REST, (0.2, 40), (0.3, 40), (0.06, 0), (0.05, 0)],
        0.012,
        "rise_fall",
        "released",
        40,
    ),
    "a small curl released": ([REST, (0.2, 18), (0.25, 18), (0.15, 0), (0.25, 0)], 0.012, "rise_fall", "released", 18),
    "a bend cut at its height": ([REST, (0.2, 200), (0.4, 200)], 0.012, "rise", "cut_sharp", 200),
    "a bend that rings": ([REST, (0.2, 300), (1.0, 300)], 0.4, "rise", "rang_out", 300),
    "a slow bend": ([REST, (1.5, 200), (0.4, 200)], 0.012, "rise", "cut_sharp", 200),
    "a quick bend": ([REST, (0.08, 300), (0.4, 300)], 0.012, "rise", "cut_sharp", 300),
    "a bend from a short rest": ([(0.09, 0), (0.15, 200), (0.4, 200)], 0.012, "rise", "cut_sharp", 200),
    "a bend made in stages": (
        [REST, (0.12, 100), (0.3, 100), (0.15, 200), (0.4, 200)],
        0.012,
        "rise",
        "cut_sharp",
        200,
    ),
    "a bend that overshoots": (
        [REST, (0.2, 230), (0.05, 230), (0.1, 200), (0.4, 200)],
        0.012,
        "rise",
        "cut_sharp",
        200,
    ),
    "a bend released": ([REST, (0.2, 200), (0.3, 200), (0.2, 0), (0.3, 0)], 0.4, "rise_fall", "released", 200),
    "a release in stages": (
        [REST, (0.2, 200), (0.3, 200), (0.1, 100), (0.2, 100), (0.1, 0), (0.3, 0)],
        0.4,
        "rise_fall",
        "released",
        200,
    ),
    "bent twice from one pluck": (
        [REST, (0.2, 200), (0.3, 200), (0.2, 0), (0.2, 0), (0.2, 200), (0.3, 200)],
        0.012,
        "rise",
        "cut_sharp",
        200,
    ),
}


@pytest.mark.parametrize(("legs", "cut_s", "shape", "ending", "cents"), SHAPES.values(), ids=SHAPES.keys())
@pytest.mark.parametrize("rest_hz", [87.3, 233.08, 880.0])
def test_shapes_and_endings(legs, cut_s, shape, ending, cents, rest_hz) -> None:
    note = note_of(glide(legs), cut_s=cut_s, rest_hz=rest_hz, noise_cents=0.3)
    assert (note.shape, note.ending, note.refusal) == (shape, ending, None)
    assert height(note) == pytest.approx(cents, abs=1.5)
    assert cents_between(rest_hz, note.rest_hz) == pytest.approx(0, abs=1.0)


@pytest.mark.parametrize("rest_hz", [87.3, 233.08, 880.0])
@pytest.mark.parametrize("top", [140.0, 200.0, 325.0])
def test_a_prebend_released_is_a_fall_and_knows_its_rest(rest_hz, top) -> None:
    note = note_of(
        glide([(0.5, top), (0.2, 0), (0.35, 0)], start_cents=top), rest_hz=rest_hz, cut_s=0.25, noise_cents=0.3
    )
    assert (note.shape, note.ending, note.refusal) == ("fall", "released", None)
    assert cents_between(rest_hz, note.rest_hz) == pytest.approx(0, abs=1.0)
    assert cents_between(rest_hz, note.first_hz) == pytest.approx(top, abs=1.0)


def test_a_fall_that_never_comes_to_rest_has_no_rest() -> None:
    note = note_of(glide([(0.5, 200), (0.6, -20)], start_cents=200)[: round(0.85 / STEP_S)])
    assert note.shape == "fall"
    assert note.rest_hz is None


REFUSALS = {
    "a slide over two frets": ([(0.4, 0), (0.0, 100), (0.035, 100), (0.0, 200), (0.5, 200)], 0, "slide"),
    "a slide over three frets": (
        [(0.4, 0), (0.0, 100), (0.04, 100), (0.0, 200), (0.04, 200), (0.0, 300), (0.5, 300)],
        0,
        "slide",
    ),
    "a slide down": ([(0.4, 200), (0.0, 100), (0.04, 100), (0.0, 0), (0.5, 0)], 200, "slide"),
    "a blip": ([(0.035, 0)], 0, "too_short"),
    "an impossible height": ([(0.4, 0), (0.3, 900), (0.5, 900)], 0, "no_pitch"),
}


@pytest.mark.parametrize(("legs", "start", "refusal"), REFUSALS.values(), ids=REFUSALS.keys())
def test_what_is_no_bend_is_refused_by_name(legs, start, refusal) -> None:
    note = note_of(glide(legs, start_cents=start), noise_cents=0.3)
    assert (note.shape, note.refusal) == ("not_a_bend", refusal)


@pytest.mark.parametrize("refusal", ["slide over two", "slide over three"])
def test_a_refused_note_still_names_where_it_began(refusal) -> None:
    legs = next(v for k, v in REFUSALS.items() if refusal in k)[0]
    assert cents_between(233.08, note_of(glide(legs)).rest_hz) == pytest.approx(0, abs=1.0)


def test_two_strings_are_refused_even_where_a_pitch_was_heard() -> None:
    note = note_of(glide([(0.5, 0)]), polyphonic=True)
    assert (note.refusal, note.rest_hz, note.hold_hz) == ("two_strings", None, None)


def test_nothing_pitched_is_refused() -> None:
    heard = [r for r in readings(glide([(0.3, 0)])) if r.hz == 0.0]
    assert tell_notes_of(0.0, 0.3, heard, stopped=False, polyphonic=False)[0].refusal == "no_pitch"


def test_a_ragged_pitch_is_refused() -> None:
    assert note_of(glide([(0.5, 0)]), noise_cents=15.0).refusal == "no_pitch"


def test_a_pitch_seldom_heard_is_refused() -> None:
    heard = readings(glide([(0.6, 0)]))
    thinned = [r for i, r in enumerate(heard) if i % 90 < 40]
    assert tell_notes_of(0.0, 0.6, thinned, stopped=False, polyphonic=False)[0].refusal == "no_pitch"


def test_a_few_cents_of_settling_are_no_release_and_do_not_move_the_rest() -> None:
    t = np.arange(round(1.0 / STEP_S)) * STEP_S
    note = note_of(14 * np.exp(-t / 0.12))
    assert (note.shape, note.ending) == ("level", "cut")
    assert cents_between(233.08, note.hold_hz) == pytest.approx(0, abs=1.5)


@pytest.mark.parametrize("tau_s", [0.3, 0.5])
def test_what_settles_slowly_answers_by_where_it_stood_after_the_pluck(tau_s) -> None:
    """Not by where it would settle after the note is over."""
    note = note_of(12 * np.exp(-np.arange(round(0.8 / STEP_S)) * STEP_S / tau_s))
    assert note.shape == "level"
    assert cents_between(233.08, note.first_hz) == pytest.approx(12 * np.exp(-0.2 / tau_s), abs=1.5)


@pytest.mark.parametrize("hard", [6.0, 12.0, 20.0])
def test_a_bend_that_rides_on_settling_keeps_its_height(hard) -> None:
    curve = glide([(0.35, 0), (0.2, 200), (0.5, 200)])
    note = note_of(curve + hard * np.exp(-np.arange(len(curve)) * STEP_S / 0.15))
    assert height(note) == pytest.approx(200, abs=2.0)


@pytest.mark.parametrize("rise_s", [1.5, 2.0, 3.0])
@pytest.mark.parametrize(("top", "hold_s"), [(70.0, 0.5), (100.0, 0.3), (200.0, 0.8), (300.0, 0.8)])
def test_a_slow_bend_is_told_by_where_it_stood_and_not_by_a_part_of_its_way(rise_s, top, hold_s) -> None:
    """The fault: a curl to 70 cents in 2 s was told as 35, since a stand may drift and passed for one all the way."""
    note = note_of(glide([(0.3, 0.0), (rise_s, top), (hold_s, top)]), noise_cents=0.3)
    assert note.shape == "rise"
    assert height(note) == pytest.approx(top, abs=6.0)


@pytest.mark.parametrize("down_to", [20.0, 30.0, 50.0, 80.0, 95.0])
def test_a_bend_let_down_part_of_the_way_was_bent_from_where_it_began(down_to) -> None:
    """The fault: where it came to passed for the fret, and a whole step that was dead on for so much flat."""
    note = note_of(glide([(0.4, 0.0), (0.2, 200.0), (0.5, 200.0), (0.2, down_to), (0.6, down_to)]), noise_cents=0.3)
    assert (note.shape, note.ending) == ("rise_fall", "released")
    assert height(note) == pytest.approx(200.0, abs=2.0)
    assert final(note) == pytest.approx(down_to, abs=2.0)


def test_overshoot_is_in_the_peak_not_in_the_hold() -> None:
    note = note_of(glide(SHAPES["a bend that overshoots"][0]))
    assert cents_between(note.hold_hz, note.peak_hz) == pytest.approx(30, abs=3)


def test_times_are_the_hands() -> None:
    note = note_of(glide([(0.4, 0), (0.3, 200), (0.5, 200)]))
    assert note.rise_s == pytest.approx(0.3, abs=0.06)
    assert note.hold_s == pytest.approx(0.5, abs=0.08)


def test_a_collapsing_level_does_not_corrupt_the_last_pitch() -> None:
    heard = readings(glide([(0.3, 0), (0.2, 35), (0.3, 35)]))
    wild = [
        r if r.level_db > -30 or r.hz == 0.0 else type(r)(r.time_s, r.hz * 0.97, 0.82, r.level_db, r.heard_s)
        for r in heard
    ]
    note = tell_notes_of(0.0, 0.8, wild, stopped=False, polyphonic=False)[0]
    assert note.ending == "cut_sharp"
    assert final(note) == pytest.approx(35, abs=1.0)


def test_a_note_stopped_by_the_next_pluck_was_cut() -> None:
    curve = glide([(0.3, 0), (0.2, 35), (0.3, 35)])
    heard = readings(curve)[: len(curve)]
    assert tell_notes_of(0.0, 0.8, heard, stopped=True, polyphonic=False)[0].ending == "cut_sharp"
    assert tell_notes_of(0.0, 0.8, heard, stopped=False, polyphonic=False)[0].ending == "rang_out"


@pytest.mark.parametrize("factor", [0.5, 2.0, 1 / 3])
def test_slips_of_the_tracker_by_whole_factors_are_taken_back(factor) -> None:
    heard = readings(glide([(0.3, 0), (0.2, 200), (0.4, 200)]))
    slipped = [
        type(r)(r.time_s, r.hz * (factor if 60 <= i < 75 or 200 <= i < 204 else 1.0), 0.9, r.level_db, r.heard_s)
        for i, r in enumerate(heard)
    ]
    note = tell_notes_of(0.0, 0.9, slipped, stopped=False, polyphonic=False)[0]
    assert (note.shape, note.refusal) == ("rise", None)
    assert height(note) == pytest.approx(200, abs=1.0)


@pytest.mark.parametrize(
    ("from_cents", "to_cents", "low_s"),
    [(-2407.0, -2407.0, 0.06), (-2390.0, -2416.0, 0.045)],
    ids=["8 cents flat", "falling: less is known of it than it seems to rise by"],
)
def test_a_brief_slip_at_the_beginning_tells_neither_the_level_nor_a_rise(from_cents, to_cents, low_s) -> None:
    """The ear heard the first of the note two octaves low, and the note was told by it."""
    curve = glide([(0.8, 0)])
    low = np.linspace(from_cents, to_cents, round(low_s / STEP_S))
    slipped = np.concatenate([low, np.full(round(0.02 / STEP_S), -1100.0)])
    curve[: len(slipped)] = slipped
    note = note_of(curve)
    assert (note.shape, note.refusal) == ("level", None)
    assert cents_between(233.08, note.first_hz) == pytest.approx(0, abs=2.0)


def test_what_was_heard_in_another_octave_for_a_moment_is_no_fret_that_a_small_rise_left() -> None:
    curve = glide([(0.8, 0)])
    slipped = np.concatenate([np.full(round(0.06 / STEP_S), -2414.0), np.full(round(0.02 / STEP_S), -1100.0)])
    curve[: len(slipped)] = slipped
    assert note_of(curve).shape == "level"


@pytest.mark.parametrize("rise_s", [0.25, 0.3, 0.4])
@pytest.mark.parametrize("share", [0.35, 0.5])
def test_a_slip_is_taken_back_while_the_string_is_bent(rise_s, share) -> None:
    """The ear looks for the pitch anew, and meanwhile the bend goes on: the step is no whole factor."""
    slips = round((0.12 + share * rise_s) / STEP_S)
    slipped = [
        r._replace(hz=0.5 * r.hz if i < slips else 0.0 if i < slips + 9 else r.hz)
        for i, r in enumerate(readings(glide([(0.12, 0), (rise_s, 300), (0.4, 300)])))
    ]
    (note,) = tell_notes_of(0.0, 0.8, slipped, stopped=False, polyphonic=False)
    assert (note.shape, note.refusal) == ("rise", None)
    assert height(note) == pytest.approx(300, abs=2.0)


@pytest.mark.parametrize("factor", [2.0, 3.0])
def test_a_slip_as_the_finger_hammers_on_parts_no_tone_from_its_note(factor) -> None:
    """The ear looks for the new pitch, and takes a multiple first; what it heard before was right."""
    heard = readings(glide([(0.18, 0), (0.0, 200), (0.4, 200)]))
    slipped = [r._replace(hz=r.hz * factor if 68 <= i < 80 else r.hz) for i, r in enumerate(heard)]
    first, second = tell_notes_of(0.0, 0.58, slipped, stopped=False, polyphonic=False)
    assert [n.shape for n in (first, second)] == ["level", "level"]
    assert second.begun_by == "hammer_on"
    assert cents_between(first.rest_hz, second.rest_hz) == pytest.approx(200, abs=1.0)


def told(runs: list[Run], cents: np.ndarray):
    """The notes of these runs, as if they had been decoded from these readings."""
    time_s = np.arange(len(cents)) * STEP_S
    trace = Trace(time_s, 220.0 * 2 ** (cents / 1200), np.full(len(cents), -20.0))
    heard = Heard(220.0, 0.0, time_s, time_s, cents)
    return tell_notes(runs, heard, Ends(0.0, float(time_s[-1]), by_hand=True), trace)


def test_a_rest_heard_at_a_third_of_its_pitch_is_put_right_though_the_bend_begins_in_the_slip() -> None:
    runs = find_runs(
        [
            Segment("stand", 0, 20, -1902.0, -1902.0, -1902.0, 1.0),
            Segment("glide", 20, 42, 12.0, 300.0, 150.0, 1.0),
            Segment("stand", 42, 120, 300.0, 300.0, 300.0, 0.3),
        ]
    )
    cents = np.interp(np.arange(240) / 2, [0, 20, 42, 120], [0.0, 0.0, 300.0, 300.0])
    cents[:40] -= 1902.0
    (note,) = told(runs, cents)
    assert (note.shape, note.refusal) == ("rise", None)
    assert height(note) == pytest.approx(300, abs=15.0)


def first_tone(*, sigma: float = 2.0, bins: int = 6, leap: float = 58.0, later: int = 60) -> list[Run]:
    """A brief first stand, a leap, and a stand."""
    end = bins + 5
    return [
        Run("flat", 0, bins, -leap, -leap, sigma),
        Run("up" if leap > 0 else "down", bins, end, -leap, 0.0, 4.0, jump=True),
        Run("flat", end, end + later, 0.0, 0.0, 0.2),
    ]


@pytest.mark.parametrize(
    ("runs", "late_s"),
    [
        (first_tone(sigma=17.0, leap=369.0), 0.02),
        (first_tone(sigma=8.5, leap=-47.0), 0.02),
        (first_tone(leap=58.0), 0.065),
        (first_tone(leap=-58.0), 0.065),
    ],
)
def test_a_first_tone_of_a_moment_is_the_picks_where_no_finger_could_have_left_it(runs, late_s) -> None:
    assert without_attack(runs, late_s) == runs[2:]


@pytest.mark.parametrize(
    ("runs", "late_s"),
    [
        (first_tone(), 0.02),  # as early as a curl
        (first_tone(leap=200.0), 0.065),  # a finger that is hammered on
        (first_tone(bins=9, sigma=17.0), 0.065),  # long enough for a tone
        (first_tone(later=20, sigma=17.0), 0.065),  # what it leaps to does not stay
    ],
)
def test_what_a_finger_may_have_left_stays(runs, late_s) -> None:
    assert without_attack(runs, late_s) == runs


@pytest.mark.parametrize("off", [0.0, 3.0, -5.0])
def test_an_octave_that_is_put_right_between_two_stands_of_one_height_is_no_fault(off) -> None:
    """Its step has no length, and once nothing is left of it nothing tells how well it is known."""
    low, high = Run("flat", 0, 20, 0.0, 0.0, 1.0), Run("flat", 20, 80, 1200.0 + off, 1200.0 + off, 1.0)
    cents = np.concatenate([np.zeros(40), np.full(120, 1200.0 + off)])
    (note,) = told([low, step_between(low, high), high], cents)
    assert (note.shape, note.refusal) == ("level", None)
    assert cents_between(440.0, note.rest_hz) == pytest.approx(off, abs=5.0)


def test_a_curl_whose_damping_is_heard_an_octave_up_is_told_by_what_came_before() -> None:
    """Nothing in it stands, so no stand tells where the string was."""
    up = Run("up", 0, 24, 0.0, 40.0, 1.0)
    leap = Run("up", 24, 28, 40.0, 1240.0, 1.0, jump=True)
    cents = np.concatenate([np.linspace(0.0, 40.0, 48), np.full(8, 1240.0)])
    (note,) = told([up, leap], cents)
    assert (note.shape, note.refusal) == ("rise", None)
    assert cents_between(220.0, note.hold_hz) == pytest.approx(40.0, abs=1.0)


@pytest.mark.parametrize(("height", "shape"), [(140.0, "level"), (160.0, "rise"), (245.0, "rise")])
def test_a_bend_from_the_pluck_that_overshot_is_no_picks_noise(height, shape) -> None:
    runs = [
        Run("up", 0, 12, 0.0, height, 1.0),
        Run("down", 12, 17, height, height - 20.0, 1.0),
        Run("flat", 17, 120, height - 20.0, height - 20.0, 0.3),
    ]
    cents = np.concatenate(
        [np.linspace(0, height, 24), np.linspace(height, height - 20, 10), np.full(206, height - 20)]
    )
    (note,) = told(runs, cents)
    assert note.shape == shape


@pytest.mark.parametrize(("stands", "heard"), [(23, True), (20, False)])
def test_what_comes_up_to_where_the_string_then_stands_for_long_is_the_plucks(stands, heard) -> None:
    """The pluck is heard late and from below: the string stands from 0.16 s on for so many bins, and then is bent."""
    runs = [
        Run("up", 0, 30, -18.0, 0.0, 1.0),
        Run("flat", 30, 30 + stands, 0.0, 0.0, 0.5),
        Run("up", 30 + stands, 80, 0.0, 200.0, 1.0),
        Run("flat", 80, 150, 200.0, 200.0, 0.3),
    ]
    rise = np.linspace(0, 200, 2 * (50 - stands))
    cents = np.concatenate([np.linspace(-18, 0, 60), np.zeros(2 * stands), rise, np.full(140, 200.0)])
    (note,) = told(runs, cents)
    assert (note.shape, note.rest_hz is not None) == ("rise", heard)


@pytest.mark.parametrize(("down_to", "shape"), [(36, "level"), (45, "rise_fall")])
def test_up_and_down_with_nothing_between_so_soon_is_the_plucks(down_to, shape) -> None:
    """Within 0.2 s: a hand that curls and lets go is no quicker, and holds the note for a moment."""
    runs = [
        Run("flat", 0, 5, -15.0, -15.0, 2.0),
        Run("up", 5, 14, -15.0, 25.0, 1.0),
        Run("down", 14, down_to, 25.0, 0.0, 1.0),
        Run("flat", down_to, 150, 0.0, 0.0, 0.3),
    ]
    cents = np.concatenate([np.full(10, -15.0), np.linspace(-15, 25, 18), np.linspace(25, 0, 2 * (down_to - 14))])
    (note,) = told(runs, np.concatenate([cents, np.zeros(300 - len(cents))]))
    assert note.shape == shape


def test_what_lies_off_further_than_a_finger_gets_is_no_pitch_of_the_note() -> None:
    heard = [
        r._replace(hz=r.hz * (1.0 if i < 200 else 2 ** (-16 / 12))) for i, r in enumerate(readings(glide([(0.8, 0)])))
    ]
    note = tell_notes_of(0.0, 0.8, heard, stopped=False, polyphonic=False)[0]
    assert (note.shape, note.refusal) == ("level", None)


@settings(max_examples=20, deadline=None)
@given(
    cents=st.floats(14, 420),  # 10 cents over most of a second may be told as level
    rest_s=st.floats(0.15, 0.6),
    rise_s=st.floats(0.1, 0.8),
    hold_s=st.floats(0.12, 0.8),
    rest_hz=st.floats(82, 1100),
)
def test_any_height_is_measured_and_transposing_changes_no_cent(cents, rest_s, rise_s, hold_s, rest_hz) -> None:
    curve = glide([(rest_s, 0), (rise_s, cents), (hold_s, cents)])
    note, higher = note_of(curve, rest_hz=rest_hz), note_of(curve, rest_hz=rest_hz * 2 ** (7 / 12))
    assert (note.shape, note.ending) == ("rise", "cut_sharp")
    # A slow rise out of a short rest is half a drift to the decoder: 3.2 cents at worst of 1,500 from its worst corner.
    within = 1.0 + 0.01 * cents if rise_s <= 0.4 else 3.3
    assert height(note) == pytest.approx(cents, abs=within)
    assert height(higher) == pytest.approx(height(note), abs=1e-6)
    assert cents_between(note.rest_hz, higher.rest_hz) == pytest.approx(700, abs=1e-6)


@settings(max_examples=14, deadline=None)
@given(gain_db=st.floats(-25, 15), lead_s=st.floats(0, 100))
def test_loudness_and_time_of_day_change_no_height(gain_db, lead_s) -> None:
    heard = readings(glide([(0.3, 0), (0.2, 35), (0.3, 35)]), level_db=-20 + gain_db, floor_db=-85)
    later = [type(r)(r.time_s + lead_s, r.hz, r.confidence, r.level_db, r.heard_s + lead_s) for r in heard]
    a, b = (tell_notes_of(0.0, 0.8, x, stopped=False, polyphonic=False)[0] for x in (heard, later))
    assert (a.shape, a.ending, b.shape, b.ending) == ("rise", "cut_sharp", "rise", "cut_sharp")
    assert height(b) == pytest.approx(height(a), abs=0.05)


def test_a_note_of_a_minute_is_told_like_any_other() -> None:
    curve = swing(glide([(0.3, 0), (0.2, 200), (55.0, 200)]), after_s=1.0, rate_hz=5, width_cents=20)
    note = note_of(curve, decay_db_s=0.5)
    assert note.shape == "rise"
    assert height(note) == pytest.approx(200, abs=1.5)


@pytest.mark.parametrize(("over", "tones"), [(0.04, ["level"]), (0.11, ["level", "level"])])
@pytest.mark.parametrize("height", [200.0, 500.0])
def test_what_rings_under_the_pick_for_a_moment_is_no_tone_of_its_own(over, tones, height) -> None:
    """The string before, heard until the new one stands: no finger leaves a fret so soon after its pluck."""
    leaves = round(over / BIN_S)
    runs = [
        Run("flat", 0, leaves, height, height, 10.0),
        Run("down", leaves, leaves + 5, height, 0.0, 10.0, jump=True),
        Run("flat", leaves + 5, 120, 0.0, 0.0, 0.3),
    ]
    cents = np.concatenate([np.full(2 * leaves + 4, height), np.zeros(236 - 2 * leaves)])
    notes = told(runs, cents)
    assert [n.shape for n in notes] == tones
    assert cents_between(220.0, notes[-1].rest_hz) == pytest.approx(0.0, abs=1.0)
    assert notes[-1].begun_by == ("pluck" if len(tones) == 1 else "pull_off")


@pytest.mark.parametrize("gone_from_s", [0.42, 0.46, 0.5])
@pytest.mark.parametrize("gone_s", [0.03, 0.05])
def test_a_pitch_that_is_gone_for_a_moment_turns_no_fall_into_a_rise(gone_from_s: float, gone_s: float) -> None:
    curve = glide([(0.4, 200), (0.4, 0), (0.4, 0)], start_cents=200)
    follower, turns = Follower(0.0), list[type]()
    for reading in readings(curve):
        gone = gone_from_s < reading.time_s < gone_from_s + gone_s
        turns += [type(turn) for turn in follower.hear(reading._replace(hz=0.0) if gone else reading)]
    assert turns == [Rest, Fall, Hold]


@pytest.mark.parametrize("gone_s", [0.03, 0.05])
def test_a_pitch_that_is_gone_for_a_moment_turns_no_rise_into_a_fall(gone_s: float) -> None:
    curve = glide([(0.4, 0), (0.3, 200), (0.4, 200)])
    follower, turns = Follower(0.0), list[type]()
    for reading in readings(curve):
        gone = 0.58 < reading.time_s < 0.58 + gone_s
        turns += [type(turn) for turn in follower.hear(reading._replace(hz=0.0) if gone else reading)]
    assert turns == [Rest, Rise, Hold]


@pytest.mark.parametrize(
    ("heard_to", "fitted_to", "as_heard"), [(150.0, 190.0, True), (28.0, 34.0, False)], ids=["bend", "curl"]
)
def test_a_rise_in_which_the_string_was_stopped_ends_where_it_was_last_heard(
    heard_to: float, fitted_to: float, as_heard: bool
) -> None:
    """Its fit reaches above that, as it does below where a rise was first heard; that of a curl by no more than what is
    heard lags behind the hand.
    """
    time_s = np.arange(0.0, 0.4, STEP_S)
    cents = np.interp(time_s, [0.0, 0.25, 0.4], [0.0, 0.0, heard_to])
    heard = Heard(233.08, 0.0, time_s, time_s, cents)
    stood, end = round(0.25 / BIN_S), round(0.4 / BIN_S)
    runs = [Run("flat", 0, stood, 0.0, 0.0, 1.0), Run("up", stood, end, 0.0, fitted_to)]
    (note,) = tell_notes(runs, heard, Ends(0.0, 0.4, by_hand=True), Trace(time_s, 233.08 * 2 ** (cents / 1200), time_s))
    assert height(note) == pytest.approx(cents.max() if as_heard else fitted_to, abs=1.0)
