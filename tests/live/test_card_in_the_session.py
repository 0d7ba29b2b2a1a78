"""What is wrong on the card, or came by a stick, in a pedal that runs: on the panel, and taken up where it is new."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from pedal import wiring
from pedal.errors import SettingsError
from pedal.live import service_manager, session
from pedal.live.news import FILE, News
from pedal.live.printer import Printer
from pedal.live.remarks import Remarks
from pedal.live.session import LiveSession, Wanted
from pedal.modes.screen_model import MessageScreen
from pedal.settings.card import GOOD, Layered
from pedal.settings.load import loads
from tests.live.doubles import HandedSignals

# Written out, and not taken from the code, so that a change of it is seen.
FAULTS_S, NEWS_S = 30.0, 8.0

FAULT = "/boot/firmware/undertoe.yaml:3: capo: expected a whole number from 0 to 12 frets (got 'high')"


class Engine:
    """Takes notices."""

    def __init__(self) -> None:
        self.pages: list[tuple[MessageScreen, float]] = []

    def notice(self, title: str, sentence: str) -> None:
        self.show_notice(MessageScreen(title, (sentence,)), 5.0)

    def show_notice(self, page: MessageScreen, for_s: float) -> None:
        self.pages.append((page, for_s))


class Pedal:
    """A session over settings that a test lays out."""

    def __init__(self, state: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.state = state
        self.layered = Layered(loads(f"state: {{folder: {state}}}"))
        monkeypatch.setattr(wiring, "layered_settings", lambda _: self.layered)
        self.session = LiveSession(Wanted(headless=True), Printer(None), Remarks(held=True))
        self.engine = Engine()

    def lay(self, *, capo: int = 0, faults: tuple[str, ...] = ()) -> None:
        self.layered = replace(self.layered, settings=replace(self.layered.settings, capo=capo), faults=faults)

    def reload(self) -> bool:
        return self.session._reload(self.engine)


@pytest.fixture
def pedal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Pedal:
    return Pedal(tmp_path, monkeypatch)


def leave(state: Path, news: News) -> None:
    words = ", ".join(f'"{sentence}"' for sentence in news.sentences)
    (state / FILE).write_text(f'{{"sentences": [{words}], "anew": {"true" if news.anew else "false"}}}')


def test_a_slip_is_shown_with_its_line_and_nothing_stops(pedal: Pedal) -> None:
    pedal.lay(faults=(FAULT,))
    assert not pedal.reload(), "the settings are those that it has"
    page, for_s = pedal.engine.pages[0]
    assert page == MessageScreen("SETTINGS", ("line 3: capo: expected a whole number from 0 to 12 frets (got 'high')",))
    assert for_s == FAULTS_S


def test_what_a_stick_got_is_said_and_nothing_stops(pedal: Pedal) -> None:
    leave(pedal.state, News(("Copied: 1 session.",)))
    assert not pedal.reload()
    assert pedal.engine.pages == [(MessageScreen("STICK", ("Copied: 1 session.",)), NEWS_S)]
    assert not (pedal.state / FILE).exists()


@pytest.mark.parametrize("how", ["settings", "licks"])
def test_what_a_stick_brought_is_taken_up(pedal: Pedal, how: str) -> None:
    leave(pedal.state, News(("Taken.",), anew=how == "licks"))
    pedal.lay(capo=3 if how == "settings" else 0)
    assert pedal.reload()
    assert pedal.engine.pages == [], "it is said when the pedal is back"
    assert pedal.session._news == ("Taken.",)


def test_what_came_while_the_set_up_was_on_the_panel_is_said_after_it(
    pedal: Pedal, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The fault: it was said at the next reload, whatever that was for, which then was none."""
    from pedal.live.set_up import starting

    def a_set_up_and_a_stick(*_: object, **__: object) -> str:
        leave(pedal.state, News(("Copied: 1 session.",)))
        return "over"

    monkeypatch.setattr(starting, "set_up_pedal", a_set_up_and_a_stick)
    assert pedal.session.set_up(HandedSignals(), first=False) == "over"
    assert pedal.session._news == ("Copied: 1 session.",), "it is said when the pedal is back"
    assert not (pedal.state / FILE).exists()
    assert pedal.reload(), "a plain reload is one"


@pytest.mark.parametrize("when", ["before it", "during it"])
def test_settings_that_are_broken_at_the_set_up_end_no_pedal_that_plays(
    pedal: Pedal, monkeypatch: pytest.MonkeyPatch, when: str
) -> None:
    """The fault: a slip was refused at the reload, and choosing the set-up then ended the pedal over it."""
    from pedal.live.set_up import starting

    def broken(_: object) -> Layered:
        raise SettingsError([FAULT])

    def over(*_: object, **__: object) -> str:
        monkeypatch.setattr(wiring, "layered_settings", broken)
        return "over" if when == "during it" else broken(None)

    monkeypatch.setattr(starting, "set_up_pedal", over)
    assert pedal.session.set_up(HandedSignals(), first=False) == "over"
    assert pedal.session._next == pedal.session._settings
    assert pedal.session._broken_settings, "it is said when the pedal is back"
    assert not pedal.reload() and pedal.engine.pages[-1][0].title == "SETTINGS"


def test_the_watchdog_is_fed_while_a_long_log_is_read(pedal: Pedal, monkeypatch: pytest.MonkeyPatch) -> None:
    """The fault: on a slow board a reload with a month's log took longer than the watchdog waits (an estimate)."""
    happened: list[str] = []
    monkeypatch.setattr(service_manager, "notify", happened.append)
    for name, read in (("entries_before", []), ("looks_back", ())):
        monkeypatch.setattr(session, name, lambda *_, name=name, read=read, **__: happened.append(name) or read)
    pedal.session._pedal_and_log_writer(pedal.layered.settings)
    assert happened == ["entries_before", "looks_back"], "it does not watch before the pedal is ready"
    happened.clear()
    pedal.session._memory = {}
    pedal.session._pedal_and_log_writer(pedal.layered.settings)
    assert happened == ["WATCHDOG=1", "entries_before", "WATCHDOG=1", "looks_back", "WATCHDOG=1"]


def test_a_plain_reload_is_one(pedal: Pedal) -> None:
    assert pedal.reload()


def test_the_last_good_settings_are_kept_and_a_slip_leaves_them(pedal: Pedal) -> None:
    pedal.layered = replace(pedal.layered, text="capo: 2\n")
    pedal.reload()
    assert (pedal.state / GOOD).read_text() == "capo: 2\n"
    pedal.layered = replace(pedal.layered, text="", faults=(FAULT,))
    pedal.reload()
    assert (pedal.state / GOOD).read_text() == "capo: 2\n"
