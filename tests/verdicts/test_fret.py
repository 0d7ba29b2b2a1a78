"""The fretted pitch: measured where it was heard long, leaning on the grid where briefly, chosen where not at all."""

from __future__ import annotations

import dataclasses
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from played import aim, played

from pedal.notes.note import BegunBy, Note
from pedal.theory.cents import cents_between, hz_of, midi_of
from pedal.theory.spelling import parse_pitch
from pedal.verdicts.fret import GuitarOffset, find_fret
from pedal.verdicts.judge import judge
from pedal.verdicts.measure import measure


def rested(rest: str, off: float, *, sigma: float = 0.2, cents: float = 200.0, **how) -> Note:
    note = played(rest, cents, detuned=off, **how)
    return dataclasses.replace(note, rest_sigma_cents=sigma)


def unheard(base: str, first_heard: float, cents: float, **how) -> Note:
    """A bend whose rest nobody heard: it was first heard so far above its fret."""
    note = played(None, cents, base=base, first=first_heard, **how)
    return dataclasses.replace(note, from_hz=note.first_hz)


def taught(*offs: float, midi: int = 60) -> GuitarOffset:
    guitar = GuitarOffset()
    for number, off in enumerate(offs):
        hz = hz_of(midi + number % 5 + off / 100)
        level = dataclasses.replace(played("C4", 0.0, shape="level", ending="cut"), rest_hz=hz, rest_sigma_cents=0.3)
        guitar.learn(level, a4_hz=440.0)
    return guitar


def offset_after(**how) -> tuple[float, float]:
    """What three such rests teach a guitar that knows nothing yet: one alone would move nothing, whatever it is."""
    guitar = GuitarOffset()
    for _ in range(3):
        note = dataclasses.replace(rested("C4", 10.0, cents=0.0, shape="level", ending="cut"), **how)
        guitar.learn(note, a4_hz=440.0)
    known = guitar.against(440.0)
    return known.cents, known.sigma_cents


def off_grid(fret) -> float:
    return cents_between(hz_of(fret.midi), fret.hz)


class TestHeard:
    @given(off=st.floats(-34, 34), sigma=st.floats(0, 30))
    def test_the_fret_lies_between_the_grid_and_what_was_heard(self, off, sigma) -> None:
        fret = find_fret(rested("C4", off, sigma=sigma), aim(), GuitarOffset())
        assert fret.midi == 60
        low, high = sorted((0.0, off))
        assert low - 1e-6 <= off_grid(fret) <= high + 1e-6

    def test_the_posterior_is_the_one_of_two_normals(self) -> None:
        fret = find_fret(rested("C4", 10.0, sigma=5.0), aim(), GuitarOffset())
        assert off_grid(fret) == pytest.approx(5.0)  # 5 cents of grid against 5 cents of hearing
        fret = find_fret(rested("C4", 10.0, sigma=0.0), aim(), GuitarOffset())
        assert off_grid(fret) == pytest.approx(10.0)

    @pytest.mark.parametrize(("raised_s", "sharp"), [(0.03, 2.5), (0.1, 1.472), (0.3, 0.199), (1.0, 0.0)])
    def test_a_rest_so_soon_after_the_pluck_is_a_little_sharp(self, raised_s, sharp) -> None:
        """As recorded notes are: 1.5 to 3.8 cents 30 to 80 ms after the pluck, 0.7 to 1.8 after 100 to 200."""
        note = dataclasses.replace(rested("C4", 10.0, sigma=5.0), raised_s=raised_s)
        assert off_grid(find_fret(note, aim(), GuitarOffset())) == pytest.approx((10.0 - sharp) / 2, abs=0.001)

    def test_a_rest_heard_after_the_release_is_not(self) -> None:
        note = dataclasses.replace(rested("C4", 10.0, sigma=1.0), raised_s=0.03)
        assert off_grid(find_fret(note, aim(), GuitarOffset())) == pytest.approx(9.5 * 25 / 26)

    def test_what_is_over_as_soon_is_measured_from_a_string_as_sharp(self) -> None:
        """A curl that left its fret after 40 ms, rose in 60 and stood for 80 stood 140 ms after the pluck."""
        quick = dataclasses.replace(played("C4", 30.0), raised_s=0.04, rise_s=0.06, hold_s=0.08)
        heights = [measure(dataclasses.replace(quick, begun_by=begun_by), aim(), GuitarOffset())
                   for begun_by in ("pluck", "slide")]  # fmt: skip
        plucked, slid = (each.bend + each.rest_cents for each in heights if each is not None)
        assert slid - plucked == pytest.approx(0.986, abs=0.001)

    @pytest.mark.parametrize("begun_by", [way for way in get_args(BegunBy) if way != "pluck"])
    def test_what_no_pluck_began_is_as_it_was_heard(self, begun_by) -> None:
        note = dataclasses.replace(rested("C4", 10.0, sigma=5.0), raised_s=0.03, begun_by=begun_by)
        assert off_grid(find_fret(note, aim(), GuitarOffset())) == pytest.approx(5.0)

    @pytest.mark.parametrize(("sigma", "heard"), [(0.0, True), (4.3, True), (4.5, False), (20.0, False)])
    def test_a_rest_hardly_known_was_not_heard_and_the_verdict_says_so(self, sigma, heard) -> None:
        assert judge(rested("C4", 6.0, sigma=sigma), aim()).rest_heard == heard

    @pytest.mark.parametrize("off", [36.0, -44.0])
    def test_a_rest_far_off_the_grid_is_taken_as_it_was_heard(self, off) -> None:
        fret = find_fret(rested("C4", off, sigma=10.0), aim(), GuitarOffset())
        assert (fret.heard, off_grid(fret)) == (True, pytest.approx(off))

    def test_a_short_rest_leans_on_the_guitars_own_offset(self) -> None:
        guitar = taught(*[-12.0] * 15)
        fret = find_fret(rested("C4", 0.0, sigma=20.0), aim(), guitar)
        assert off_grid(fret) == pytest.approx(-11.0, abs=0.6)

    def test_a_guitar_half_a_fret_flat_still_names_the_fret(self) -> None:
        note = rested("C4", -55.0)
        assert find_fret(note, aim(), GuitarOffset()).midi == 59
        assert find_fret(note, aim(), taught(*[-30.0] * 15)).midi == 60


class TestUnheard:
    def test_the_fret_just_below_where_it_was_first_heard(self) -> None:
        verdict = judge(unheard("C4", 20.0, 195.0), aim())
        assert (verdict.rest_note, verdict.target_note, verdict.rest_heard) == ("C4", "D4", False)
        assert verdict.error_cents == pytest.approx(-5.0)

    @pytest.mark.parametrize("first", [5.0, 60.0, 90.0])
    def test_a_fret_of_the_key_before_one_outside_it(self, first) -> None:
        assert judge(unheard("C4", first, 200.0), aim()).rest_note == "C4"

    @pytest.mark.parametrize(("raised_s", "rest"), [(0.01, "Bb3"), (0.08, "A3")])
    def test_a_curl_that_a_hard_pluck_is_heard_below_still_starts_on_its_fret(self, raised_s, rest) -> None:
        note = dataclasses.replace(unheard("Bb3", -32.0, 40.0), raised_s=raised_s)
        assert judge(note, aim()).rest_note == rest

    def test_a_fret_outside_the_key_where_only_that_is_near(self) -> None:
        assert find_fret(unheard("A3", 3.0, 195.0), aim("G minor pentatonic"), GuitarOffset()).midi == parse_pitch("A3")

    @pytest.mark.parametrize(("first", "rest"), [(70.0, "A3"), (95.0, "Bb3"), (104.0, "Bb3")])
    def test_of_two_frets_of_the_key_the_likelier(self, first, rest) -> None:
        """A rise is heard some way above its fret, but hardly ever below it."""
        fret = find_fret(unheard("A3", first, 200.0), aim("G minor"), GuitarOffset())
        assert fret.midi == parse_pitch(rest)

    @pytest.mark.parametrize(("held", "rest"), [(-20.0, "Bb3"), (7.9, "Bb3"), (8.1, "C4"), (120.0, "C4")])
    def test_a_string_that_rose_never_stands_below_its_fret(self, held, rest) -> None:
        """First heard 30 cents below C4; where it then stood not 8 above it, it began at the note below in the key."""
        note = dataclasses.replace(unheard("C4", -30.0, held), raised_s=0.01)
        assert find_fret(note, aim(), GuitarOffset()).midi == parse_pitch(rest)

    def test_the_target_decides_where_one_is_asked_for(self) -> None:
        asked = aim("G minor pentatonic", judge_as="ladder", bends=("A3", "B3"))
        assert find_fret(unheard("A3", 70.0, 200.0), asked, GuitarOffset()).midi == parse_pitch("A3")

    def test_the_guitars_offset_is_in_it(self) -> None:
        fret = find_fret(unheard("C4", 20.0, 190.0), aim(), taught(*[-10.0] * 15))
        assert off_grid(fret) == pytest.approx(-10.0 * 15 / 16)
        assert not fret.heard

    def test_no_fret_lies_below_the_lowest_string(self) -> None:
        fret = find_fret(unheard("D#2", 2.0, 190.0), aim("E minor pentatonic", lowest_midi=40), GuitarOffset())
        assert fret.midi == 40

    def test_nothing_tells_where_a_bent_string_rested(self) -> None:
        assert find_fret(played(None, 200.0, shape="fall", base="C4"), aim(), GuitarOffset()) is None


class TestPicksNoise:
    """A rise from nowhere to a fret: the pick's while that sounds, the hand's after it."""

    @pytest.mark.parametrize(("raised_s", "kind"), [(0.02, "steady"), (0.045, "steady"), (0.07, "bend")])
    def test_a_rise_that_is_first_heard_after_the_pick_is_the_hands(self, raised_s, kind) -> None:
        note = dataclasses.replace(unheard("C4", 175.0, 200.0), raised_s=raised_s)
        verdict = judge(note, aim())
        assert (verdict.kind, verdict.rest_note) == (kind, "D4" if kind == "steady" else "C4")

    @pytest.mark.parametrize(
        ("from_cents", "raised_s", "kind"),
        [(185.0, 0.07, "steady"), (185.0, 0.1, "steady"), (185.0, 0.101, "bend"), (183.0, 0.07, "bend")],
    )
    def test_a_string_that_is_heard_late_and_then_creeps_up_was_not_bent(self, from_cents, raised_s, kind) -> None:
        """11 to 13 cents flat when first heard 60 to 85 ms after the pluck: a level C4 of two sound fonts."""
        note = dataclasses.replace(unheard("C4", from_cents, 200.0), raised_s=raised_s)
        assert judge(note, aim()).kind == kind

    @pytest.mark.parametrize(("raised_s", "kind"), [(0.01, "steady"), (0.03, "steady"), (0.035, "bend")])
    def test_the_very_first_of_a_hard_pluck_lies_further_off(self, raised_s, kind) -> None:
        """60 cents below where it then stands: a bend that began there has twice that still before it."""
        note = dataclasses.replace(unheard("C4", 140.0, 200.0), raised_s=raised_s)
        assert judge(note, aim()).kind == kind

    def test_a_rise_from_nowhere_as_high_as_a_quick_bends_is_one(self) -> None:
        note = dataclasses.replace(unheard("C4", 115.0, 200.0), raised_s=0.01)
        assert judge(note, aim()).kind == "bend"

    @pytest.mark.parametrize(
        ("off", "raised_s", "kind"), [(-44, 0.1, "steady"), (-44, 0.3, "curl"), (-30, 0.1, "curl")]
    )
    def test_what_lies_so_far_off_every_fret_so_soon_is_no_rest(self, off, raised_s, kind) -> None:
        """A sampled E2 is heard 47 cents flat for 30 ms, and then stands on its fret; Praat hears it so, too."""
        note = dataclasses.replace(rested("Bb3", off, sigma=3.0, cents=-off), raised_s=raised_s, rise_s=0.03)
        assert judge(note, aim()).kind == kind

    @pytest.mark.parametrize("begun_by", ["pluck", "hammer_on", "pull_off"])
    def test_however_the_tone_began(self, begun_by) -> None:
        note = dataclasses.replace(unheard("C4", 181.0, 200.0), raised_s=0.0, begun_by=begun_by)
        assert judge(note, aim()).kind == "steady"


class TestOffset:
    def test_it_is_nothing_before_the_first_rest_and_trusts_few_less(self) -> None:
        assert GuitarOffset().against(440.0).cents == 0.0
        assert taught(12.0).against(440.0).cents == 0.0, "a bend that was taken for a level note taught it 10 cents"
        assert taught(12.0, 12.0).against(440.0).cents == pytest.approx(8.0)
        assert taught(*[12.0] * 15).against(440.0).cents == pytest.approx(12.0 * 15 / 16)
        sigmas = [taught(*[1.0] * count).against(440.0).sigma_cents for count in (0, 1, 15)]
        assert sigmas == pytest.approx([5.0, 4.0, 3.125])

    @given(st.lists(st.floats(-34, 34), min_size=7, max_size=7))
    def test_seven_rests_of_fifteen_however_wild_hardly_move_it(self, wild) -> None:
        guitar = taught(*[8.0, 8.0], *[x for w in wild for x in (w, 8.0)][:13])
        assert guitar.against(440.0).cents == pytest.approx(8.0 * 15 / 16)

    def test_only_the_last_fifteen_count(self) -> None:
        assert taught(*[-20.0] * 30, *[10.0] * 15).against(440.0).cents == pytest.approx(10.0 * 15 / 16)

    @pytest.mark.parametrize(
        "how",
        [
            {"rest_sigma_cents": 1.25},
            *({"begun_by": begun_by} for begun_by in get_args(BegunBy) if begun_by != "pluck"),
            {"refusal": "no_pitch"},
            {"shape": "fall"},
            {"rest_hz": None},
            {"rest_hz": hz_of(60.351)},
            {"rest_hz": hz_of(59.649)},
            {"accompanied": True},
        ],
        ids=str,
    )
    def test_what_teaches_nothing(self, how) -> None:
        assert offset_after(**how) == (0.0, 5.0)

    @pytest.mark.parametrize(
        "how",
        [
            {},
            {"rest_sigma_cents": 1.2},
            {"shape": "rise"},
            {"shape": "rise_fall"},
            {"rest_hz": hz_of(60.349)},
            {"rest_hz": hz_of(59.651)},
        ],
        ids=str,
    )
    def test_what_teaches(self, how) -> None:
        cents, sigma = offset_after(**how)
        off = 100.0 * (midi_of(how.get("rest_hz", hz_of(60.1))) - 60.0)
        assert cents == pytest.approx(0.75 * off)
        assert sigma == pytest.approx(3.0 + 2.0 / 4)

    def test_a_rest_that_stood_for_a_fifth_of_a_second_teaches(self) -> None:
        guitar = GuitarOffset()
        for _ in range(2):
            guitar.learn(rested("C4", 12.0, sigma=1.15, cents=0.0, shape="level", ending="cut"), a4_hz=440.0)
        assert guitar.against(440.0).cents == pytest.approx(8.0)

    def test_another_concert_pitch_is_no_offset(self) -> None:
        guitar = GuitarOffset()
        for _ in range(2):
            guitar.learn(rested("C4", 0.0, cents=0.0, shape="level", ending="cut", a4_hz=446.0), a4_hz=446.0)
        assert guitar.against(446.0).cents == pytest.approx(0.0, abs=1e-9)

    @pytest.mark.parametrize(("a4_hz", "off"), [(440.0, -20.0), (432.0, 11.767), (430.0, 19.8), (415.0, -18.729)])
    def test_the_guitar_stays_where_it_is_when_another_concert_pitch_is_set(self, a4_hz, off) -> None:
        """20 cents below 440 is 12 above 432; below 415, a semitone lower and 1 cent, it is 19."""
        guitar = taught(*[-20.0] * 15)
        assert guitar.against(a4_hz).cents == pytest.approx(off * 15 / 16, abs=0.001)
        assert guitar.against(a4_hz).sigma_cents == guitar.against(440.0).sigma_cents

    def test_further_off_than_a_third_of_a_fret_nothing_is_known_of_it_until_it_is_nearer(self) -> None:
        guitar = taught(*[-20.0] * 15)
        assert guitar.against(446.0) == GuitarOffset().against(440.0)
        assert guitar.against(440.0).cents == pytest.approx(-20.0 * 15 / 16)

    def test_forgotten_it_is_nothing_again(self) -> None:
        guitar = taught(*[12.0] * 15)
        guitar.forget()
        assert guitar.against(440.0) == GuitarOffset().against(440.0)
