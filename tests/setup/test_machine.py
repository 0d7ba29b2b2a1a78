"""The set-up as a player walks it: by one switch, left, repeated, remembered, and with nothing there."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedal.notes.event import Onset
from pedal.pitch.reading import Reading
from pedal.setup import sound_in, sound_out
from pedal.setup.choice import InputChoice, PanelPlace, quoted
from pedal.setup.event import (
    InputsFound,
    ListenedTo,
    OutputsFound,
    PanelsFound,
    Passed,
    PinDown,
    Played,
    Press,
    Quiet,
    Sounded,
    Trouble,
)  # fmt: skip
from pedal.setup.machine import PATIENCE_S, SetUp
from pedal.setup.names import NAMES
from pedal.setup.panel import EACH_S
from pedal.setup.wish import FindInputs, FindOutputs, FindPanels, HearLoudness, ListenTo, Nothing, PlayTone, TryPanel
from pedal.soundcheck.levels import Loudness
from pedal.soundcheck.noise import Noise
from tests.setup.walking import (
    BUILT_IN,
    GOOD,
    HEARD,
    HELD,
    KNOWN,
    LONG,
    PHONES,
    PLACE,
    SHORT,
    SPEAKER,
    STILL,
    UNHEARD,
    USB,
    answer,
    granted,
    press_switch,
    walk,
)  # fmt: skip

DEAF = "the driver does not answer: unplug the interface and plug it in again"


def at(name: str, **more) -> SetUp:
    return SetUp(KNOWN, only=name, **more)


def test_one_switch_is_enough_for_the_whole_way():
    machine = SetUp(KNOWN)
    titles = walk(machine)
    assert titles == [
        "LOOKING", "PRESS", "PANEL", "PRESS", "FOUND 1", "SWITCHES", "PLAY", "INPUT", "PLAY HARD", "GOOD", "BE STILL",
        "QUIET", "LISTEN", "HEAR IT?", "OUTPUT", "TUNE", "HEARD", "CABLE", "MEASURING", "DELAY", "DISTORTION", "READY",
    ]  # fmt: skip
    assert machine.finished
    assert all(machine.record[name].startswith("done: ") for name in NAMES)
    assert machine.record["switches.pins"] == "[17]"
    assert machine.record["audio.input"] == "'USB Audio: -'"
    assert machine.record["audio.channel"] == "1"
    assert machine.record["audio.output"] == "'USB Audio: -'"
    assert machine.record["display.i2c_address"] == "0x3C"


def test_each_step_can_be_left_and_stays_as_it_was():
    machine = SetUp(KNOWN)
    for name in NAMES:
        assert machine.step_name == name
        machine.step(LONG)
    assert machine.record == dict.fromkeys(NAMES, "left")
    assert machine.screen().lines == (f"Left as it was: {', '.join(NAMES)}.",)


@pytest.mark.parametrize("name", [name for name in NAMES if name != "switches"])
def test_each_step_can_be_repeated(name):
    """A long press on what was found begins it anew, and nothing is kept of the first time."""
    machine = at(name)
    for _ in range(4):
        if getattr(machine.screen(), "hold", "") != "again":
            granted(machine)
        if getattr(machine.screen(), "hold", "") != "again":
            machine.step(SHORT)
    assert machine.screen().hold == "again"
    machine.step(LONG)
    assert getattr(machine.screen(), "hold", "") != "again"
    assert machine.record == {}


def test_what_was_done_is_not_asked_again():
    """The power went in the middle of the third step."""
    first = SetUp(KNOWN)
    walked = 0
    while first.step_name != "input":
        granted(first)
        answer(first)
        walked += 1
        assert walked < 50
    granted(first)
    assert SetUp(KNOWN, first.record).step_name == "input"
    assert first.record["display.kind"] == "ssd1306"


def test_the_list_leads_to_any_step_and_back():
    machine = SetUp(KNOWN, {"panel": "done: SSD1306"}, listed=True)
    assert (machine.screen().title, machine.screen().lines) == ("PANEL", ("SSD1306",))
    machine.step(SHORT)
    machine.step(SHORT)
    assert (machine.screen().title, machine.screen().lines) == ("INPUT", ("not yet",))
    machine.step(LONG)
    assert machine.step_name == "input"
    machine.step(LONG)
    assert (machine.step_name, machine.finished) == ("", False)
    for _ in range(6):
        machine.step(SHORT)
    assert machine.screen().title == "LEAVE"
    machine.step(LONG)
    assert machine.finished


@pytest.mark.parametrize("name", NAMES)
def test_a_held_switch_leaves_from_anywhere(name):
    machine = at(name)
    machine.step(HELD)
    assert machine.finished
    assert machine.record == {}


def test_who_holds_too_long_at_the_switches_loses_none_of_them():
    """The fault: nothing is answered while the foot is down, so it stayed there, and the set-up ended without a pin."""
    machine = at("switches")
    for pin in (17, 27):
        press_switch(machine, pin)
    press_switch(machine, 17, "held")
    assert not machine.finished
    assert machine.screen().press == "go on"
    machine.step(HELD)
    assert machine.finished
    assert machine.record["switches.pins"] == "[17, 27]"


def test_a_first_press_that_is_held_only_says_that_the_switch_is_there():
    machine = at("switches")
    press_switch(machine, 17, "held")
    assert not machine.finished
    assert machine.screen().title == "FOUND 1"


def test_what_a_step_has_found_stays_where_the_set_up_is_left_on_its_page():
    machine = at("panel")
    machine.step(PanelsFound((PLACE,)))
    machine.step(Passed(1.0))
    machine.step(SHORT)
    machine.step(HELD)
    assert machine.record["display.kind"] == "ssd1306"


def test_nobody_there_is_noticed_and_a_string_is_somebody():
    machine = at("level")
    machine.step(Passed(PATIENCE_S - 1))
    machine.step(Played(GOOD))
    machine.step(Passed(PATIENCE_S - 1))
    assert not machine.forsaken
    machine.step(Passed(2))
    assert machine.forsaken


# ---- the panel


def test_the_panel_of_the_settings_is_tried_first_then_both_controllers_then_upside_down():
    machine = at("panel")
    machine.step(PanelsFound((PLACE,)))
    history = []
    for _ in range(5):
        history.append((machine.wish.choice.kind, machine.wish.choice.rotation))
        machine.step(Passed(EACH_S))
    assert history == [("ssd1306", 0), ("sh1106", 0), ("ssd1306", 180), ("sh1106", 180), ("ssd1306", 0)]


def test_a_press_takes_the_picture_that_is_up():
    machine = at("panel")
    machine.step(PanelsFound((PLACE,)))
    machine.step(Passed(EACH_S))
    machine.step(Passed(2.0))
    machine.step(SHORT)
    machine.step(SHORT)
    assert machine.record["display.kind"] == "sh1106"
    assert machine.record["panel"] == "done: SH1106 at 0x3C on I2C 1"


def test_a_press_just_after_the_change_meant_the_picture_before():
    machine = at("panel")
    machine.step(PanelsFound((PLACE,)))
    machine.step(Passed(EACH_S))
    machine.step(Passed(0.2))
    machine.step(SHORT)
    assert machine.wish.choice.kind == "ssd1306"


def test_no_panel_says_what_to_look_at_and_looks_again_by_itself():
    machine = at("panel")
    machine.step(PanelsFound(()))
    assert machine.screen().title == "NO PANEL"
    assert isinstance(machine.wish, Nothing)
    machine.step(Passed(4.0))
    assert machine.wish == FindPanels(1)
    assert machine.screen().title == "NO PANEL"
    machine.step(PanelsFound((PLACE,)))
    assert isinstance(machine.wish, TryPanel)


def test_a_panel_that_stops_answering_is_passed_over_and_all_are_looked_for_again():
    machine = at("panel")
    machine.step(PanelsFound((PLACE, PanelPlace("i2c", 1, 0x3D))))
    seen = set()
    for _ in range(8):
        assert isinstance(machine.wish, TryPanel)
        seen.add(machine.wish.choice)
        machine.step(Trouble("the panel does not answer: check its wires"))
    assert len(seen) == 8
    assert machine.wish == FindPanels(1)


def test_a_search_for_panels_that_fails_is_made_again():
    machine = at("panel")
    machine.step(Trouble("a fault of the program's own"))
    assert machine.wish == Nothing()
    machine.step(Passed(3.0))
    assert machine.wish == FindPanels(1)


# ---- the switches


def test_switches_are_numbered_as_they_were_pressed():
    machine = at("switches")
    press_switch(machine, 27)
    press_switch(machine, 17)
    press_switch(machine, 27, "long")
    assert machine.screen().lines == ("1 is GPIO 27, 2 is GPIO 17",)
    machine.step(SHORT)
    assert machine.record["switches.pins"] == "[27, 17]"


def test_the_first_press_of_a_switch_may_be_long():
    machine = at("switches")
    press_switch(machine, 17, "long")
    assert machine.screen().title == "FOUND 1"
    assert not machine.finished


def test_a_fifth_switch_is_none_of_ours():
    machine = at("switches")
    for pin in (4, 5, 6, 12, 13):
        press_switch(machine, pin)
    press_switch(machine, 4, "long")
    machine.step(SHORT)
    assert machine.record["switches.pins"] == "[4, 5, 6, 12]"


def test_a_machine_without_pins_says_so_and_can_be_left():
    machine = at("switches")
    machine.step(Trouble("no pin library works here"))
    assert (machine.screen().title, machine.screen().lines) == ("NO PINS", ("no pin library works here",))
    machine.step(Press("long"))
    assert machine.record == {"switches": "left"}


# ---- the input


def test_the_input_that_hears_a_string_is_taken():
    machine = at("input")
    machine.step(InputsFound((BUILT_IN, USB)))
    machine.step(ListenedTo(BUILT_IN, (UNHEARD,)))
    assert machine.wish == ListenTo(USB, 0)
    machine.step(ListenedTo(USB, (UNHEARD, HEARD)))
    machine.step(SHORT)
    assert machine.record["audio.input"] == "'USB Audio: -'"
    assert machine.record["audio.channel"] == "2"


def test_of_two_that_hear_it_the_louder_is_taken_and_the_other_is_told():
    machine = at("input")
    machine.step(InputsFound((BUILT_IN, USB)))
    machine.step(ListenedTo(BUILT_IN, (HEARD,)))
    machine.step(ListenedTo(USB, (type(HEARD)(True, -12.0, 1.0),)))
    assert machine.screen().lines == ("USB Audio: -, channel 1, -12 dBFS; 1 more heard it, quieter",)


def test_none_that_hears_a_string_says_what_to_look_at_and_goes_on_listening():
    machine = at("input")
    machine.step(InputsFound((BUILT_IN, USB)))
    for _ in range(6):
        assert isinstance(machine.wish, ListenTo)
        machine.step(ListenedTo(machine.wish.device, (UNHEARD,)))
    assert machine.screen().title == "NOTHING"
    assert machine.screen().lines[0] == sound_in.NONE_HEARS
    machine.step(ListenedTo(machine.wish.device, (HEARD,)))
    machine.step(ListenedTo(machine.wish.device, (UNHEARD,)))
    assert machine.screen().title == "INPUT"


def test_no_input_at_all_is_said_and_looked_for_again():
    machine = at("input")
    machine.step(InputsFound(()))
    assert machine.screen().title == "NO INPUT"
    machine.step(Passed(2.5))
    machine.step(InputsFound((USB,)))
    assert isinstance(machine.wish, ListenTo)


def test_an_input_that_does_not_open_is_passed_over():
    machine = at("input")
    machine.step(InputsFound((BUILT_IN, USB)))
    machine.step(Trouble("Built-in does not open: end what else uses it"))
    machine.step(ListenedTo(USB, (HEARD,)))
    assert machine.screen().title == "INPUT"


@pytest.mark.parametrize("again", [SHORT, Passed(2.5)], ids=["a press", "two seconds"])
def test_inputs_that_cannot_be_listed_are_a_sentence_and_are_asked_for_again(again):
    """The fault: the page said PLAY for ever, and a press was ignored."""
    machine = at("input")
    first = machine.wish
    machine.step(Trouble(DEAF))
    assert (machine.screen().title, machine.screen().lines, machine.screen().press) == ("NO INPUT", (DEAF,), "again")
    machine.step(again)
    assert isinstance(machine.wish, FindInputs) and machine.wish != first
    machine.step(InputsFound(()))
    assert machine.screen().lines != (DEAF,)


# ---- level and noise


@pytest.mark.parametrize(
    ("loudest_db", "clipped", "title"),
    [
        (-70, False, "PLAY HARD"),
        (-45, False, "TURN UP"),
        (-20, False, "GOOD"),
        (-5, False, "TURN DOWN"),
        (-20, True, "TURN DOWN"),
    ],
)
def test_the_level_in_words(loudest_db, clipped, title):
    machine = at("level")
    assert machine.wish == HearLoudness(None, 0)
    machine.step(Played(Loudness(loudest_db, 0.0 if clipped else loudest_db + 9, clipped)))
    assert machine.screen().title == title


def test_a_knob_that_is_turned_down_shows_within_seconds():
    machine = at("level")
    machine.step(Played(Loudness(-3, 0.0, True)))
    assert machine.screen().title == "TURN DOWN"
    for _ in range(sound_in.KEPT):
        machine.step(Played(GOOD))
    assert machine.screen().title == "GOOD"


@pytest.mark.parametrize("again", [SHORT, Passed(2.5)], ids=["a press", "two seconds"])
def test_an_input_that_was_gone_for_a_moment_is_heard_again(again):
    """The fault: NO SOUND for good."""
    machine = at("level")
    first = machine.wish
    machine.step(Trouble(DEAF))
    assert (machine.screen().title, machine.screen().lines, machine.screen().press) == ("NO SOUND", (DEAF,), "again")
    machine.step(Passed(0.1))
    machine.step(again)
    assert isinstance(machine.wish, HearLoudness) and machine.wish != first
    second = machine.wish
    machine.step(Passed(5.0))
    machine.step(SHORT)
    assert machine.wish == second, "a driver may take its time to open"
    assert machine.screen().lines == (DEAF,), "until something is heard"
    machine.step(Played(GOOD))
    assert machine.screen().title == "GOOD"


def test_the_level_of_before_is_none_of_an_input_that_is_gone():
    """The fault: a press took it, and called the step done."""
    machine = at("level")
    machine.step(Played(GOOD))
    machine.step(Trouble(DEAF))
    machine.step(SHORT)
    machine.step(SHORT)
    assert machine.record == {}
    machine.step(Played(Loudness(-45, -36, False)))
    assert machine.screen().title == "TURN UP"


def test_noise_while_something_sounded_is_measured_again():
    machine = at("noise")
    first = machine.wish
    machine.step(Quiet(STILL, Loudness(-30.0, -20.0, False)))
    assert machine.wish != first
    assert machine.screen().lines[0] == "Something sounded: once more."
    machine.step(Quiet(Noise(-60, -60.5, -75, 50.0), Loudness(-57.0, -50.0, False)))
    assert machine.screen().title == "HUM"


# ---- the output and the proof


def test_a_press_in_the_silence_means_the_output_that_sounded_last():
    machine = at("output")
    machine.step(OutputsFound((SPEAKER, PHONES)))
    assert machine.wish == PlayTone(SPEAKER)
    machine.step(Passed(sound_out.TONE_S + 0.1))
    assert isinstance(machine.wish, Nothing)
    machine.step(SHORT)
    assert machine.screen().lines == ("The drone sounds from USB Audio: -.",)


def test_outputs_that_cannot_be_listed_are_a_sentence_and_are_asked_for_again():
    """The fault: the page said LISTEN, and hid the sentence."""
    machine = at("output")
    first = machine.wish
    machine.step(Trouble(DEAF))
    assert (machine.screen().title, machine.screen().lines, machine.screen().press) == ("NO OUTPUT", (DEAF,), "again")
    machine.step(SHORT)
    assert isinstance(machine.wish, FindOutputs) and machine.wish != first
    machine.step(OutputsFound(()))
    assert machine.screen().lines != (DEAF,)


def test_outputs_take_turns_and_one_that_fails_is_left_out():
    machine = at("output")
    machine.step(OutputsFound((SPEAKER, PHONES)))
    machine.step(Trouble("USB Audio does not open"))
    assert machine.wish == PlayTone(PHONES)
    machine.step(Trouble("Headphones does not open"))
    assert machine.screen().title == "NO OUTPUT"
    assert machine.screen().lines == ("USB Audio does not open",)


def test_a_string_that_settles_proves_it():
    machine = at("tune")
    granted(machine)
    assert machine.screen().lines == ("It hears you: string 5, A2, +0.0 cents.",)


# ---- whatever comes


presses = st.sampled_from([SHORT, LONG, HELD, Press("short"), Press("long")])
events = st.one_of(
    presses, presses,
    st.sampled_from([
        PinDown(17), PinDown(27), Passed(0.05), Passed(3.0), Passed(7.0), PanelsFound(()), PanelsFound((PLACE,)),
        InputsFound(()), InputsFound((USB, BUILT_IN)), OutputsFound(()), OutputsFound((SPEAKER, PHONES)),
        ListenedTo(USB, (HEARD,)), ListenedTo(USB, ()), ListenedTo(BUILT_IN, (UNHEARD,)), Played(GOOD),
        Quiet(STILL, GOOD), Quiet(STILL, Loudness(-75, -70, False)), Sounded(Onset(0.0)),
        Sounded(Reading(0.1, 110.0, 0.9, -20.0, 0.0)), Trouble("it does not answer: look at it"),
    ]),
)  # fmt: skip


@settings(deadline=None, max_examples=150)
@given(st.lists(events, max_size=60), st.sampled_from([None, *NAMES]), st.booleans())
def test_any_order_of_things_leaves_a_page_and_a_record_that_can_be_read(happened, only, listed):
    machine = SetUp(KNOWN, only=only, listed=listed and only is None)
    for event in happened:
        machine.step(event)
        _ = machine.wish, machine.screen()
    assert all(isinstance(word, str) and word for word in machine.record.values())
    assert {name for name in machine.record if "." not in name} <= set(NAMES)


@pytest.mark.parametrize("name", ["USB Audio: -", "it's", "a: b #c", "'", "über", "- x"])
def test_any_device_name_is_yaml(name):
    import yaml

    assert yaml.safe_load(f"value: {quoted(name)}") == {"value": name}
    assert InputChoice(name, 1).findings()["audio.input"] == quoted(name)
