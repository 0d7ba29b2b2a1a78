"""Keys stand for footswitches: what each letter presses and for how long, and the terminal's manners."""

from __future__ import annotations

import contextlib
import functools
import os
import pty
import signal
import sys
import termios
import threading
import tty
from dataclasses import dataclass, field

import pexpect
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hw.keyboard_switches import BOTH, LEGEND, LONGS, STAY, TAPS, KeyboardSwitches, Presses
from pedal.errors import DeviceError
from pedal.modes.action_map import ActionMap
from pedal.modes.feet import Feet as ActualFeet

# Written out, and not taken from the code, so that a change of it is seen.
GAP_S, LONG_S, TAP_S = 0.12, 0.9, 0.12


@dataclass
class Feet:
    """Collects edges; `await_edges` waits for so many."""

    edges: list[tuple[float, int, bool]] = field(default_factory=list)
    came: threading.Condition = field(default_factory=threading.Condition)

    def edge(self, time_s: float, switch: int, pressed: bool) -> None:
        with self.came:
            self.edges.append((time_s, switch, pressed))
            self.came.notify_all()

    def await_edges(self, count: int) -> list[tuple[float, int, bool]]:
        with self.came:
            assert self.came.wait_for(lambda: len(self.edges) >= count, 20), f"only {self.edges}"
            return list(self.edges)


def typed(*keys: tuple[float, str], until_s: float = 10.0, count: int = 4) -> list[tuple[float, int, bool]]:
    """Edges of letters typed at given times."""
    feet = Feet()
    presses = Presses(feet.edge, count)
    for at_s, letter in keys:
        presses.pass_time(at_s)
        presses.type_letter(at_s, letter)
    presses.pass_time(until_s)
    return feet.edges


@pytest.mark.parametrize(
    ("letter", "switch"), [("1", 1), ("2", 2), ("3", 3), ("4", 4), ("a", 1), ("s", 2), ("d", 3), ("f", 4)]
)
def test_a_small_letter_is_a_tap(letter, switch):
    assert typed((1.0, letter)) == [(1.0, switch, True), (1.0 + TAP_S, switch, False)]


@pytest.mark.parametrize(("letter", "switch"), [("A", 1), ("S", 2), ("D", 3), ("F", 4)])
def test_a_capital_is_a_long_press(letter, switch):
    assert typed((1.0, letter)) == [(1.0, switch, True), (1.0 + LONG_S, switch, False)]


@pytest.mark.parametrize(("letter", "length_s"), [("b", TAP_S), ("B", LONG_S)])
def test_b_is_both(letter, length_s):
    up_s = 1.0 + length_s
    assert typed((1.0, letter)) == [(1.0, 1, True), (1.0, 2, True), (up_s, 1, False), (up_s, 2, False)]


def test_space_keeps_a_switch_down_until_its_key_comes_again():
    assert typed((1.0, " "), (1.5, "s"), (4.0, "s")) == [(1.5, 2, True), (4.0, 2, False)]


def test_a_switch_that_is_kept_down_does_not_stop_the_others():
    assert typed((1.0, " "), (1.0, "s"), (2.0, "a"), (4.0, "s")) == [
        (1.0, 2, True), (2.0, 1, True), (2.0 + TAP_S, 1, False), (4.0, 2, False),
    ]  # fmt: skip


def test_space_twice_is_as_if_never_pressed():
    assert typed((1.0, " "), (1.1, " "), (1.2, "a")) == [(1.2, 1, True), (pytest.approx(1.2 + TAP_S), 1, False)]


def test_a_key_that_repeats_itself_keeps_the_switch_down():
    """A terminal repeats a held key some thirty times a second."""
    keys = [(1.0 + 0.033 * n, "a") for n in range(20)]
    assert typed(*keys) == [(1.0, 1, True), (pytest.approx(keys[-1][0] + TAP_S), 1, False)]


@pytest.mark.parametrize("letter", ["x", "\n", "5", "\x1b", "é", "\x00"])
def test_other_letters_press_nothing(letter):
    assert typed((1.0, letter)) == []


def test_switches_that_the_pedal_has_not_are_passed_over():
    assert typed((1.0, "3"), (2.0, "b"), count=1) == [(2.0, 1, True), (2.0 + TAP_S, 1, False)]


LETTERS = st.sampled_from([*TAPS, *LONGS, *BOTH, STAY, "x"])


@given(st.lists(st.tuples(st.floats(0.0, 2.0), LETTERS), max_size=40))
def test_whatever_is_typed_each_switch_goes_down_and_up_in_turn_and_in_order(gaps):
    at_s, keys = 0.0, []
    for gap_s, letter in gaps:
        at_s += gap_s
        keys.append((at_s, letter))
    feet = Feet()
    presses = Presses(feet.edge, 4)
    for now_s, letter in keys:
        presses.pass_time(now_s)
        presses.type_letter(now_s, letter)
    presses.pass_time(at_s + LONG_S)
    presses.let_all_go(at_s + LONG_S + 1.0)
    times = [time_s for time_s, _, _ in feet.edges]
    assert times == sorted(times)
    for switch in range(1, 5):
        levels = [pressed for _, which, pressed in feet.edges if which == switch]
        assert levels == [n % 2 == 0 for n in range(len(levels))]
        assert not levels or not levels[-1]


def test_the_legend_tells_of_every_key_and_fits_the_terminal():
    for letter in [*LONGS, *BOTH, "a", "s", "d", "f", "1", "4"]:
        assert letter in " ".join(LEGEND)
    assert "space" in LEGEND[1]
    assert max(map(len, LEGEND)) <= 80


@pytest.fixture
def terminal():
    far, near = pty.openpty()
    keys = os.fdopen(near, "r")
    yield far, keys
    keys.close()
    os.close(far)


def manners(keys):
    return termios.tcgetattr(keys.fileno())


def test_keys_come_without_return_and_without_echo(terminal):
    far, keys = terminal
    before = manners(keys)
    feet = Feet()
    switches = KeyboardSwitches(keys)
    switches.open(feet.edge)
    assert not manners(keys)[3] & (termios.ECHO | termios.ICANON)
    assert manners(keys)[3] & termios.ISIG, "Ctrl-C must still reach the program"
    os.write(far, b"2")
    (down_s, *down), (up_s, *up) = feet.await_edges(2)
    assert (down, up) == ([2, True], [2, False])
    assert up_s == pytest.approx(down_s + TAP_S)
    switches.close()
    assert manners(keys) == before


def test_closing_lets_every_key_go_and_is_safe_twice(terminal):
    far, keys = terminal
    feet = Feet()
    switches = KeyboardSwitches(keys)
    switches.open(feet.edge)
    os.write(far, b" 1")
    feet.await_edges(1)
    switches.close()
    switches.close()
    assert [(switch, pressed) for _, switch, pressed in feet.edges] == [(1, True), (1, False)]


@pytest.mark.parametrize(
    "before",
    [
        pytest.param(b"\x1b[A", id="an arrow"),
        pytest.param(b"\x1b[1;2D", id="an arrow with shift"),
        pytest.param(b"\x1b\x1b[A", id="an arrow with alt"),
        pytest.param(b"\x1bOB", id="an arrow of a terminal in application mode"),
        pytest.param(b"\x1b[[A", id="F1 on the console of a screen"),
        pytest.param(b"\x1b[15~", id="F5"),
        pytest.param(b"\x1ba", id="a letter with alt"),
        pytest.param("éß".encode(), id="foreign letters"),
        pytest.param(b"\x1b[A" * 40, id="an arrow that was held"),
    ],
)
def test_a_key_behind_one_without_a_meaning_presses_its_switch_though_both_are_read_at_once(terminal, before):
    """A busy machine comes to read late, and finds all that was typed meanwhile."""
    far, keys = terminal
    feet = Feet()
    switches = KeyboardSwitches(keys)
    tty.setcbreak(keys.fileno())
    os.write(far, before + b"3" + b"\x1b[1;")  # and a sequence that never ends
    switches.open(feet.edge)
    with contextlib.closing(switches):
        feet.await_edges(2)
    assert [(switch, pressed) for _, switch, pressed in feet.edges] == [(3, True), (3, False)]


def test_arrow_keys_and_foreign_letters_press_nothing(terminal):
    """An arrow key sends an escape sequence whose letters would otherwise press switches 1, 2 and 4."""
    far, keys = terminal
    feet = Feet()
    switches = KeyboardSwitches(keys)
    switches.open(feet.edge)
    for sent in (b"\x1b[A", b"\x1b[1;2D", "éß".encode()):
        os.write(far, sent)
        threading.Event().wait(0.02)
    os.write(far, b"3")
    edges = feet.await_edges(2)
    switches.close()
    assert [switch for _, switch, _ in edges] == [3, 3]


def test_a_terminal_that_hangs_up_ends_the_keys_quietly():
    far, near = pty.openpty()
    keys = os.fdopen(near, "r")
    feet = Feet()
    switches = KeyboardSwitches(keys)
    switches.open(feet.edge)
    os.write(far, b" 1")
    feet.await_edges(1)
    os.close(far)
    assert feet.await_edges(2)[1][1:] == (1, False)
    switches.close()
    keys.close()


def test_an_input_that_is_no_terminal_is_refused(tmp_path):
    with (tmp_path / "keys").open("w+") as keys:
        switches = KeyboardSwitches(keys)
        with pytest.raises(DeviceError, match="only in a terminal.*or add --headless") as told:
            switches.open(lambda *_: None)
        switches.close()
    assert told.value.exit_status == 1


PROGRAM = """
import signal, sys, threading
from hw.keyboard_switches import KeyboardSwitches
from hw.terminal_screen import TerminalScreen
from PIL import Image
stop = threading.Event()
for number in (signal.SIGTERM, signal.SIGINT):
    signal.signal(number, lambda *_: stop.set())
screen, switches = TerminalScreen(captions=("captions",)), KeyboardSwitches()
switches.open(lambda time_s, switch, pressed: screen.show(Image.new("1", (128, 64), 255 * pressed)))
screen.show(Image.new("1", (128, 64)))
stop.wait()
switches.close()
screen.close()
"""


@pytest.mark.parametrize("end", ["SIGTERM", "SIGINT", "Ctrl-C"])
def test_the_terminal_is_as_before_after_every_end(end, monkeypatch):
    """On a real pseudo-terminal, with the picture up and a key kept down."""
    child = pexpect.spawn(
        sys.executable,
        ["-c", PROGRAM],
        dimensions=(24, 80),
        env={**os.environ, "TERM": "xterm"},
        encoding="utf-8",
        timeout=120,
    )
    before = termios.tcgetattr(child.child_fd)
    child.expect_exact("captions")
    child.send("\x1a\x1c")  # Ctrl-Z and Ctrl-\ would leave the shell with our picture and without echo
    child.send(" 1")
    child.expect_exact("⣿" * 64)
    if end == "Ctrl-C":
        child.sendintr()
    else:
        child.kill(getattr(signal, end))
    child.expect(pexpect.EOF)
    assert child.before.endswith("\x1b[?25h\x1b[?1049l")
    after = termios.tcgetattr(child.child_fd)
    child.close()
    assert child.exitstatus == 0
    assert after[3] & termios.ECHO
    assert after[3] == before[3]


def test_a_key_typed_while_its_switch_is_still_down_by_another_one_waits_its_turn():
    """The menu opens 20 ms into the 120 ms of b; a player, or a test, who sees it and presses on was never heard."""
    edges = typed((1.0, "b"), (1.05, "a"))
    assert edges[:4] == [(1.0, 1, True), (1.0, 2, True), (1.0 + TAP_S, 1, False), (1.0 + TAP_S, 2, False)]
    again_s = 1.0 + TAP_S + GAP_S
    assert edges[4:] == [(pytest.approx(again_s), 1, True), (pytest.approx(again_s + TAP_S), 1, False)]


def test_a_key_typed_right_after_its_switch_went_up_is_no_bounce():
    edges = typed((1.0, "a"), (1.0 + TAP_S + 0.005, "a"))
    assert [round(time_s - 1.0, 3) for time_s, _, _ in edges] == [0.0, TAP_S, TAP_S + GAP_S, 2 * TAP_S + GAP_S]


def test_a_second_long_press_after_the_answer_to_the_first_is_another_one():
    edges = typed((1.0, "A"), (1.65, "A"))
    assert [(switch, pressed) for _, switch, pressed in edges] == [(1, True), (1, False)] * 2


def test_keys_are_pressed_in_the_order_they_were_typed():
    edges = typed((1.0, "b"), (1.03, "a"), (1.06, "f"), (1.09, "s"))
    assert [switch for _, switch, pressed in edges if pressed] == [1, 2, 1, 4, 2]


@pytest.mark.parametrize("late_s", [0.03, 0.06, 0.09, 0.119, 0.121, 0.13, 0.139, 0.2])
def test_the_menu_by_both_switches_then_the_next_row_whenever_it_is_typed(late_s):
    """Through the real feet: b opens the menu, a walks on by one row."""
    feet, orders = ActualFeet(ActionMap(2)), []
    presses = Presses(lambda time_s, switch, down: orders.extend(feet.edge(time_s, switch, down, mode="menu")), 2)
    typing = [(1.0, "b"), (1.0 + late_s, "a")]
    for step in range(1000):
        now_s = 1.0 + step / 500
        presses.pass_time(now_s)
        while typing and typing[0][0] <= now_s:
            presses.type_letter(*typing.pop(0))
        orders += feet.tick(now_s, mode="menu")
    assert [order.action for order in orders] == ["menu", "next_target"]


@pytest.mark.parametrize(("again_s", "presses"), [(0.05, 1), (0.4, 1), (0.61, 1), (0.63, 2)])
def test_a_long_press_that_was_not_answered_yet_goes_on_when_its_key_repeats_itself_late(again_s, presses):
    """A terminal waits up to half a second before a held key repeats itself; the pedal answers after 0.62 s."""
    edges = typed((1.0, "A"), (1.0 + again_s, "A"))
    assert sum(pressed for _, _, pressed in edges) == presses


@pytest.mark.parametrize("count", [2, 3, 4])
@pytest.mark.parametrize(("letter", "action"), [("A", "next_mode"), ("a", "previous_mode")], ids=["long", "held"])
def test_a_capital_is_the_long_press_of_a_switch_that_can_be_held_as_well(count, letter, action):
    """The fault: it lasted as long as the held one, and went to the mode before or the next by the last rounding."""
    for start in range(12):
        feet, orders = ActualFeet(ActionMap(count)), []
        into = functools.partial(press_in_watch, feet, orders)
        presses = Presses(into, count)
        begun_s = 1.0 + start * 0.7131
        typing = [(begun_s, letter)] if letter == "A" else [(begun_s, STAY), (begun_s, "a"), (begun_s + 1.5, "a")]
        for step in range(1000):
            now_s = begun_s + step / 500
            presses.pass_time(now_s)
            while typing and typing[0][0] <= now_s:
                presses.type_letter(*typing.pop(0))
            orders += feet.tick(now_s, mode="watch")
        assert [order.action for order in orders] == [action]


def press_in_watch(feet, orders, time_s, switch, down):
    orders.extend(feet.edge(time_s, switch, down, mode="watch"))
