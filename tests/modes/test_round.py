"""Round as a player's foot and hand meet it: begin, pass over, rest, pause, end."""

from __future__ import annotations

from dataclasses import replace

import pytest
from playing import a_curl, a_pedal, a_verdict, ended, live, play, press

from pedal.modes.input_events import Command
from pedal.modes.pedal import Pedal, PedalState
from pedal.modes.screen_model import MessageScreen, RoundEndScreen, RoundRestScreen, RoundScreen, RoundStartScreen
from pedal.notes.event import Onset
from pedal.practice.homework import Homework, Task
from pedal.practice.item import Item
from pedal.theory.neck import Neck
from pedal.theory.scale import parse_key
from pedal.verdicts.aim import Target


class Clock:
    """Time in steps, as the loop tells it."""

    def __init__(self, pedal: Pedal) -> None:
        self.pedal, self.now_s = pedal, 0.0
        pedal.step(live(0.0, 0.0))

    def wait(self, seconds: float) -> None:
        for _ in range(round(seconds * 10)):
            self.now_s += 0.1
            self.pedal.step(live(0.0, self.now_s))


def begun(**settings: object) -> tuple[Pedal, Clock]:
    pedal = a_pedal(mode="round", **settings)
    clock = Clock(pedal)
    press(pedal, "next_target")
    return pedal, clock


def to_part(pedal: Pedal, part: str) -> Item:
    for _ in range(60):
        asked = pedal.asked
        if isinstance(asked, Item) and asked.part == part:
            return asked
        press(pedal, "next_target")
    raise AssertionError(f"{part} was never asked for")


def bend(pedal: Pedal, item: Item, word: str = "true", error: float = 0.0, **changes: object) -> list:
    kind = "prebend" if item.part == "prebend" else "bend"
    verdict = a_verdict(
        rest_note=item.note, target_note=item.target, verdict=word, error_cents=error, kind=kind, **changes
    )
    return play(pedal, Onset(1.0), *ended(verdict))


def test_one_press_begins_and_the_first_thing_is_a_plain_note():
    pedal = a_pedal(mode="round")
    assert pedal.screen() == RoundStartScreen(pedal.screen().status, 10, 1, 10)
    press(pedal, "next_target")
    screen = pedal.screen()
    assert isinstance(screen, RoundScreen)
    assert (screen.part, screen.string, screen.fret, screen.note, screen.minutes_left) == ("plain", 6, 3, "G2", 10)
    assert pedal.aim.target is None


def test_a_plain_note_goes_on_when_it_was_the_right_one_and_says_so_when_not():
    pedal, _ = begun()
    level = {"kind": "steady", "verdict": "unclear", "target_note": None, "error_cents": None}
    assert play(pedal, *ended(a_verdict(rest_note="A2", **level))) == []
    assert (pedal.screen().note, pedal.screen().verdict.word) == ("G2", "OTHER")
    play(pedal, Onset(3.0), *ended(a_verdict(rest_note="G2", **level)))
    assert pedal.screen().note == "Bb2"


def test_each_part_is_judged_as_what_it_is():
    pedal, _ = begun()
    item = to_part(pedal, "curl")
    assert (pedal.aim.judge_as, pedal.aim.target) == ("curl", None)
    item = to_part(pedal, "half")
    assert (pedal.aim.judge_as, pedal.aim.target) == ("ladder", Target(item.rest_midi, item.rest_midi + 1))
    item = to_part(pedal, "bend")
    assert (pedal.aim.judge_as, pedal.aim.target) == ("ladder", Target(item.rest_midi, item.target_midi))
    item = to_part(pedal, "prebend")
    assert pedal.aim.judge_as == "blind"
    assert pedal.screen().picture.blind


def test_a_true_bend_is_marked_logged_and_shown_with_what_it_was():
    pedal, clock = begun()
    item = to_part(pedal, "bend")
    (entry,) = bend(pedal, item)
    assert (entry.mode, entry.position, entry.string, entry.fret, entry.target_note) == (
        "round", 1, item.string, item.fret, item.target,
    )  # fmt: skip
    assert pedal.screen().marks == ("true", "open", "open")
    bend(pedal, item, "flat", -40.0)
    bend(pedal, item, "near", -20.0)
    assert pedal.screen().marks == ("true", "open", "open", "missed", "near")
    bend(pedal, item)
    bend(pedal, item)
    screen = pedal.screen()
    assert (screen.note, screen.marks) == (item.note, ("true", "true", "true", "missed", "near"))
    clock.wait(2.0)
    assert pedal.screen().note != item.note
    assert pedal.screen().verdict is None


def test_the_last_verdict_goes_with_the_next_pluck():
    pedal, _ = begun()
    bend(pedal, to_part(pedal, "bend"), "flat", -40.0)
    assert pedal.screen().verdict.word == "FLAT"
    play(pedal, Onset(9.0))
    assert pedal.screen().verdict is None


def test_five_misses_are_enough():
    pedal, clock = begun()
    item = to_part(pedal, "bend")
    for _ in range(5):
        assert pedal.asked.name == item.name
        bend(pedal, item, "flat", -40.0)
    clock.wait(2.0)
    assert pedal.asked.name != item.name


def test_a_curl_is_counted_where_it_was_asked_for():
    pedal, _ = begun()
    item = to_part(pedal, "curl")
    assert play(pedal, *ended(a_curl(rest_note="C4"))) == []
    (entry,) = play(pedal, *ended(a_curl(rest_note=item.note)))
    assert (entry.string, entry.fret, entry.target_note) == (item.string, item.fret, None)
    assert pedal.screen().marks == ("true", "open", "open")
    play(pedal, Onset(2.0), *ended(a_curl(rest_note=item.note, verdict="released", ending="released")))
    assert pedal.screen().marks == ("true", "open", "open", "missed")


def test_between_two_heavy_bends_notes_are_fretted():
    pedal, clock = begun()
    item = to_part(pedal, "bend")
    while not item.heavy:
        press(pedal, "next_target")
        item = pedal.asked
    bend(pedal, item, "near", -20.0)
    clock.wait(2.0)
    fretted = pedal.asked
    assert (fretted.part, fretted.note, fretted.fret) == ("between", item.target, item.fret + item.semitones)
    level = {"kind": "steady", "verdict": "unclear", "target_note": None, "error_cents": None}
    for note in (item.target, item.note, item.target):
        assert pedal.asked.note == note
        play(pedal, Onset(5.0), *ended(a_verdict(rest_note=note, **level)))
    assert pedal.asked.name == item.name


def test_what_was_heavy_and_no_try_counts_all_the_same():
    pedal, _ = begun(heavy_most=2)
    item = to_part(pedal, "bend")
    while not item.heavy:
        press(pedal, "next_target")
        item = pedal.asked
    play(pedal, *ended(a_verdict(rest_note="E4", target_note="G4", kind="unclear", verdict="unclear")))
    assert pedal.asked.part == "between"
    level = {"kind": "steady", "verdict": "unclear", "target_note": None, "error_cents": None}
    for _ in range(3):
        play(pedal, *ended(a_verdict(rest_note=pedal.asked.note, **level)))
    bend(pedal, item)
    assert not pedal.asked.heavy, "two were played, and two is the ceiling"


@pytest.mark.parametrize(
    ("kind", "counts"),
    [
        ("steady", 0), ("curl", 0), ("unclear", 0), ("bend", 1), ("bend_release", 1), ("prebend", 1),
        ("prebend_release", 1),
    ],
)  # fmt: skip
def test_what_is_fretted_between_heavy_bends_counts_only_where_it_was_bent(kind: str, counts: int):
    """A nudge of a fretted note takes no force, and a scratch is no bend: they would use up the hour's heavy ones."""
    pedal, _ = begun(heavy_most=3)
    item = heavy_bend(pedal)
    bend(pedal, item, "near", -20.0)
    rest = None if kind == "unclear" else pedal.asked.note
    play(pedal, *ended(a_verdict(rest_note=rest, target_note=None, kind=kind, verdict="unclear", error_cents=None)))
    while pedal.asked.part == "between":
        play(pedal, *ended(a_verdict(rest_note=pedal.asked.note, **LEVEL)))
    bend(pedal, item, "near", -20.0)
    assert (pedal.asked.part == "between") == (counts == 0), "after three heavy ones no more is asked for"


def test_a_rest_comes_and_a_press_ends_it():
    pedal, clock = begun()
    for _ in range(200):
        clock.wait(1.0)
        play(pedal, Onset(clock.now_s))
        if clock.now_s > 150:
            break
    press(pedal, "next_target")
    screen = pedal.screen()
    assert isinstance(screen, RoundRestScreen)
    assert 29 <= screen.seconds <= 30
    assert play(pedal, *ended(a_verdict())) == []
    clock.wait(10.0)
    assert 19 <= pedal.screen().seconds <= 20
    press(pedal, "next_target")
    assert isinstance(pedal.screen(), RoundScreen)


def test_nobody_plays_and_the_time_stands_still():
    pedal, clock = begun()
    clock.wait(61.0)
    assert pedal.screen().paused
    left = pedal.screen().minutes_left
    clock.wait(300.0)
    assert pedal.screen().minutes_left == left
    play(pedal, Onset(clock.now_s))
    assert not pedal.screen().paused


def test_a_minute_without_a_note_is_a_pause_and_less_is_none():
    pedal, clock = begun()
    clock.wait(59.8)
    assert not pedal.screen().paused
    clock.wait(0.4)
    assert pedal.screen().paused


def test_its_time_stands_still_in_another_mode():
    pedal, clock = begun()
    clock.wait(5.0)
    press(pedal, "next_mode", "previous_mode")
    at = pedal.memory()["round"]
    press(pedal, "next_mode")
    clock.wait(120.0)
    press(pedal, "previous_mode")
    assert pedal.memory()["round"] == at


def test_the_end_shows_three_lines_by_turns_and_a_press_goes_back_to_the_beginning():
    pedal, clock = begun(round_minutes=5)
    bend(pedal, to_part(pedal, "bend"))
    for _ in range(320):
        clock.wait(1.0)
        play(pedal, Onset(clock.now_s))
    screen = pedal.screen()
    assert isinstance(screen, RoundEndScreen)
    pages = set()
    for _ in range(16):
        clock.wait(1.0)
        pages.add(pedal.screen().page)
    assert pages == {0, 1, 2}
    assert screen.lines[2][2].startswith("rest the hand 2 min")
    assert pedal.memory()["round"] == ""
    press(pedal, "next_target")
    assert isinstance(pedal.screen(), RoundStartScreen)


def test_a_skip_is_logged_and_a_bend_can_be_crossed_off():
    pedal, _ = begun()
    item = to_part(pedal, "bend")
    (entry,) = press(pedal, "skip")
    assert (entry.skipped, entry.mode, entry.target_note) == (True, "round", item.target)
    off = pedal.asked
    press(pedal, "cross_off")
    assert pedal.asked.name != off.name
    assert (off.string, off.fret, off.semitones) in pedal.settings.crossed_off


LEVEL = {"kind": "steady", "verdict": "unclear", "target_note": None, "error_cents": None}


def heavy_bend(pedal: Pedal) -> Item:
    item = to_part(pedal, "bend")
    while not item.heavy:
        press(pedal, "next_target")
        item = pedal.asked
    return item


def a_bend_that_is_over(pedal: Pedal) -> Item:
    """Three true tries: the verdict is on the screen, and the next thing is asked for already."""
    item = to_part(pedal, "bend")
    for _ in range(3):
        bend(pedal, item)
    assert pedal.screen().note == item.note
    assert pedal.asked.name != item.name
    return item


def crossing_of(item: Item) -> tuple[int, int, int]:
    return item.string, item.fret, item.semitones


def test_what_is_crossed_off_is_what_the_screen_shows():
    pedal, _ = begun()
    item = a_bend_that_is_over(pedal)
    unseen = pedal.asked
    press(pedal, "cross_off")
    assert pedal.settings.crossed_off == {crossing_of(item)}
    assert pedal.asked.name == unseen.name


def test_a_shown_curl_crosses_off_no_bend_that_is_not_seen():
    pedal, _ = begun()
    item = to_part(pedal, "curl")
    while isinstance(pedal.asked, Item) and pedal.asked.part == "curl":
        item = pedal.asked
        for _ in range(3):
            play(pedal, *ended(a_curl(rest_note=item.note)))
    assert (pedal.screen().part, pedal.asked.part) == ("curl", "half")
    press(pedal, "cross_off")
    assert pedal.settings.crossed_off == frozenset()


@pytest.mark.parametrize("action", ["next_target", "skip", "again"])
def test_a_press_while_what_is_over_is_shown_only_brings_what_is_asked(action: str):
    pedal, clock = begun()
    item = a_bend_that_is_over(pedal)
    unseen = pedal.asked
    assert press(pedal, action) == []
    assert pedal.asked.name == unseen.name
    assert (pedal.screen().note, pedal.screen().verdict) == (unseen.note, None)
    press(pedal, "next_target")
    assert pedal.asked.name != unseen.name, "the second press passes it over"
    assert item.name != unseen.name


@pytest.mark.parametrize("action", ["next_target", "again"])
def test_a_press_at_the_last_verdict_brings_the_end_and_does_not_clear_it(action: str):
    pedal, clock = begun(round_minutes=5)
    item = to_part(pedal, "bend")
    for _ in range(294):
        clock.wait(1.0)
        play(pedal, Onset(clock.now_s))
    bend(pedal, item)  # its time is over by now: one try is enough
    assert pedal.asked == "end"
    assert isinstance(pedal.screen(), RoundScreen)
    press(pedal, action)
    assert isinstance(pedal.screen(), RoundEndScreen)


@pytest.mark.parametrize("waited_s", [0.0, 2.0], ids=["its verdict is shown", "the note between is shown"])
def test_right_after_a_heavy_bend_it_can_be_crossed_off(waited_s: float):
    pedal, clock = begun()
    item = heavy_bend(pedal)
    bend(pedal, item, "near", -20.0)
    clock.wait(waited_s)
    assert pedal.asked.part == "between"
    (entry,) = press(pedal, "cross_off")
    assert (entry.skipped, entry.target_note) == (True, item.target)
    assert pedal.settings.crossed_off == {crossing_of(item)}
    assert pedal.asked.name != item.name
    assert pedal.screen().note != item.note or pedal.screen().target != item.target


def test_a_heavy_bend_can_be_crossed_off_after_a_wrong_note_between():
    pedal, _ = begun()
    item = heavy_bend(pedal)
    bend(pedal, item, "near", -20.0)
    for _ in range(2):
        play(pedal, Onset(5.0), *ended(a_verdict(rest_note="A2", **LEVEL)))
    assert (pedal.screen().part, pedal.asked.name) == ("between", item.name)
    press(pedal, "cross_off")
    assert pedal.settings.crossed_off == {crossing_of(item)}


def test_the_menu_crosses_off_the_heavy_bend_too_and_stays_with_one():
    pedal, clock = begun()
    item = heavy_bend(pedal)
    bend(pedal, item, "near", -20.0)
    press(pedal, "menu")
    while pedal.screen().items[pedal.screen().index] != "cross off":
        press(pedal, "next_target")
    assert pedal.screen().value == f"({item.string}){item.fret}▸{item.target}"
    clock.wait(2.0)
    press(pedal, "again", "next_target", "again", "menu")
    assert pedal.settings.crossed_off == {crossing_of(item)}


def test_again_counts_the_item_anew():
    pedal, _ = begun()
    item = to_part(pedal, "bend")
    bend(pedal, item, "flat", -40.0)
    press(pedal, "again")
    assert pedal.screen().marks == ("open", "open", "open")


def test_another_position_in_the_middle_goes_on_there():
    pedal, _ = begun()
    to_part(pedal, "bend")
    press(pedal, "next_position")
    assert pedal.screen().part == "bend"
    assert pedal.asked.name in {item.name for item in pedal.settings.items()}


def to_the_end(pedal: Pedal, clock: Clock) -> tuple[tuple[str, str, str], ...]:
    """Somebody plays on, and nothing of it is a try, until the time is up: the three lines."""
    while pedal.asked != "end":
        clock.wait(1.0)
        play(pedal, Onset(clock.now_s))
    return pedal.screen().lines


def six_tries(pedal: Pedal) -> Item:
    item = to_part(pedal, "bend")
    for word, error in (("flat", -30.0),) * 4 + (("true", 1.0),) * 2:
        assert pedal.asked.name == item.name
        bend(pedal, item, word, error)
    return item


@pytest.mark.parametrize("moves", [(), ("next_key",), ("next_position",) * 2, ("next_key", "next_position")])
def test_the_lines_at_the_end_tell_of_what_was_asked_for_in_another_key_or_position(moves: tuple):
    pedal, clock = begun(round_minutes=5)
    item = six_tries(pedal)
    press(pedal, *moves)
    well, tomorrow, _ = to_the_end(pedal, clock)
    assert well[1:] == (f"{item.target} 2/6", f"bend {item.note} to {item.target}, 2/6 true")
    assert tomorrow[1:] == (f"{item.target} -30", f"bend {item.note} to {item.target}, 30 flat")


def test_the_lines_at_the_end_tell_of_no_bend_that_was_crossed_off():
    pedal, clock = begun(round_minutes=5)
    item = six_tries(pedal)
    press(pedal, "cross_off", "next_key")
    assert all(item.target not in words for words in (well[1] for well in to_the_end(pedal, clock)))


def test_the_lines_at_the_end_outlive_another_key_and_a_power_cut():
    """The memory holds where it was bent and to what; how the fretted note was spelled then it does not."""
    pedal, clock = begun(round_minutes=5, key=parse_key("Gb minor pentatonic"))
    item = six_tries(pedal)
    press(pedal, "next_key")
    later = Pedal(PedalState(mode="round", round_minutes=5, key=parse_key("Gb minor pentatonic")), pedal.memory())
    clock = Clock(later)
    well, tomorrow, _ = to_the_end(later, clock)
    assert (well[1], tomorrow[1]) == (f"{item.target} 2/6", f"{item.target} -30")


def test_the_lines_at_the_end_outlive_a_power_cut_whatever_was_curled_in_another_key():
    pedal, clock = begun(round_minutes=5)
    item = to_part(pedal, "curl")
    for _ in range(3):
        play(pedal, Onset(1.0), *ended(a_curl(rest_note=item.note)))
    press(pedal, "next_key")
    later = Pedal(PedalState(mode="round", round_minutes=5), pedal.memory())
    well, _, _ = to_the_end(later, Clock(later))
    assert well[2] == f"curl {item.note}, 3/3 true"


def test_the_lamp_says_what_a_note_was_for_what_is_asked():
    pedal, clock = begun()
    plain = a_verdict(rest_note="G2", **LEVEL)
    assert pedal.lamp_word(plain) == "true"
    nudged = {"kind": "curl", "target_note": None, "verdict": "true"}
    assert [pedal.lamp_word(a_verdict(rest_note=name, **nudged)) for name in ("G2", "A2")] == ["true", "missed"]
    item = to_part(pedal, "bend")
    tried = a_verdict(rest_note=item.note, target_note=item.target)
    words = [pedal.lamp_word(replace(tried, verdict=word)) for word in ("true", "near", "sharp", "unclear")]
    assert words == ["true", "near", "missed", ""]
    assert pedal.lamp_word(replace(tried, rest_note="A3", target_note="B3")) == "", "OTHER"
    play(pedal, Onset(1.0))
    press(pedal, "next_target")
    assert pedal.lamp_word(tried) == "", "it was plucked for what was asked before"
    assert "rest" in rests_of(pedal, clock)


def rests_of(pedal: Pedal, clock: Clock) -> list[str]:
    """On to the end: what was asked for that was no item; at none of it does the lamp light."""
    seen = []
    while pedal.asked != "end":
        clock.wait(1.0)
        play(pedal, Onset(clock.now_s))
        press(pedal, *(("next_target",) if isinstance(pedal.asked, Item) else ()))
        if not isinstance(pedal.asked, Item):
            seen.append(pedal.asked)
            assert pedal.lamp_word(a_verdict()) == ""
    return seen


def test_a_neck_without_room_says_so():
    pedal = a_pedal(mode="round", neck=Neck(frets=5))
    press(pedal, "next_target", "again", "skip")
    assert isinstance(pedal.screen(), MessageScreen)
    assert pedal.asked is None


def test_any_order_of_presses_leaves_a_screen():
    pedal = Pedal(PedalState(mode="round"))
    for action in ("again", "next_target", "again", "previous_target", "skip", "drone", "menu", "menu", "cross_off"):
        pedal.step(Command(0.0, action))
        assert pedal.screen() is not None


def test_bends_of_a_round_teach_ladder_and_its_pre_bends_teach_blind():
    pedal, _ = begun(order="by_need", position=3)
    item = to_part(pedal, "bend")
    for _ in range(4):
        bend(pedal, item, "flat", -45.0)
    pedal.step(Command(0.0, "menu"))
    pedal.step(Command(0.0, "menu"))
    while pedal.settings.mode != "ladder":
        press(pedal, "previous_mode")
    press(pedal, "next_position", "previous_position")
    assert (pedal.screen().string, pedal.screen().fret) == (item.string, item.fret)


def test_the_judge_is_told_what_is_asked_also_where_nothing_is_logged():
    """A fretted note leaves no line in the log, and a rest ends by itself: the aim goes with what is asked."""
    pedal, clock = begun()
    item = to_part(pedal, "prebend")
    while not item.heavy:
        press(pedal, "next_target")
        item = pedal.asked
        assert item.part == "prebend"
    bend(pedal, item, "near", -20.0)
    assert pedal.aim.judge_as == "watch"
    level = {"kind": "steady", "verdict": "unclear", "target_note": None, "error_cents": None}
    for _ in range(3):
        play(pedal, *ended(a_verdict(rest_note=pedal.asked.note, **level)))
    assert pedal.asked.name == item.name
    assert (pedal.aim.judge_as, pedal.aim.target) == ("blind", Target(item.rest_midi, item.target_midi))


def test_after_a_rest_the_judge_knows_the_next_thing():
    pedal, clock = begun()
    for _ in range(160):
        clock.wait(1.0)
        play(pedal, Onset(clock.now_s))
    to_part(pedal, "bend")
    press(pedal, "next_target")
    for _ in range(40):
        if isinstance(pedal.screen(), RoundRestScreen):
            break
        press(pedal, "next_target")
    clock.wait(31.0)
    assert isinstance(pedal.asked, Item)
    assert (pedal.aim.target is not None) == bool(pedal.asked.semitones)


def test_a_warm_up_note_is_worth_remembering():
    pedal, clock = begun()
    clock.wait(5.0)
    level = a_verdict(rest_note="G2", kind="steady", verdict="unclear", target_note=None, error_cents=None)
    answers = [pedal.step(happening) for happening in ended(level)]
    assert any(answer.remember for answer in answers)


@pytest.mark.parametrize(("wished", "goes_on"), [(5, False), (10, True), (20, False)])
def test_a_remembered_round_goes_on_only_where_that_length_is_still_wished_for(wished: int, goes_on: bool):
    pedal, _ = begun(round_minutes=10)
    kept = pedal.memory() | {"round_minutes": wished}
    assert (Pedal(PedalState(mode="round"), kept).asked is not None) is goes_on


@pytest.mark.parametrize(("step_s", "gone_s"), [(0.5, 0.5), (1.0, 1.0), (1.01, 0.0), (0.0, 0.0), (-1.0, 0.0)])
def test_a_step_of_more_than_a_second_is_a_pedal_that_was_away_and_takes_no_time(step_s: float, gone_s: float):
    pedal, _ = begun()
    pedal.step(live(0.0, step_s))
    assert pedal._mode._course.state.elapsed_s == gone_s


@pytest.mark.parametrize(("seconds", "paused"), [(59.9, False), (60.2, True)])
def test_a_minute_without_a_note_stops_the_clock(seconds: float, paused: bool):
    pedal, clock = begun()
    clock.wait(seconds)
    assert pedal.screen().paused == paused
    gone_s = pedal._mode._course.state.elapsed_s
    clock.wait(5.0)
    assert pedal._mode._course.state.elapsed_s == pytest.approx(gone_s if paused else 60.0, abs=0.11)


@pytest.mark.parametrize("task", [Task("bend", 3, 5, 3, 3), Task("bend", 2, 8, 2, 3)])
def test_homework_that_hurts_is_crossed_off_in_the_menu_as_by_foot(task: Task) -> None:
    """It is no bend of the ladder: the one on the screen goes, and no other that begins at its fret."""
    pedal, clock = begun(homework=Homework((task,)))
    wanted = (task.string, task.fret, task.semitones)
    while not isinstance(pedal.asked, Item) or crossing_of(pedal.asked) != wanted or pedal.asked.part != "bend":
        clock.wait(2.0)
        play(pedal, Onset(clock.now_s), *ended(a_verdict(kind="steady", verdict="steady", onset_s=clock.now_s)))
        press(pedal, "next_target")
    press(pedal, "menu")
    while pedal.screen().items[pedal.screen().index] != "cross off":
        press(pedal, "next_target")
    assert pedal.screen().value == f"({task.string}){task.fret}▸{pedal.asked.target}"
    press(pedal, "again", "next_target", "again", "menu")
    assert pedal.settings.crossed_off == {wanted}
    assert not isinstance(pedal.asked, Item) or crossing_of(pedal.asked) != wanted


def test_no_heavy_bend_is_asked_for_any_longer_where_the_settings_allow_none():
    pedal, _ = begun()
    heavy_bend(pedal)
    later = Pedal(PedalState(mode="round", heavy_most=0), pedal.memory())
    assert not isinstance(later.asked, Item) or not later.asked.heavy
    allowed = Pedal(PedalState(mode="round"), pedal.memory())
    assert allowed.asked.heavy


def test_heavy_bends_of_another_mode_take_the_one_that_is_asked_for_here():
    pedal, clock = begun()
    heavy_bend(pedal)
    while pedal.settings.mode != "ladder":
        press(pedal, "previous_mode")
    rungs = [rung for rung in pedal.settings.rungs() if pedal.settings.is_heavy(*rung.crossing)]
    for _ in range(10):
        pedal._ladder.seek(rungs[0].string, rungs[0].fret)
        press(pedal, "again")
        clock.wait(1.0)
        tried = a_verdict(rest_note=rungs[0].note, target_note=rungs[0].target, onset_s=clock.now_s - 0.9)
        assert play(pedal, Onset(clock.now_s - 0.9), *ended(tried))
    while pedal.settings.mode != "round":
        press(pedal, "next_mode")
    clock.wait(0.3)
    assert not isinstance(pedal.asked, Item) or not pedal.asked.heavy


@pytest.mark.parametrize(
    ("before", "now"),
    [({"neck": Neck()}, {"neck": Neck(capo=4)}), ({"a4_hz": 415.0}, {"a4_hz": 466.0})],
    ids=["a capo was set", "A4 moved"],
)
def test_a_bend_that_has_become_heavy_while_it_was_asked_for_counts_as_heavy(before: dict, now: dict):
    pedal, clock = begun(position=3, **before)
    light = to_part(pedal, "bend")
    while not replace(pedal.settings, **now).is_heavy(light.string, light.fret, light.semitones):
        press(pedal, "next_target")
        light = pedal.asked
    assert not light.heavy
    pedal._move(replace(pedal.settings, **now))
    heavy = pedal.asked
    assert (heavy.name, heavy.heavy) == (light.name, True)
    assert heavy.force_n > light.force_n
    left = pedal._round._heavy.load.left(clock.now_s)
    assert bend(pedal, heavy, "near", -20.0)
    assert pedal._round._heavy.load.left(clock.now_s) == left - 1
    assert pedal.asked.part == "between"


def test_a_bend_that_sounds_while_a4_moves_is_still_a_try():
    pedal, _ = begun(position=3, a4_hz=415.0)
    item = to_part(pedal, "bend")
    play(pedal, Onset(1.0))
    pedal._move(replace(pedal.settings, a4_hz=416.0))
    assert pedal.asked != item, "of another force"
    assert play(pedal, *ended(a_verdict(rest_note=item.note, target_note=item.target)))


def test_a_note_that_rings_while_a_round_is_begun_is_no_try():
    pedal = a_pedal(mode="round")
    clock = Clock(pedal)
    clock.wait(0.5)
    play(pedal, Onset(0.5))
    press(pedal, "next_target")
    asked = pedal.asked
    play(pedal, *ended(a_verdict(rest_note="D5", **LEVEL)))
    assert (pedal.screen().verdict, pedal.asked) == (None, asked)
    play(pedal, Onset(2.5), *ended(a_verdict(rest_note=asked.note, onset_s=2.5, end_s=3.0, **LEVEL)))
    assert pedal.asked.name != asked.name, "and the next one is"


def test_a_note_that_rings_while_the_next_is_asked_for_is_held_against_nothing_and_weighs_all_the_same():
    pedal, clock = begun()
    item = heavy_bend(pedal)
    left = pedal._round._heavy.load.left(clock.now_s)
    play(pedal, Onset(1.0))
    press(pedal, "next_target")
    tried = a_verdict(rest_note=item.note, target_note=item.target)
    assert play(pedal, *ended(tried)) == []
    assert pedal.screen().verdict is None
    assert pedal._round._heavy.load.left(clock.now_s) == left - 1
