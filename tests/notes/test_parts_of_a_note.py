"""Bins, runs, ways and ends of a note, each by itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from curves import STEP_S, as_heard, glide, readings
from hypothesis import given
from hypothesis import strategies as st

from pedal.notes.bins import Bins
from pedal.notes.decoder import BIN_S, Segment
from pedal.notes.passage import way_of
from pedal.notes.runs import Run, find_runs, find_swing, of_a_hand, settled
from pedal.notes.sound import OwnSound, own_sound
from pedal.pitch.reading import Reading


def reading(time_s: float, hz: float) -> Reading:
    return Reading(time_s, hz, 0.98, -20.0, time_s + 0.01)


class TestBins:
    def all_of(self, cents, *, onset_s: float = 0.0):
        bins, found = Bins(onset_s), []
        for r in readings(np.asarray(cents, float)):
            found += bins.hear(r)
        return bins, found + bins.flush()

    def test_two_readings_make_a_bin_and_count_from_the_first_pitch(self) -> None:
        bins, found = self.all_of([0, 10, 20, 30, 40, 50, 60])
        assert [c for c, _ in found] == pytest.approx([5, 25, 45, 60])
        assert bins.base_hz == pytest.approx(233.08)
        assert bins.time_s(3) == pytest.approx(3 * BIN_S)

    def test_a_first_pitch_that_comes_late_is_still_bin_0(self) -> None:
        bins = Bins(1.0)
        assert bins.hear(reading(1.1, 220.0)) == []
        assert bins.first == int(0.1 / BIN_S)
        assert bins.number(1.1) == 0
        assert bins.time_s(0) == pytest.approx(1.1, abs=BIN_S)

    def test_time_without_pitch_is_bins_without_weight(self) -> None:
        bins = Bins(0.0)
        bins.hear(reading(0.0001, 220.0))
        found = bins.hear(reading(0.0001 + 5 * BIN_S, 220.0))
        assert len(found) == 5
        assert found[0][1] > 0
        assert found[1:] == [(0.0, 0.0)] * 4
        assert bins.hear(reading(0.5, 0.0)) == []

    def test_a_bin_weighs_less_near_the_pick_and_where_the_pitch_jitters(self) -> None:
        _, calm = self.all_of(np.zeros(200))
        weights = [w for _, w in calm]
        assert weights == sorted(weights)
        assert weights[0] < 0.01 < 0.5 < weights[20] < 1.0
        _, rough = self.all_of(8 * (-1.0) ** (np.arange(200) // 2))
        assert all(w < 0.02 for _, w in rough[10:])

    def test_a_slope_is_no_jitter(self) -> None:
        # Off the bins' edges: on them rounding gives a bin one reading or three, and a steep slope jitters by that.
        _, steep = self.all_of(np.arange(200) * 3.0, onset_s=-0.001)
        _, calm = self.all_of(np.zeros(200), onset_s=-0.001)
        assert [w for _, w in steep[3:-1]] == pytest.approx([w for _, w in calm[3:-1]], rel=1e-3)


def stand(begin, end, cents, to=None) -> Segment:
    to = cents if to is None else to
    return Segment("stand", begin, end, cents, to, (cents + to) / 2, 0.3)


def going(begin, end, a, b) -> Segment:
    return Segment("glide", begin, end, a, b, (a + b) / 2, 0.5)


def jump(begin, end) -> Segment:
    return Segment("jump", begin, end, 0.0, 0.0, 0.0, 1.0)


def moves(runs) -> list[tuple]:
    return [(r.move, r.begin, r.end, r.jump) for r in runs]


class TestRuns:
    def test_glides_one_way_are_one_run(self) -> None:
        runs = find_runs([stand(0, 20, 0), going(20, 40, 0, 90), going(40, 60, 90, 200), stand(60, 90, 200)])
        assert moves(runs) == [("flat", 0, 20, False), ("up", 20, 60, False), ("flat", 60, 90, False)]
        assert (runs[1].from_cents, runs[1].to_cents) == (0, 200)

    @pytest.mark.parametrize(("height", "count"), [(7.9, 1), (8.1, 3)])
    def test_under_8_cents_nothing_moved(self, height, count) -> None:
        runs = find_runs([stand(0, 20, 0), going(20, 40, 0, height), stand(40, 60, height)])
        assert len(runs) == count

    def test_a_jump_goes_from_the_end_before_to_the_beginning_after(self) -> None:
        runs = find_runs([stand(0, 20, 0, 3), jump(20, 23), stand(23, 60, 198, 202)])
        assert moves(runs) == [("flat", 0, 20, False), ("up", 20, 23, True), ("flat", 23, 60, False)]
        assert (runs[1].from_cents, runs[1].to_cents) == (3, 198)

    def test_stands_apart_have_a_step_of_no_length_between(self) -> None:
        runs = find_runs([stand(0, 20, 0), stand(20, 40, 50)])
        assert moves(runs) == [("flat", 0, 20, False), ("up", 20, 20, True), ("flat", 20, 40, False)]

    @pytest.mark.parametrize(("apart", "count"), [(74.0, 1), (-74.0, 1), (76.0, 3), (-76.0, 3), (3900.0, 3)])
    def test_glides_one_way_that_do_not_meet_are_two_with_a_step_between(self, apart, count) -> None:
        """A slip of the ear that goes the string's way is still a slip."""
        runs = find_runs([going(0, 20, 0, 30), going(24, 40, 30 + apart, 160 + apart)])
        assert len(runs) == count
        assert (runs[0].from_cents, runs[-1].to_cents) == (0, 160 + apart)
        if count == 3:
            step = runs[1]
            assert (step.move, step.jump) == ("up" if apart > 0 else "down", True)
            assert (step.from_cents, step.to_cents) == (30, 30 + apart)

    @pytest.mark.parametrize(("apart", "count"), [(640.0, 3), (660.0, 4), (-1902.0, 4)])
    def test_between_a_stand_and_a_move_only_a_leap_that_no_finger_makes_is_a_step(self, apart, count) -> None:
        runs = find_runs([stand(0, 20, 0), going(20, 40, apart, apart + 300), stand(40, 90, apart + 300)])
        assert len(runs) == count
        assert [run.jump for run in runs].count(True) == count - 3

    def test_joined_stands_weigh_by_what_is_known(self) -> None:
        sure, vague = Segment("stand", 0, 20, 0, 0, 0, 0.5), Segment("stand", 20, 40, 6, 6, 6, 1.0)
        (run,) = find_runs([sure, vague])
        assert run.cents == pytest.approx(6 * 0.2)
        assert run.sigma_cents == pytest.approx((4 + 1) ** -0.5)

    @pytest.mark.parametrize(("down", "move"), [(79.0, "flat"), (81.0, "down")])
    def test_a_note_that_begins_by_coming_down_a_little_settled(self, down, move) -> None:
        run = settled(Run("down", 0, 30, down, 0.0, 0.4))
        assert run.move == move
        if move == "flat":
            assert run.cents == 0.0
            assert run.sigma_cents >= 1.0

    @pytest.mark.parametrize(
        ("up", "seconds", "move"),
        [(8.0, 0.3, "flat"), (12.0, 0.4, "flat"), (12.0, 0.2, "up"), (15.9, 0.5, "flat"), (16.0, 0.5, "up")],
    )
    def test_a_note_that_begins_by_creeping_up_stands_where_it_comes_to(self, up, seconds, move) -> None:
        run = settled(Run("up", 0, round(seconds / BIN_S), 0.0, up, 0.4))
        assert (run.move, run.to_cents) == (move, up)
        assert settled(replace(run, jump=True)) == replace(run, jump=True)

    def test_trembling_faster_than_a_hand_ends_the_story(self) -> None:
        shaking = [going(40 + 8 * i, 48 + 8 * i, *((0, 30), (30, 0))[i % 2]) for i in range(4)]
        runs = find_runs([stand(0, 40, 0), *shaking])
        assert moves(of_a_hand(runs)) == [("flat", 0, 40, False)]
        slow = [going(40 + 10 * i, 50 + 10 * i, *((0, 30), (30, 0))[i % 2]) for i in range(4)]
        runs = find_runs([stand(0, 40, 0), *slow])
        assert of_a_hand(runs) == runs


def swinging(sizes, bins: int = 17) -> list[Run]:
    runs, here = [Run("flat", 0, 40, 0.0, 0.0)], 0.0
    for i, size in enumerate(sizes):
        to = here + (size if i % 2 == 0 else -size)
        begin = runs[-1].end
        runs.append(Run("up" if to > here else "down", begin, begin + bins, here, to))
        here = to
    return runs


class TestSwing:
    @pytest.mark.parametrize(("count", "found"), [(3, False), (4, True), (9, True)])
    def test_four_strokes_make_vibrato(self, count, found) -> None:
        swing = find_swing(swinging([40.0] * count))
        assert (swing is not None) == found
        if swing:
            assert (swing[0].low, swing[0].high, swing[1:]) == (0.0, 40.0, (1, count + 1))

    def test_strokes_unlike_each_other_do_not(self) -> None:
        assert find_swing(swinging([20.0, 20.0, 80.0, 80.0])) is None

    @pytest.mark.parametrize(("bins", "found"), [(4, False), (6, True), (17, True), (56, True), (57, False)])
    def test_half_a_cycle_lasts_27_to_300_ms(self, bins, found) -> None:
        assert (find_swing(swinging([40.0] * 5, bins)) is not None) == found

    def test_a_jump_or_a_stand_in_it_ends_it(self) -> None:
        runs = swinging([40.0] * 6)
        long_stand = [*runs[:4], Run("flat", 91, 91 + 14, 40.0, 40.0), *runs[4:]]
        assert find_swing(long_stand) is None
        jumped = [
            r if i != 3 else Run(r.move, r.begin, r.end, r.from_cents, r.to_cents, jump=True)
            for i, r in enumerate(runs)
        ]
        assert find_swing(jumped) is None


class TestWays:
    def way(self, *legs, top: float, window_s: float = 0.016) -> str:
        cents = as_heard(glide([(0.1, 0.0), *legs, (0.1, top)]), window_s=window_s)
        t = np.arange(len(cents)) * STEP_S
        return way_of(t, t, cents, 0.0, top)

    @pytest.mark.parametrize("height", [100.0, 200.0, 300.0, 400.0])
    @pytest.mark.parametrize("window_s", [0.004, 0.016, 0.024])
    def test_a_step_is_a_jump(self, height, window_s) -> None:
        assert self.way((0.0, height), top=height, window_s=window_s) == "jump"
        assert self.way((0.0, -height), top=-height, window_s=window_s) == "jump"

    def test_under_75_cents_no_finger_jumped(self) -> None:
        assert self.way((0.0, 74.0), top=74.0) == "glide"
        assert self.way((0.0, 76.0), top=76.0) == "jump"

    @pytest.mark.parametrize("height", [100.0, 200.0, 300.0, 500.0])
    @pytest.mark.parametrize("rise_s", [0.06, 0.1, 0.2])
    def test_a_hands_rise_is_a_glide(self, height, rise_s) -> None:
        assert self.way((rise_s, height), top=height) == "glide"

    @pytest.mark.parametrize("frets", [2, 3, 4, 5])
    @pytest.mark.parametrize("tread_s", [0.03, 0.04, 0.05])
    def test_stairs_are_a_slide(self, frets, tread_s) -> None:
        legs = [leg for f in range(1, frets) for leg in ((0.0, 100.0 * f), (tread_s, 100.0 * f))]
        assert self.way(*legs, (0.0, 100.0 * frets), top=100.0 * frets) == "slide"

    @pytest.mark.parametrize("height", [200.0, 300.0])
    @pytest.mark.parametrize(("rise_s", "left_out_s"), [(0.06, 0.015), (0.09, 0.015), (0.09, 0.030)])
    def test_a_glide_in_which_the_ear_starts_its_window_afresh_is_none(self, height, rise_s, left_out_s) -> None:
        """What it hears next it measures later: by the time of hearing a piece of the way is missing."""
        cents = as_heard(glide([(0.1, 0.0), (rise_s, height), (0.1, height)]), window_s=0.016)
        time_s = np.arange(len(cents)) * STEP_S
        afresh_s = 0.1 + 0.5 * rise_s
        heard = (time_s < afresh_s) | (time_s >= afresh_s + left_out_s)
        time_s, cents = time_s[heard], cents[heard]
        late_s = np.where(time_s < afresh_s, left_out_s, 0.002)
        assert way_of(time_s, time_s + late_s, cents, 0.0, height) == "glide"

    @pytest.mark.parametrize(("frets", "tread_s", "window_s"), [(2, 0.04, 0.032), (3, 0.02, 0.024)])
    def test_stairs_that_the_ear_blurs_are_still_a_slide_on_the_way_down(self, frets, tread_s, window_s) -> None:
        """A released pre-bend may be praised; on the way up the same may be a quick bend that was heard badly."""
        legs = [leg for f in range(1, frets) for leg in ((0.0, -100.0 * f), (tread_s, -100.0 * f))]
        assert self.way(*legs, (0.0, -100.0 * frets), top=-100.0 * frets, window_s=window_s) == "slide"

    @pytest.mark.parametrize("height", [-200.0, -300.0])
    @pytest.mark.parametrize("fall_s", [0.04, 0.06, 0.1])
    @pytest.mark.parametrize("window_s", [0.004, 0.016, 0.024])
    def test_a_hands_release_is_a_glide(self, height, fall_s, window_s) -> None:
        assert self.way((fall_s, height), top=height, window_s=window_s) == "glide"

    def test_stairs_that_end_between_frets_are_no_slide(self) -> None:
        assert self.way((0.0, 115.0), (0.04, 115.0), (0.0, 230.0), top=230.0) == "glide"


class TestOwnSound:
    """Levels of a reading each 2.67 ms."""

    def sound(self, *legs, silent=True, clear=None, jitter=0.0):
        """`legs`: (seconds, dB at their end), in straight lines."""
        parts, here = [], legs[0][1]
        for seconds, db in legs:
            parts.append(np.linspace(here, db, max(1, round(seconds / STEP_S)), endpoint=False))
            here = db
        level = np.concatenate([*parts, np.full(45, here)])
        level = level + jitter * np.random.default_rng(1).normal(size=len(level))
        heard = np.arange(len(level)) * STEP_S
        clear_db = np.zeros(len(level)) if clear is None else np.asarray(clear(heard))
        return own_sound(heard, level, clear_db, np.full(len(level), 220.0), np.ones(len(level)), silent=silent)

    @pytest.mark.parametrize("cut_s", [0.005, 0.02, 0.04])
    @pytest.mark.parametrize("after_s", [0.3, 1.0, 2.0])
    def test_a_hand_takes_a_string_down_at_once(self, cut_s, after_s) -> None:
        found = self.sound((after_s, -20.0 - 8 * after_s), (cut_s, -75.0), jitter=0.2)
        assert found.by_hand
        assert after_s - 0.045 < found.until_s < after_s + cut_s

    @pytest.mark.parametrize("fade_s", [0.6, 1.5])
    def test_a_string_that_fades_was_not_cut(self, fade_s) -> None:
        found = self.sound((0.2, -20.0), (fade_s, -75.0), jitter=0.2)
        assert not found.by_hand
        assert found.until_s < 0.2 + fade_s

    def test_one_that_still_sounds_is_its_own_to_the_end(self) -> None:
        found = self.sound((1.0, -26.0), silent=False)
        assert not found.by_hand
        assert found.until_s > 1.0

    def test_into_hum_the_distance_from_silence_tells(self) -> None:
        found = self.sound((0.5, -40.0), (0.01, -44.0), clear=lambda t: np.where(t < 0.5, 20.0, 0.0))
        assert found.by_hand
        assert found.until_s == pytest.approx(0.46, abs=0.04)
        rang = self.sound((0.5, -40.0), (0.01, -44.0), clear=lambda t: np.clip(20.0 - 40 * t, 0, None))
        assert not rang.by_hand

    def test_in_a_room_the_level_breaks_once_and_for_good(self) -> None:
        found = self.sound((0.6, -23.0), (0.02, -33.0), (0.5, -50.0), silent=False)
        assert found.by_hand
        assert found.until_s == pytest.approx(0.59, abs=0.04)

    def test_a_swell_that_comes_back_is_no_end(self) -> None:
        assert not self.sound((0.4, -20.0), (0.03, -35.0), (0.03, -20.0), (0.5, -26.0), silent=False).by_hand

    @given(gain=st.floats(-20, 10))
    def test_gain_changes_nothing(self, gain) -> None:
        legs = [(0.5, -25.0), (0.02, -80.0)]
        a, b = self.sound(*legs), self.sound(*[(s, db + gain) for s, db in legs])
        assert (a.until_s, a.by_hand) == (b.until_s, b.by_hand)

    @pytest.mark.parametrize("lost_db", [13.0, 20.0, 30.0])
    def test_the_end_of_a_note_that_the_next_pluck_stops_is_no_silence(self, lost_db) -> None:
        """All of it is the string's: it faded, and says nothing of how quiet silence is."""
        heard = np.arange(300) * STEP_S
        level = -20.0 - lost_db * heard / heard[-1]
        steady = np.full(300, 60.0), np.full(300, 220.0), np.ones(300)
        found = own_sound(heard, level, *steady, silent=False, struck=True)
        assert (found.until_s, found.by_hand) == (pytest.approx(heard[-1]), False)

    def test_hardly_any_readings_are_all_its_own(self) -> None:
        assert own_sound(np.arange(5) * 0.1, *np.zeros((4, 5)), silent=True).until_s == pytest.approx(0.4)
        assert own_sound(*np.zeros((5, 0)), silent=True).until_s == 0.0

    def echoed(self, *, break_db=3.6, stopped=0.1, echo=0.02, away=8.0, echo_s=0.5) -> OwnSound:
        """A string stopped after 0.6 s whose echo is a third of the sound; `stopped`, `echo`: the ear's doubt."""
        heard = np.arange(0, 0.6 + echo_s, STEP_S)
        rings = heard < 0.6
        level = np.where(rings, -25.0 - 10 * heard, -31.0 - break_db - 40 * (heard - 0.6))
        doubt = np.where(rings, 0.002, np.where(heard < 0.63, stopped, echo))
        wanders = away * np.sqrt(2) * np.sin(2 * np.pi * 9 * heard)
        hz = 220.0 * 2.0 ** (np.where(rings, 0.0, wanders) / 1200.0)
        return own_sound(heard, level, np.full(len(heard), 60.0), hz, 1.0 - doubt, silent=False, struck=True)

    @pytest.mark.parametrize("break_db", [3.6, 5.0])
    @pytest.mark.parametrize("away", [0.0, 8.0, 15.0])
    def test_a_loud_echo_leaves_a_small_break_and_lasting_doubt(self, break_db, away) -> None:
        found = self.echoed(break_db=break_db, away=away)
        assert found.by_hand
        assert found.until_s == pytest.approx(0.6, abs=0.01)

    @pytest.mark.parametrize(
        "how",
        [
            {"break_db": 0.5},
            {"stopped": 0.009, "echo": 0.009},
            {"echo": 0.009},
            {"away": 25.0},
            {"echo_s": 0.2},
        ],
        ids=["no break", "no doubt", "doubted for a moment", "a finger moves it", "the end of the stop"],
    )
    def test_less_than_all_of_that_is_no_echo(self, how) -> None:
        assert self.echoed(**how).until_s > 0.65
