"""Figures of the modes written out, and what is done at each and just beyond: level, contact, drone, tuning, pulse."""

from __future__ import annotations

import math

import pytest
from playing import a_pedal, a_verdict, ended, live, play

from pedal.modes.backing_now import BackingNow, pulse_order
from pedal.modes.bend_profile import BendProfile, compare
from pedal.modes.contact import Contact
from pedal.modes.drone import drone_order
from pedal.modes.gain_check import GainCheck
from pedal.modes.input_events import BeatsBegan, LivePitch
from pedal.modes.lick_shelf import title_of
from pedal.modes.menu_items import ITEMS
from pedal.modes.state import PedalState
from pedal.notes.event import Onset
from pedal.pitch.reading import Reading
from pedal.theory.cents import hz_of
from pedal.theory.scale import parse_key
from tests.licks.passes_by_rule import lick_of

TONICS = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


def midi_of(hz: float) -> float:
    return 69.0 + 12.0 * math.log2(hz / 440.0)


@pytest.mark.parametrize(
    ("level_db", "word"),
    [
        (-70.0, "play hard"), (-69.9, "gain up -70 dB"), (-36.1, "gain up -36 dB"), (-36.0, "good -36 dB"),
        (-9.0, "good -9 dB"), (-8.9, "gain down -9 dB"),
    ],
)  # fmt: skip
def test_gain_is_good_from_36_to_9_db_below_full_scale(level_db: float, word: str) -> None:
    check = GainCheck()
    check.hear(LivePitch(0.0, 0.0, level_db))
    assert check.word == word


@pytest.mark.parametrize(("until_s", "noisy"), [(1.50, False), (1.505, True)])
def test_a_contact_that_is_not_still_for_half_a_second_is_broken(until_s: float, noisy: bool) -> None:
    contact = Contact(0.02)
    steps = [1.0 + 0.01 * n for n in range(50)] + [until_s]
    for n, at_s in enumerate(steps):
        contact.edge(at_s, n % 2 == 0)
    assert contact.noisy == noisy


@pytest.mark.parametrize(("every_s", "noisy"), [(0.0525, True), (0.0527, False)])
def test_twenty_changes_within_a_second_are_from_no_foot(every_s: float, noisy: bool) -> None:
    """From the first to the twentieth there are nineteen steps: 0.0526 s each come to a second."""
    contact = Contact(0.02)
    for n in range(20):
        contact.edge(n * every_s, n % 2 == 0)
        contact.settle(n * every_s + 0.03)
        assert contact.noisy == (noisy and n == 19)


@pytest.mark.parametrize(("silent_s", "trusted"), [(1.99, False), (2.0, True)])
@pytest.mark.parametrize("level", [False, True])
def test_a_noisy_contact_is_trusted_after_two_seconds_open(silent_s: float, trusted: bool, level: bool) -> None:
    contact = Contact(0.02)
    for n in range(60):
        contact.edge(0.01 * n, n % 2 == 0)
    assert contact.noisy
    contact.edge(0.6, level)
    contact.settle(0.6 + silent_s)
    assert contact.noisy == (not trusted or level)


@pytest.mark.parametrize("tonic", TONICS)
@pytest.mark.parametrize("step", [0, 1, 2])
def test_the_root_of_the_drone_lies_from_c3_to_b3(tonic: str, step: int) -> None:
    key = parse_key(f"{tonic} minor pentatonic")
    root = midi_of(drone_order(key, "octave", step, a4_hz=440.0).hz[0])
    assert root == pytest.approx(round(root)) and 48 <= round(root) <= 59
    assert (round(root) - key.tonic.semitone) % 12 == (0, 5, 7)[step]


@pytest.mark.parametrize("tonic", TONICS)
def test_clicks_lie_from_c7_up_above_every_fret(tonic: str) -> None:
    state = PedalState(key=parse_key(f"{tonic} minor"), backing="twelve_bars")
    click = pulse_order(state).pulse.click_hz  # type: ignore[union-attr]
    assert round(midi_of(click)) == 96 + state.key.tonic.semitone


@pytest.mark.parametrize(("now_s", "unheard"), [(5.99, False), (6.0, True)])
def test_an_output_that_tells_nothing_for_four_seconds_plays_no_pulse(now_s: float, unheard: bool) -> None:
    state, backing = PedalState(drone_on=True, backing="twelve_bars"), BackingNow()
    backing.hear(live(0.0, 2.0))
    backing.forget()
    backing.hear(live(0.0, now_s))
    assert backing.unheard(state) == unheard
    backing.hear(BeatsBegan(now_s, 1.0, 0.5))
    assert not backing.unheard(state)


def test_the_last_eight_rises_are_looked_at_together() -> None:
    """Four of each have their middle between the two; with the ninth before them, or without one, it would be 0.2 s."""
    pedal = a_pedal(mode="watch")
    for rise_s in (0.2, 0.9, 0.9, 0.9, 0.9, 0.2, 0.2, 0.2, 0.2):
        play(pedal, *ended(a_verdict(rise_s=rise_s)))
    assert "rise 0.55 s, uneven" in pedal.screen().verdict.more


@pytest.mark.parametrize(("share", "word"), [(0.149, "even"), (0.151, "uneven")])
def test_rises_that_scatter_by_15_in_a_hundred_are_even(share: float, word: str) -> None:
    """1.4826 times the median distance from the middle (Hampel): the distance that makes just so much of 0.2 s."""
    off_s = 0.2 * share / 1.4826
    pedal = a_pedal(mode="watch")
    for rise_s in (0.2 - off_s, 0.2 + off_s) * 3:
        play(pedal, *ended(a_verdict(rise_s=rise_s)))
    assert f"rise 0.20 s, {word}" in pedal.screen().verdict.more


MODEL = BendProfile(200.0, 0.2, 0.8, 5.0, 20.0, "cut_sharp")


@pytest.mark.parametrize(
    ("changed", "unlike"),
    [
        ({"height_cents": 204.9}, ""), ({"height_cents": 205.1}, "TOO HIGH"), ({"height_cents": 194.9}, "TOO LOW"),
        ({"rise_s": 0.28}, "SLOW RISE"), ({"rise_s": 0.14}, "FAST RISE"), ({"rise_s": 0.27}, ""),
        ({"hold_s": 1.06}, ""), ({"hold_s": 1.07}, "LONG HOLD"), ({"hold_s": 0.59}, "SHORT HOLD"),
        ({"vibrato_cents": 29.9}, ""), ({"vibrato_cents": 30.1}, "WIDE SHAKE"), ({"vibrato_cents": 9.9}, "SMALL SHAKE"),
        ({"vibrato_hz": 6.59}, ""), ({"vibrato_hz": 6.61}, "FAST SHAKE"), ({"vibrato_hz": 3.78}, "SLOW SHAKE"),
        ({"vibrato_hz": 0.0, "vibrato_cents": 0.0}, "NO VIBRATO"),
    ],
)  # fmt: skip
def test_a_fifth_of_a_unit_is_what_is_told_of_a_copy(changed: dict, unlike: str) -> None:
    """A unit is 25 cents of height or width, an octave of rate, two of rise or hold; shake counts half."""
    copy = BendProfile(*(changed.get(name, getattr(MODEL, name)) for name in (
        "height_cents", "rise_s", "hold_s", "vibrato_hz", "vibrato_cents", "ending",
    )))  # fmt: skip
    assert compare(MODEL, copy).unlike == unlike


def tuned(*spans: tuple[float, float, float]):
    """What Tune shows after the pitch of the A string, so many cents off from one time to another, each 4 ms."""
    pedal = a_pedal(mode="tune")
    play(pedal, Onset(0.0))
    for from_s, to_s, cents in spans:
        for n in range(round((to_s - from_s) / 0.004) + 1):
            at_s = from_s + 0.004 * n
            play(pedal, Reading(at_s, hz_of(45 + cents / 100.0), 0.95, -20.0, at_s + 0.01))
    return pedal.screen()


@pytest.mark.parametrize(("until_s", "shown"), [(0.748, False), (0.756, True)])
def test_a_string_is_told_after_a_quarter_of_a_second_and_half_a_second_more(until_s: float, shown: bool) -> None:
    assert (tuned((0.0, until_s, 3.0)).cents is not None) == shown


def test_how_a_pluck_settles_in_its_first_quarter_of_a_second_counts_for_nothing() -> None:
    assert tuned((0.0, 0.244, 30.0), (0.252, 0.80, 3.0)).cents == pytest.approx(3.0, abs=0.01)


@pytest.mark.parametrize(("apart", "settled"), [(0.49, True), (0.53, False)])
def test_halves_that_agree_within_half_a_cent_are_settled(apart: float, settled: bool) -> None:
    assert tuned((0.0, 0.504, 3.0), (0.508, 0.756, 3.0 + apart)).settled == settled


@pytest.mark.parametrize(("gap_s", "goes_on"), [(0.098, True), (0.104, False)])
def test_a_tenth_of_a_second_without_a_reading_is_another_pluck(gap_s: float, goes_on: bool) -> None:
    assert (tuned((0.0, 0.6, 3.0), (0.6 + gap_s, 0.8, 3.0)).cents is not None) == goes_on


@pytest.mark.parametrize(("stray", "mean"), [(39.0, True), (42.0, False)])
def test_a_reading_forty_cents_off_is_another_note(stray: float, mean: bool) -> None:
    """Of 126 readings one in ten is off: it moves the mean, or is left out."""
    found = tuned((0.0, 0.65, 0.0), (0.654, 0.70, stray), (0.704, 0.76, 0.0)).cents
    assert (abs(found) > 2.0) == mean


@pytest.mark.parametrize(
    ("item", "values"),
    [
        ("capo", ["none", *(f"capo {fret}" for fret in range(1, 13))]),
        ("A4", [f"{hz}.0 Hz" for hz in range(430, 451)]),
    ],
)
def test_a_menu_offers_the_whole_of_a_range(item: str, values: list[str]) -> None:
    found = next(one for one in ITEMS if one.name == item)
    assert len(found.choices(PedalState())) == len(values)


def test_a_lick_without_a_name_is_called_by_its_first_four_notes() -> None:
    assert title_of(lick_of(55, 58, 60, 62)) == "G3 Bb3 C4 D4"
    assert title_of(lick_of(55, 58, 60, 62, 65)) == "G3 Bb3 C4 D4 …"
