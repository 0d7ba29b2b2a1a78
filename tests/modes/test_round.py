"""Round as a player's foot and hand meet it: begin, pass over, rest, pause, end."""

from __future__ import annotations

from playing import a_board, a_curl, a_verdict, ended, live, play, press

from pedal.modes.board import Board, BoardSettings
from pedal.modes.happening import Command
from pedal.modes.screen_model import MessageScreen, RoundEndScreen, RoundRestScreen, RoundScreen, RoundStartScreen
from pedal.notes.event import Onset
from pedal.practice.item import Item
from pedal.theory.neck import Neck
from pedal.verdicts.aim import Target


class Clock:
    """Time in steps, as the loop tells it."""

    def __init__(self, board: Board) -> None:
        self.board, self.now_s = board, 0.0
        board.step(live(0.0, 0.0))

    def wait(self, seconds: float) -> None:
        for _ in range(round(seconds * 10)):
            self.now_s += 0.1
            self.board.step(live(0.0, self.now_s))


def begun(**settings: object) -> tuple[Board, Clock]:
    board = a_board(mode="round", **settings)
    clock = Clock(board)
    press(board, "next_target")
    return board, clock


def to_part(board: Board, part: str) -> Item:
    for _ in range(60):
        asked = board.asked
        if isinstance(asked, Item) and asked.part == part:
            return asked
        press(board, "next_target")
    raise AssertionError(f"{part} was never asked for")


def bend(board: Board, item: Item, word: str = "true", error: float = 0.0, **changes: object) -> list:
    kind = "prebend" if item.part == "prebend" else "bend"
    verdict = a_verdict(
        rest_note=item.note, target_note=item.target, verdict=word, error_cents=error, kind=kind, **changes
    )
    return play(board, Onset(1.0), *ended(verdict))


def test_one_press_begins_and_the_first_thing_is_a_plain_note():
    board = a_board(mode="round")
    assert board.screen() == RoundStartScreen(board.screen().status, 10, 1, 10)
    press(board, "next_target")
    screen = board.screen()
    assert isinstance(screen, RoundScreen)
    assert (screen.part, screen.string, screen.fret, screen.note, screen.minutes_left) == ("plain", 6, 3, "G2", 10)
    assert board.aim.target is None


def test_a_plain_note_goes_on_when_it_was_the_right_one_and_says_so_when_not():
    board, _ = begun()
    level = {"kind": "steady", "verdict": "unclear", "target_note": None, "error_cents": None}
    assert play(board, *ended(a_verdict(rest_note="A2", **level))) == []
    assert (board.screen().note, board.screen().verdict.word) == ("G2", "OTHER")
    play(board, Onset(3.0), *ended(a_verdict(rest_note="G2", **level)))
    assert board.screen().note == "Bb2"


def test_each_part_is_judged_as_what_it_is():
    board, _ = begun()
    item = to_part(board, "curl")
    assert (board.aim.judge_as, board.aim.target) == ("curl", None)
    item = to_part(board, "half")
    assert (board.aim.judge_as, board.aim.target) == ("ladder", Target(item.rest_midi, item.rest_midi + 1))
    item = to_part(board, "bend")
    assert (board.aim.judge_as, board.aim.target) == ("ladder", Target(item.rest_midi, item.target_midi))
    item = to_part(board, "prebend")
    assert board.aim.judge_as == "blind"
    assert board.screen().picture.blind


def test_a_true_bend_is_marked_logged_and_shown_with_what_it_was():
    board, clock = begun()
    item = to_part(board, "bend")
    (entry,) = bend(board, item)
    assert (entry.mode, entry.position, entry.string, entry.fret, entry.target_note) == (
        "round", 1, item.string, item.fret, item.target,
    )  # fmt: skip
    assert board.screen().marks == ("true", "open", "open")
    bend(board, item, "flat", -40.0)
    bend(board, item, "near", -20.0)
    assert board.screen().marks == ("true", "open", "open", "missed", "near")
    bend(board, item)
    bend(board, item)
    screen = board.screen()
    assert (screen.note, screen.marks) == (item.note, ("true", "true", "true", "missed", "near"))
    clock.wait(2.0)
    assert board.screen().note != item.note
    assert board.screen().verdict is None


def test_the_last_verdict_goes_with_the_next_pluck():
    board, _ = begun()
    bend(board, to_part(board, "bend"), "flat", -40.0)
    assert board.screen().verdict.word == "FLAT"
    play(board, Onset(9.0))
    assert board.screen().verdict is None


def test_five_misses_are_enough():
    board, clock = begun()
    item = to_part(board, "bend")
    for _ in range(5):
        assert board.asked.name == item.name
        bend(board, item, "flat", -40.0)
    clock.wait(2.0)
    assert board.asked.name != item.name


def test_a_curl_is_counted_where_it_was_asked_for():
    board, _ = begun()
    item = to_part(board, "curl")
    assert play(board, *ended(a_curl(rest_note="C4"))) == []
    (entry,) = play(board, *ended(a_curl(rest_note=item.note)))
    assert (entry.string, entry.fret, entry.target_note) == (item.string, item.fret, None)
    assert board.screen().marks == ("true", "open", "open")
    play(board, Onset(2.0), *ended(a_curl(rest_note=item.note, verdict="released", ending="released")))
    assert board.screen().marks == ("true", "open", "open", "missed")


def test_between_two_heavy_bends_notes_are_fretted():
    board, clock = begun()
    item = to_part(board, "bend")
    while not item.heavy:
        press(board, "next_target")
        item = board.asked
    bend(board, item, "near", -20.0)
    clock.wait(2.0)
    fretted = board.asked
    assert (fretted.part, fretted.note, fretted.fret) == ("between", item.target, item.fret + item.semitones)
    level = {"kind": "steady", "verdict": "unclear", "target_note": None, "error_cents": None}
    for note in (item.target, item.note, item.target):
        assert board.asked.note == note
        play(board, Onset(5.0), *ended(a_verdict(rest_note=note, **level)))
    assert board.asked.name == item.name


def test_what_was_heavy_and_no_try_counts_all_the_same():
    board, _ = begun(heavy_most=2)
    item = to_part(board, "bend")
    while not item.heavy:
        press(board, "next_target")
        item = board.asked
    play(board, *ended(a_verdict(rest_note="E4", target_note="G4", kind="unclear", verdict="unclear")))
    assert board.asked.part == "between"
    level = {"kind": "steady", "verdict": "unclear", "target_note": None, "error_cents": None}
    for _ in range(3):
        play(board, *ended(a_verdict(rest_note=board.asked.note, **level)))
    bend(board, item)
    assert not board.asked.heavy, "two were played, and two is the ceiling"


def test_a_rest_comes_and_a_press_ends_it():
    board, clock = begun()
    for _ in range(200):
        clock.wait(1.0)
        play(board, Onset(clock.now_s))
        if clock.now_s > 150:
            break
    press(board, "next_target")
    screen = board.screen()
    assert isinstance(screen, RoundRestScreen)
    assert 29 <= screen.seconds <= 30
    assert play(board, *ended(a_verdict())) == []
    clock.wait(10.0)
    assert 19 <= board.screen().seconds <= 20
    press(board, "next_target")
    assert isinstance(board.screen(), RoundScreen)


def test_nobody_plays_and_the_time_stands_still():
    board, clock = begun()
    clock.wait(61.0)
    assert board.screen().paused
    left = board.screen().minutes_left
    clock.wait(300.0)
    assert board.screen().minutes_left == left
    play(board, Onset(clock.now_s))
    assert not board.screen().paused


def test_its_time_stands_still_in_another_mode():
    board, clock = begun()
    clock.wait(5.0)
    press(board, "next_mode", "previous_mode")
    at = board.memory()["round"]
    press(board, "next_mode")
    clock.wait(120.0)
    press(board, "previous_mode")
    assert board.memory()["round"] == at


def test_the_end_shows_three_lines_by_turns_and_a_press_goes_back_to_the_beginning():
    board, clock = begun(round_minutes=5)
    bend(board, to_part(board, "bend"))
    for _ in range(320):
        clock.wait(1.0)
        play(board, Onset(clock.now_s))
    screen = board.screen()
    assert isinstance(screen, RoundEndScreen)
    pages = set()
    for _ in range(16):
        clock.wait(1.0)
        pages.add(board.screen().page)
    assert pages == {0, 1, 2}
    assert screen.lines[2][2].startswith("rest the hand 2 min")
    assert board.memory()["round"] == ""
    press(board, "next_target")
    assert isinstance(board.screen(), RoundStartScreen)


def test_a_skip_is_logged_and_a_bend_can_be_crossed_off():
    board, _ = begun()
    item = to_part(board, "bend")
    (entry,) = press(board, "skip")
    assert (entry.skipped, entry.mode, entry.target_note) == (True, "round", item.target)
    off = board.asked
    press(board, "cross_off")
    assert board.asked.name != off.name
    assert (off.string, off.fret, off.semitones) in board.settings.crossed_off


def test_again_counts_the_item_anew():
    board, _ = begun()
    item = to_part(board, "bend")
    bend(board, item, "flat", -40.0)
    press(board, "again")
    assert board.screen().marks == ("open", "open", "open")


def test_another_position_in_the_middle_goes_on_there():
    board, _ = begun()
    to_part(board, "bend")
    press(board, "next_position")
    assert board.screen().part == "bend"
    assert board.asked.name in {item.name for item in board.settings.items()}


def test_a_neck_without_room_says_so():
    board = a_board(mode="round", neck=Neck(frets=5))
    press(board, "next_target", "again", "skip")
    assert isinstance(board.screen(), MessageScreen)
    assert board.asked is None


def test_any_order_of_presses_leaves_a_screen():
    board = Board(BoardSettings(mode="round"))
    for action in ("again", "next_target", "again", "previous_target", "skip", "drone", "menu", "menu", "cross_off"):
        board.step(Command(0.0, action))
        assert board.screen() is not None


def test_bends_of_a_round_teach_ladder_and_its_pre_bends_teach_blind():
    board, _ = begun(order="by_need", position=3)
    item = to_part(board, "bend")
    for _ in range(4):
        bend(board, item, "flat", -45.0)
    board.step(Command(0.0, "menu"))
    board.step(Command(0.0, "menu"))
    while board.settings.mode != "ladder":
        press(board, "previous_mode")
    press(board, "next_position", "previous_position")
    assert (board.screen().string, board.screen().fret) == (item.string, item.fret)
