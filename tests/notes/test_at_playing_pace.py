"""Stories as players play them: quick, early, corrected, legato; each at several speeds, as tables."""

from __future__ import annotations

import numpy as np
import pytest
from curves import STEP_S, as_heard, glide, notes_of, readings, slide, tell_notes_of

from pedal.theory.cents import cents_between

REST_HZ = 233.08


def at(hz) -> float:
    return cents_between(REST_HZ, hz)


def only(cents, **how):
    (note,) = notes_of(cents, noise_cents=0.3, **how)
    return note


class TestCurls:
    @pytest.mark.parametrize("rest_s", [0.03, 0.06, 0.1, 0.15])
    @pytest.mark.parametrize("rise_s", [0.05, 0.1, 0.15])
    @pytest.mark.parametrize("cents", [20.0, 48.0])
    def test_a_quick_one_is_measured(self, rest_s, rise_s, cents) -> None:
        note = only(glide([(rest_s, 0), (rise_s, cents), (0.15, cents)]))
        assert (note.shape, note.ending, note.refusal) == ("rise", "cut_sharp", None)
        assert at(note.rest_hz or note.from_hz) == pytest.approx(0, abs=1.0)
        assert note.rest_hz is not None or rest_s <= 0.03
        assert at(note.hold_hz) == pytest.approx(cents, abs=1.0)
        assert note.raised_s == pytest.approx(rest_s, abs=0.032)

    @pytest.mark.parametrize("whole_s", [0.13, 0.16, 0.2, 0.23])
    @pytest.mark.parametrize("cents", [25.0, 45.0])
    def test_a_whole_one_may_last_130_ms(self, whole_s, cents) -> None:
        note = only(glide([(0.3 * whole_s, 0), (0.35 * whole_s, cents), (0.35 * whole_s, cents)]))
        assert (note.shape, note.ending, note.refusal) == ("rise", "cut_sharp", None)
        begin = note.rest_hz or note.from_hz
        assert cents_between(begin, note.hold_hz) == pytest.approx(cents, abs=5.0)

    @pytest.mark.parametrize("back_s", [0.06, 0.12, 0.2])
    def test_a_quick_one_let_go_is_released(self, back_s) -> None:
        note = only(glide([(0.08, 0), (0.08, 35), (0.1, 35), (back_s, 0), (0.15, 0)]))
        assert (note.shape, note.ending) == ("rise_fall", "released")
        assert at(note.hold_hz) == pytest.approx(35, abs=1.5)


def damped(cents, *, from_s):
    """The only note of a curve whose level falls from then on, by 32 dB in 0.2 s."""
    heard = readings(cents, noise_cents=0.3)
    heard = [r._replace(level_db=r.level_db - 160.0 * min(0.2, max(0.0, r.time_s - from_s))) for r in heard]
    (note,) = tell_notes_of(0.0, len(cents) * STEP_S, heard, stopped=False, polyphonic=False)
    return note


class TestDampedOnTheWay:
    """The level breaks while the pitch moves: what a hand had begun goes on, what the damping moves does not."""

    @pytest.mark.parametrize("share", [0.35, 0.6, 0.85])
    @pytest.mark.parametrize("cents", [40.0, 200.0])
    def test_a_bend_counts_by_where_it_comes_to_stand(self, share, cents) -> None:
        note = damped(glide([(0.25, 0), (0.12, cents), (0.12, cents)]), from_s=0.25 + share * 0.12)
        assert (note.shape, note.ending, note.refusal) == ("rise", "cut_sharp", None)
        assert at(note.hold_hz) == pytest.approx(cents, abs=1.5)

    def test_what_moves_only_from_then_on_is_the_damping_hand(self) -> None:
        note = damped(glide([(0.25, 0), (0.06, 28), (0.12, 28)]), from_s=0.245)
        assert (note.shape, note.ending, note.refusal) == ("level", "cut", None)
        assert at(note.rest_hz) == pytest.approx(0, abs=1.0)

    def test_what_comes_to_no_stand_is_no_height(self) -> None:
        note = damped(glide([(0.25, 0), (0.12, 100), (0.04, 100), (0.1, 0)]), from_s=0.33)
        assert at(note.hold_hz) < 95.0


class TestLevel:
    """What nobody bent, though the pitch moved."""

    @pytest.mark.parametrize("rest_s", [0.16, 0.25])
    @pytest.mark.parametrize("cents", [25.0, 40.0])
    def test_a_rise_as_the_hand_damps_the_string(self, rest_s, cents) -> None:
        note = only(glide([(rest_s, 0), (0.04, cents)]))
        assert (note.shape, note.refusal) == ("level", None)
        assert at(note.rest_hz) == pytest.approx(0, abs=1)

    ATTACKS = {
        "down, and a leap up": ([(0.027, 45), (0.026, -60), (0.0, 0)], 45),
        "up, and a leap down": ([(0.027, -60), (0.026, 40), (0.0, 0)], -60),
        "up and down": ([(0.03, 10), (0.03, 100), (0.03, 0)], 10),
        "a step down": ([(0.05, 30), (0.0, 0)], 30),
    }

    @pytest.mark.parametrize(("legs", "start"), ATTACKS.values(), ids=ATTACKS.keys())
    def test_what_the_pick_does_before_the_string_stands(self, legs, start) -> None:
        """First heard after 27 ms, as recorded notes are."""
        heard = readings(glide([*legs, (0.5, 0)], start_cents=start), noise_cents=0.3)
        late = [r._replace(hz=0.0) if i < 10 else r for i, r in enumerate(heard)]
        (note,) = tell_notes_of(0.0, 0.6, late, stopped=False, polyphonic=False)
        assert (note.shape, note.refusal) == ("level", None)
        assert at(note.rest_hz) == pytest.approx(0, abs=1)

    def test_a_string_that_sags_by_less_than_half_a_fret_let_go_of_none(self) -> None:
        note = only(glide([(0.2, 0), (0.06, -22)]))
        assert (note.shape, note.refusal) == ("level", None)
        assert at(note.rest_hz) == pytest.approx(0, abs=1)


class TestBends:
    def test_what_the_pick_does_first_is_no_first_step_of_a_bend(self) -> None:
        heard = readings(glide([(0.03, -25), (0.045, 0), (0.09, 0), (0.1, 200), (0.4, 200)], start_cents=-25))
        late = [r._replace(hz=0.0) if i < 10 else r for i, r in enumerate(heard)]
        (note,) = tell_notes_of(0.0, 0.7, late, stopped=False, polyphonic=False)
        assert (note.shape, note.refusal) == ("rise", None)
        assert note.rest_hz is not None
        assert (at(note.rest_hz), at(note.hold_hz)) == pytest.approx((0, 200), abs=1)

    def test_the_better_known_of_two_rests_counts(self) -> None:
        """The first may last longer, and yet the pluck still moves it."""
        note = only(glide([(0.1, 6), (0.1, 206), (0.2, 206), (0.1, 0), (0.08, 0)], start_cents=6), cut_s=0.3)
        assert (note.shape, note.ending) == ("rise_fall", "released")
        assert at(note.rest_hz) == pytest.approx(0, abs=1)

    @pytest.mark.parametrize("rest_s", [0.0, 0.01, 0.02, 0.03])
    @pytest.mark.parametrize("rise_s", [0.06, 0.15, 0.3])
    def test_one_that_begins_with_the_pluck_keeps_its_height(self, rest_s, rise_s) -> None:
        note = only(glide([(rest_s, 0), (rise_s, 200), (0.4, 200)]))
        assert (note.shape, note.ending, note.refusal) == ("rise", "cut_sharp", None)
        assert at(note.hold_hz) == pytest.approx(200, abs=0.5)
        begin = note.rest_hz or note.from_hz
        assert at(begin) == pytest.approx(0, abs=20.0)  # 12 cents a reading at the steepest, and the first is missed
        assert (note.rest_hz is None) == (note.from_hz is not None)
        if note.rest_hz is not None:
            assert note.rest_sigma_cents > 4.6, "too short to be known well"

    def test_a_long_rest_is_known_better_than_a_short_one(self) -> None:
        sigmas = [only(glide([(s, 0), (0.1, 200), (0.3, 200)])).rest_sigma_cents for s in (0.03, 0.06, 0.12, 0.4)]
        assert sigmas == sorted(sigmas, reverse=True)
        assert sigmas[-1] < 0.5

    @pytest.mark.parametrize("stage_s", [0.07, 0.2])
    def test_one_in_two_stages_counts_by_the_second(self, stage_s) -> None:
        note = only(glide([(0.3, 0), (0.1, 100), (stage_s, 100), (0.1, 200), (0.4, 200)]))
        assert (note.shape, note.ending) == ("rise", "cut_sharp")
        assert at(note.hold_hz) == pytest.approx(200, abs=0.5)
        assert note.rise_s == pytest.approx(0.2 + stage_s, abs=0.04)


class TestPrebends:
    @pytest.mark.parametrize("miss", [-35.0, -20.0, -12.0])
    @pytest.mark.parametrize("after_s", [0.1, 0.3, 0.8])
    def test_a_flat_one_mended(self, miss, after_s) -> None:
        note = only(glide([(after_s, miss), (0.15, 0), (0.4, 0)], start_cents=miss))
        assert note.shape == "rise"
        assert at(note.first_hz) == pytest.approx(miss, abs=1.0)
        assert at(note.mend.hz) == pytest.approx(0, abs=1.0)
        assert note.mend.after_s == pytest.approx(after_s + 0.15, abs=0.04)

    @pytest.mark.parametrize("miss", [35.0, 20.0])
    @pytest.mark.parametrize("after_s", [0.15, 0.3, 0.8])
    def test_a_sharp_one_mended_is_no_settling(self, miss, after_s) -> None:
        note = only(glide([(after_s, miss), (0.15, 0), (0.4, 0)], start_cents=miss))
        assert note.shape == "fall"
        assert at(note.first_hz) == pytest.approx(miss, abs=1.0)
        assert at(note.mend.hz) == pytest.approx(0, abs=1.0)
        assert note.mend.after_s == pytest.approx(after_s + 0.15, abs=0.05)

    @pytest.mark.parametrize("lead_s", [0.0, 0.03, 0.06, 0.1])
    @pytest.mark.parametrize("rise_s", [0.06, 0.12, 0.2])
    def test_one_raised_late_is_told_as_raised(self, lead_s, rise_s) -> None:
        note = only(glide([(lead_s, 0), (rise_s, 200), (0.6, 200)]))
        assert note.shape == "rise"
        assert cents_between(note.first_hz, note.hold_hz) > 150
        assert note.raised_s == pytest.approx(lead_s, abs=0.03)


SIDES = {"both": np.sin, "above": lambda x: 1 - np.cos(x), "below": lambda x: np.cos(x) - 1}


class TestVibrato:
    def bent(self, side: str, *, after_s: float, width: float = 20.0):
        cents = glide([(0.2, 0), (0.15, 200), (1.6, 200)])
        t = np.arange(len(cents)) * STEP_S - after_s
        return only(cents + np.where(t > 0, width * SIDES[side](2 * np.pi * 5.5 * t), 0.0))

    @pytest.mark.parametrize("side", SIDES)
    @pytest.mark.parametrize("width", [10.0, 20.0, 35.0])
    def test_after_a_stand_the_bend_counts_where_it_stood(self, side, width) -> None:
        note = self.bent(side, after_s=0.65, width=width)
        assert note.shape == "rise"
        assert at(note.hold_hz) == pytest.approx(200, abs=1.0)
        assert note.vibrato.side == side
        assert note.vibrato.rate_hz == pytest.approx(5.5, abs=0.15)
        assert note.vibrato.width_cents == pytest.approx(width, rel=0.1)
        assert note.vibrato.evenness > 0.85

    def test_at_once_a_two_sided_one_counts_by_its_middle_a_dipping_one_by_its_top(self) -> None:
        assert at(self.bent("both", after_s=0.37).hold_hz) == pytest.approx(200, abs=3.0)
        assert at(self.bent("below", after_s=0.37).hold_hz) == pytest.approx(200, abs=3.0)
        assert self.bent("below", after_s=0.37).vibrato.side == "below"

    def test_uneven_cycles_are_told(self) -> None:
        cents = glide([(0.2, 0), (0.15, 200), (2.0, 200)])
        t = np.maximum(0.0, np.arange(len(cents)) * STEP_S - 0.6)
        even = only(cents + 20 * np.sin(2 * np.pi * 5.0 * t))
        uneven = only(cents + 20 * np.sin(2 * np.pi * (5.0 * t + 0.25 * np.sin(2 * np.pi * 0.9 * t))))
        assert uneven.vibrato.evenness < even.vibrato.evenness - 0.05


class TestLegato:
    def told(self, *legs, start: float = 0.0):
        return notes_of(as_heard(glide(list(legs), start_cents=start)), noise_cents=0.3)

    def test_bend_release_and_pull_off(self) -> None:
        bend, off = self.told((0.2, 0), (0.15, 200), (0.3, 200), (0.15, 0), (0.2, 0), (0, -300), (0.35, -300))
        assert (bend.shape, bend.ending, bend.begun_by) == ("rise_fall", "released", "pluck")
        assert at(bend.hold_hz) == pytest.approx(200, abs=1)
        assert (off.shape, off.begun_by) == ("level", "pull_off")
        assert at(off.rest_hz) == pytest.approx(-300, abs=1)
        assert bend.end_s == off.onset_s == pytest.approx(1.0, abs=0.03)

    def test_hammer_on_and_bend(self) -> None:
        first, bend = self.told((0.2, -300), (0, 0), (0.2, 0), (0.15, 200), (0.4, 200), start=-300)
        assert (first.shape, first.begun_by) == ("level", "pluck")
        assert (bend.shape, bend.ending, bend.begun_by) == ("rise", "cut_sharp", "hammer_on")
        assert (at(bend.rest_hz), at(bend.hold_hz)) == pytest.approx((0, 200), abs=1)

    def test_the_rest_of_a_hammered_tone_is_the_one_that_it_stood_on_longer(self) -> None:
        """How long the tone before it lasted has nothing to do with it."""
        _, bend = self.told((0.6, -300), (0, 0), (0.1, 0), (0.15, 200), (0.2, 200), (0.15, 4), (0.4, 4), start=-300)
        assert (bend.shape, bend.begun_by) == ("rise_fall", "hammer_on")
        assert (at(bend.rest_hz), at(bend.hold_hz)) == pytest.approx((4, 200), abs=1)

    @pytest.mark.parametrize("cents", [25.0, 55.0])
    def test_the_tug_of_a_pull_off_is_no_curl(self, cents) -> None:
        """The finger that leaves pulls the string aside: it rises for its last hundredths of a second."""
        tugged, off = self.told((0.3, 0), (0.05, cents), (0, -300), (0.35, -300))
        assert (tugged.shape, off.shape, off.begun_by) == ("level", "level", "pull_off")
        assert at(tugged.rest_hz) == pytest.approx(0, abs=1)

    @pytest.mark.parametrize("up_by", [10, 14])
    def test_a_hammer_on_from_a_string_that_creeps_up_is_no_bend(self, up_by) -> None:
        """The creep and the leap were one rise, told as a bend that nobody played."""
        first, second = self.told((0.2, up_by), (0, 300), (0.3, 300))
        assert [(n.shape, n.begun_by) for n in (first, second)] == [("level", "pluck"), ("level", "hammer_on")]

    @pytest.mark.parametrize("frets", [1, 2, 3])
    def test_a_hammer_on_between_level_tones_is_two_steady_notes(self, frets) -> None:
        notes = self.told((0.4, 0), (0, 100 * frets), (0.5, 100 * frets))
        assert [(n.shape, n.refusal, n.begun_by) for n in notes] == [
            ("level", None, "pluck"),
            ("level", None, "hammer_on"),
        ]
        assert [at(n.rest_hz) for n in notes] == pytest.approx([0, 100 * frets], abs=1)

    def test_a_pull_off_is_two_steady_notes(self) -> None:
        assert [(n.shape, n.begun_by) for n in self.told((0.4, 200), (0, 0), (0.5, 0), start=200)] == [
            ("level", "pluck"),
            ("level", "pull_off"),
        ]

    @pytest.mark.parametrize("times", [2, 3])
    def test_a_trill_is_one_refused_note(self, times) -> None:
        (note,) = self.told((0.2, 0), *[leg for _ in range(times) for leg in ((0, 200), (0.1, 200), (0, 0), (0.1, 0))])
        assert (note.shape, note.refusal) == ("not_a_bend", "hammer_on")

    def test_the_trace_of_a_tone_is_its_own(self) -> None:
        first, second = self.told((0.4, 0), (0, 200), (0.5, 200))
        assert first.trace.time_s.max() < second.trace.time_s.min()
        assert np.abs(1200 * np.log2(second.trace.hz / REST_HZ) - 200).max() < 60


class TestSlides:
    @pytest.mark.parametrize("frets", [2, 3, 4, 5])
    @pytest.mark.parametrize("tread_s", [0.02, 0.03, 0.04, 0.05])
    @pytest.mark.parametrize("up", [True, False], ids=["up", "down"])
    def test_nothing_of_one_is_a_bend(self, frets, tread_s, up) -> None:
        notes = notes_of(slide(frets, tread_s, up=up), noise_cents=0.3)
        assert notes
        assert all(n.shape in ("level", "not_a_bend") for n in notes)

    @pytest.mark.parametrize("frets", [2, 3, 4, 5])
    @pytest.mark.parametrize("rise_s", [0.06, 0.08, 0.15])
    @pytest.mark.parametrize("up", [True, False], ids=["up", "down"])
    def test_a_bend_of_60_ms_is_none(self, frets, rise_s, up) -> None:
        top = 100.0 * frets * (1 if up else -1)
        note = only(as_heard(glide([(0.3, 0), (rise_s, top), (0.4, top)])))
        assert note.shape == ("rise" if up else "fall")
        assert (at(note.hold_hz) if up else at(note.rest_hz)) == pytest.approx(top, abs=1)

    @pytest.mark.parametrize("tread_s", [0.03, 0.04])
    def test_no_height_is_told_that_nobody_heard(self, tread_s) -> None:
        cents = as_heard(glide([(0.3, 0), (0, 100), (tread_s, 100), (0, 200), (0.4, 200)]), window_s=0.008)
        for note in notes_of(cents, noise_cents=0.3):
            for hz in (note.rest_hz, note.first_hz, note.hold_hz, note.peak_hz, note.from_hz):
                assert hz is None or -10 <= at(hz) <= 210


class TestRestsThatOnlySettle:
    @pytest.mark.parametrize("tau_s", [0.03, 0.06, 0.15])
    @pytest.mark.parametrize("sharp", [5.0, 15.0, 30.0, 50.0, 70.0])
    def test_a_pluck_that_starts_sharp_is_level(self, sharp, tau_s) -> None:
        t = np.arange(round(1.2 / STEP_S)) * STEP_S
        note = only(sharp * np.exp(-t / tau_s))
        assert (note.shape, note.ending) == ("level", "cut")
        assert at(note.rest_hz) == pytest.approx(0, abs=1.5)

    @pytest.mark.parametrize(("sharp", "tau_s"), [(15.0, 1.0), (35.0, 1.0), (70.0, 0.6)])
    def test_however_long_it_takes(self, sharp, tau_s) -> None:
        t = np.arange(round(2.5 / STEP_S)) * STEP_S
        assert only(sharp * np.exp(-t / tau_s)).shape == "level"

    @pytest.mark.parametrize("sharp", [10.0, 30.0, 50.0])
    def test_a_bend_after_it_keeps_its_height(self, sharp) -> None:
        cents = glide([(0.4, 0), (0.15, 200), (0.4, 200)])
        note = only(cents + sharp * np.exp(-np.arange(len(cents)) * STEP_S / 0.06))
        assert note.shape == "rise"
        assert cents_between(note.rest_hz, note.hold_hz) == pytest.approx(200, abs=2.0)


class TestEnds:
    @pytest.mark.parametrize("falls", [15.0, 30.0, 60.0])
    def test_what_a_damping_hand_does_to_the_pitch_is_no_story(self, falls) -> None:
        level, bent = glide([(0.5, 0)]), glide([(0.3, 0), (0.1, 200), (0.3, 200)])
        hand = -falls * np.linspace(0, 1, 25)
        assert only(np.concatenate([level, hand]), cut_s=0.065).shape == "level"
        note = only(np.concatenate([bent, 200 + hand]), cut_s=0.065)
        assert (note.shape, note.ending) == ("rise", "cut_sharp")
        assert at(note.hold_hz) == pytest.approx(200, abs=1)

    @pytest.mark.parametrize("touch_s", [0.01, 0.025, 0.035])
    def test_what_the_next_pick_does_is_no_story(self, touch_s) -> None:
        cents = np.concatenate([glide([(0.6, 0)]), -80 * np.linspace(0, 1, round(touch_s / STEP_S))])
        (note,) = notes_of(cents, stopped=True)
        assert (note.shape, note.ending) == ("level", "cut")
        assert at(note.final_hz) == pytest.approx(0, abs=2)


class TestGraceNotes:
    """Slid or hammered into before the string was heard to stand: what it leads to was fretted, and not bent to."""

    FRETS = [
        (1, 0.020, "hammer_on"),
        (1, 0.025, "hammer_on"),
        (2, 0.03, "slide"),
        (2, 0.04, "slide"),
        (3, 0.03, "slide"),
    ]

    @staticmethod
    def grace(frets: int, tread_s: float, *legs: tuple[float, float]) -> np.ndarray:
        treads = [leg for fret in range(frets, 0, -1) for leg in ((0.0, -100.0 * fret), (tread_s, -100.0 * fret))]
        return as_heard(glide([*treads, (0.0, 0.0), *legs], start_cents=-100.0 * frets))

    @pytest.mark.parametrize(("frets", "tread_s", "begun_by"), FRETS)
    def test_no_bend_is_praised_that_nobody_bent(self, frets: int, tread_s: float, begun_by: str) -> None:
        note = only(self.grace(frets, tread_s, (0.4, 0)))
        assert (note.shape, note.refusal, note.begun_by) == ("level", None, begun_by)
        assert at(note.rest_hz) == pytest.approx(0, abs=1)

    @pytest.mark.parametrize(("frets", "tread_s", "begun_by"), FRETS)
    def test_a_bend_after_it_counts_from_where_it_led(self, frets: int, tread_s: float, begun_by: str) -> None:
        note = only(self.grace(frets, tread_s, (0.2, 0), (0.12, 200), (0.3, 200)))
        assert (note.shape, note.begun_by) == ("rise", begun_by)
        assert at(note.rest_hz) == pytest.approx(0, abs=1)
        assert at(note.hold_hz) == pytest.approx(200, abs=1)


class TestFallOff:
    """At its end the hand lets the string slide down the neck: past where the bend began, and to no rest."""

    @pytest.mark.parametrize("cents", [35.0, 200.0])
    def test_a_bend_or_curl_that_stood_is_told_with_it(self, cents: float) -> None:
        note = only(glide([(0.2, 0), (0.15, cents), (0.3, cents), (0.2, -500)]), stopped=True)
        assert (note.shape, note.ending) == ("rise_fall", "released")
        assert at(note.rest_hz) == pytest.approx(0, abs=1)
        assert at(note.hold_hz) == pytest.approx(cents, abs=1)

    def test_a_level_note_stays_no_bend(self) -> None:
        note = only(glide([(0.4, 0), (0.2, -500)]), stopped=True)
        assert (note.shape, note.rest_hz) == ("fall", None)


def test_a_bend_of_a_string_that_fades_soon_counts_by_where_it_comes_to_stand() -> None:
    """Muted by the palm: its level passes what counts as faded while it still rises, and its pitch is clear."""
    note = only(glide([(0.4, 0), (0.2, 200), (0.25, 200)]), decay_db_s=70.0)
    assert note.shape == "rise"
    assert at(note.hold_hz) == pytest.approx(200, abs=1)
