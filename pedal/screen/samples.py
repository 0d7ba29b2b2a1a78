"""An example of every screen, from a slow blues in G: for the panel test, the contact sheet and the tests."""

from __future__ import annotations

from dataclasses import replace

from pedal.modes.screen_model import (
    BlindScreen,
    CodeScreen,
    CurlScreen,
    EchoScreen,
    LadderScreen,
    LadderSummaryScreen,
    LickScreen,
    LookbackScreen,
    MenuScreen,
    MessageScreen,
    RecallRow,
    RecallScreen,
    RoundEndScreen,
    RoundLickScreen,
    RoundRestScreen,
    RoundScreen,
    RoundStartScreen,
    RungMark,
    ScreenModel,
    Status,
    StringPicture,
    StripMark,
    TuneScreen,
    VerdictCard,
    WatchScreen,
)

KEY = "G minor pentatonic"
ZONE = (15.0, 60.0)
BLUE_ZONE = StringPicture(zone_cents=ZONE)
WHOLE_STEP = StringPicture(target_cents=200.0)
OPEN_STRINGS = (("E2", -0.4), ("A2", 0.3), ("D3", 6.2), ("G3", None), ("B3", None), ("E4", None))
RUNGS: tuple[RungMark, ...] = (
    "true",
    "true",
    "near",
    "true",
    "skipped",
    "missed",
    "true",
    "open",
    "open",
    "open",
    "open",
    "crossed",
)


def _status(mode: str, **marks: bool | int | str) -> Status:
    return Status(mode, KEY, **marks)  # type: ignore[arg-type]


def _ladder(picture: StringPicture, verdict: VerdictCard | None = None) -> LadderScreen:
    return LadderScreen(_status("ladder"), 1, 7, RUNGS, 2, 6, "F4", "G4", "ring +2, heavy", picture, verdict)


PHRASE: tuple[StripMark, ...] = ("to_play", "to_curl", "to_bend", "to_play", "to_play", "to_play", "to_curl")
JUDGED: tuple[StripMark, ...] = ("plain", "curl_cut", "bent", "plain", "plain", "plain", "curl_released")


def _round() -> dict[str, ScreenModel]:
    """A Round from its beginning to its three lines."""
    status, up = _status("round"), StringPicture(171.0, 200.0, None, 174.0)
    bent = StringPicture(None, 200.0)
    true = VerdictCard("TRUE", 3, "cut", "F4 bent to G4: 3 cents sharp.")
    return {
        "round begins": RoundStartScreen(status, 10, 1, 10),
        "round plain": RoundScreen(status, "plain", 4, 5, "G3", "G3", "", StringPicture(), None, (), 10),
        "round curl": RoundScreen(
            status, "curl", 2, 6, "F4", "F4", "index", StringPicture(34.0, None, ZONE, 38.0), None,
            ("true", "open", "open"), 9,
        ),
        "round bend": RoundScreen(
            status, "bend", 2, 6, "F4", "G4", "middle +1", up, None, ("true", "open", "open", "missed"), 7
        ),
        "round judged": RoundScreen(
            status, "bend", 2, 6, "F4", "G4", "middle +1", bent, true, ("true", "true", "open", "missed"), 7
        ),
        "round heavy": RoundScreen(
            status, "bend", 1, 6, "Bb4", "C5", "ring +2, heavy", bent, None, ("open", "open", "open"), 5, heavy=True
        ),
        "round between": RoundScreen(status, "between", 1, 8, "C5", "C5", "", StringPicture(), None, (), 5),
        "round pre-bend": RoundScreen(
            status, "prebend", 2, 8, "G4", "Bb4", "ring +2", StringPicture(blind=True), None,
            ("true", "open", "open", "near"), 3, homework="4/10",
        ),
        "round lick": RoundLickScreen(
            status, LickScreen(status, "ready", "as played", "lick 3", PHRASE, title="lick 3"), "old gate",
            ("open", "open", "open"), 2,
        ),
        "round lick playing": RoundLickScreen(
            status, LickScreen(status, "playing", "as played", "lick 3", PHRASE, None, 2, "3", "C4", "lick 3"),
            "old gate", ("true", "open", "open"), 2, homework="4/10",
        ),
        "round lick judged": RoundLickScreen(
            status,
            LickScreen(
                status, "marked", "as played", "6 of 7, the last curl came down", JUDGED, 6, None,
                "6/7", "Bb3", "lick 3"
            ),
            "old gate", ("true", "open", "open", "near"), 1,
        ),
        "round in time": RoundScreen(
            replace(status, drone=True, chord="C7", beat=3), "bend", 2, 6, "F4", "G4", "middle +1", bent,
            replace(true, timing="34 ms late", more=("5 of C7", "rise 0.24 s, even")), ("true", "true", "open"), 7,
        ),
        "round unheard": RoundScreen(
            replace(status, no_output=True, drone=True, chord="C7"), "bend", 2, 6, "F4", "G4", "middle +1", up, None,
            ("true", "open", "open"), 7,
        ),
        "round lick long": RoundLickScreen(
            status,
            LickScreen(
                status, "marked", "as played", "21 of 24, the first curl rang on",
                ("plain", "curl_cut", "bent", "near", "plain", "plain") * 4, 3, None, "21/24", "Bb3", "lick 12",
            ),
            "the long one of a rainy day", ("true", "true", "open", "missed"), 1,
        ),
        "round rest": RoundRestScreen(status, 27, 5),
        "round paused": RoundScreen(
            status, "bend", 2, 6, "F4", "G4", "middle +1", bent, None, ("open", "open", "open"), 7, paused=True
        ),
        "round well": _round_end(status, 0),
        "round tomorrow": _round_end(status, 1),
        "round then rest": _round_end(status, 2),
    }  # fmt: skip


def _round_end(status: Status, page: int) -> RoundEndScreen:
    lines = (
        ("well", "G4 3/4", "bend F4 to G4, 3/4 true"),
        ("tomorrow", "Bb4 -22", "pre-bend Bb4, 22 flat"),
        ("rest", "4 min", "rest the hand 4 min, heavy bends 58 min"),
    )
    return RoundEndScreen(status, lines, page)


def samples() -> dict[str, ScreenModel]:
    """Screen models by a short name, in the order of the modes."""
    watch, curl, blind, echo = (
        _status("watch"),
        _status("curl"),
        _status("blind", drone=True, chord="Gm"),
        _status("echo"),
    )
    lick = _status("lick")
    return {
        "tune waiting": TuneScreen(_status("tune"), None, None, None, False, OPEN_STRINGS),
        "tune flat": TuneScreen(_status("tune"), 4, "D3", -12.4, False, OPEN_STRINGS),
        "tune there": TuneScreen(_status("tune"), 2, "B3", 0.3, True, OPEN_STRINGS),
        "watch waiting": WatchScreen(watch, None, None, StringPicture(), None),
        "watch rising": WatchScreen(watch, "C4", "D4", StringPicture(128.0, 200.0, None, 128.0), None),
        "watch there": WatchScreen(watch, "C4", "D4", StringPicture(203.0, 200.0, None, 207.0), None),
        "watch past": WatchScreen(watch, "Bb3", "C4", StringPicture(236.0, 200.0, None, 241.0), None),
        "watch zone": WatchScreen(watch, "Bb3", "C4", StringPicture(36.0, 200.0, ZONE, 40.0), None),
        "watch true": WatchScreen(
            watch, "C4", "D4", WHOLE_STEP, VerdictCard("TRUE", 4, "rang out", "a whole step to D4, held 0.8 s")
        ),
        "watch near": WatchScreen(
            watch, "C4", "D4", WHOLE_STEP, VerdictCard("NEAR", -18, "cut", "18 cents below D4, held 0.5 s")
        ),
        "watch flat": WatchScreen(
            watch, "F4", "G4", WHOLE_STEP, VerdictCard("FLAT", -34, "released", "34 cents below G4, held 0.3 s")
        ),
        "watch after": WatchScreen(
            _status("watch", clipped=True),
            "G4",
            "Bb4",
            StringPicture(2.0, 300.0, None, 2.0),
            VerdictCard("SHARP", 31, "cut", note="F4"),
        ),
        "watch slide": WatchScreen(
            watch, "F4", "G4", WHOLE_STEP, VerdictCard("SLIDE", None, "", "a slide in fret-sized steps, not a bend")
        ),
        "watch in time": WatchScreen(
            _status("watch", drone=True, chord="C7", beat=3), "C4", "E4", StringPicture(290.0, 400.0, None, 290.0), None
        ),
        "watch late": WatchScreen(
            _status("watch", drone=True, chord="C7", beat=4),
            "D4",
            "E4",
            WHOLE_STEP,
            VerdictCard(
                "TRUE",
                3,
                "rang out",
                "D4 bent to E4: 3 cents sharp.",
                note="D4",
                timing="34 ms late",
                side="late",
                more=("3 of C7", "vib 5.4 Hz ±21 above, even", "rise 0.24 s, even"),
            ),
        ),
        "curl waiting": CurlScreen(curl, "Bb3", BLUE_ZONE, None, 3, 7),
        "curl in zone": CurlScreen(curl, "Bb3", StringPicture(34.0, None, ZONE, 38.0), None, 3, 7),
        "curl true": CurlScreen(
            curl,
            "Bb3",
            BLUE_ZONE,
            VerdictCard("TRUE", 38, "cut", "cut off at +38, in the blue zone", is_height=True),
            4,
            7,
        ),
        "curl released": CurlScreen(
            curl,
            "Bb3",
            StringPicture(None, None, ZONE, 38.0),
            VerdictCard(
                "RELEASED",
                38,
                "released",
                "B♭3 curled up 38 cents but was released before it was cut off",
                is_height=True,
            ),
            0,
            7,
        ),
        "ladder waiting": _ladder(WHOLE_STEP),
        "ladder judged in time": replace(
            _ladder(StringPicture(None, 200.0), VerdictCard("NEAR", -17, "", "A bend: 17 cents flat.")),
            status=_status("ladder", drone=True, chord="Bb7", beat=2),
        ),
        "ladder in time": replace(_ladder(WHOLE_STEP), status=_status("ladder", drone=True, chord="Gm", beat=1)),
        "blind in time": BlindScreen(
            _status("blind", drone=True, chord="F#m", beat=2), "Bb4", 1, 3, True, None, 4, -6.0, 9.0
        ),
        "tune in time": TuneScreen(
            _status("tune", drone=True, chord="D7", beat=2), 4, "D3", -12.4, False, OPEN_STRINGS
        ),
        "echo in time": EchoScreen(
            _status("echo", drone=True, chord="D7", beat=2),
            "ready",
            "C4 +200",
            None,
            None,
            None,
            None,
            None,
            None,
            StringPicture(176.0, 198.0, None, 176.0),
        ),
        "ladder rising": _ladder(StringPicture(171.0, 200.0, None, 174.0)),
        "ladder judged": _ladder(WHOLE_STEP, VerdictCard("FLAT", -22, "rang out", "22 cents below G4, held 1.1 s")),
        "ladder done": LadderSummaryScreen(_status("ladder"), 1, RUNGS, 4, 6, -8.4, 12.1, "string 1 fret 6 to Db5"),
        "blind waiting": BlindScreen(blind, "Bb4", 1, 3, True, None, 4, -6.0, 9.5),
        "blind judged": BlindScreen(
            blind, "Bb4", 1, 3, False, VerdictCard("SHARP", 11, "rang out", "first pitch 11 above"), 5, -2.6, 10.1
        ),
        "echo empty": EchoScreen(echo, "empty", "", *(None,) * 6, StringPicture(), switch=2),
        "echo recording": EchoScreen(
            echo, "recording", "", None, None, None, None, None, None, StringPicture(140.0, None, None, 150.0)
        ),
        "echo again": EchoScreen(
            echo, "ready", "C4 +200", None, None, None, None, None, None, StringPicture(176.0, 198.0, None, 176.0)
        ),
        "echo likeness": EchoScreen(
            echo, "ready", "C4 +200", -12.0, 20.0, -35.0, 10.0, True, 54, StringPicture(), "TOO LOW"
        ),
        "lick empty": LickScreen(lick, "empty", "", "", switch=2),
        "lick refused": LickScreen(
            lick,
            "ready",
            "as played",
            "no model: 2 notes had no clear pitch: play single notes, one string at a time",
            ("to_play",) * 5,
            title="new G3 Bb3 C4 D4 …",
        ),
        "lick strange": LickScreen(
            lick,
            "ready",
            "as played",
            "not this lick: hold to learn it anew",
            ("to_play", "to_curl", "to_bend", "to_play"),
            title="2 old gate",
        ),
        "lick recording": LickScreen(lick, "recording", "", "4 notes", ("open",) * 4),
        "lick ready": LickScreen(
            lick,
            "ready",
            "as played",
            "new G3 Bb3 C4 D4 …",
            ("to_play", "to_curl", "to_bend", "to_play", "to_prebend"),
            title="new G3 Bb3 C4 D4 …",
        ),
        "lick playing": LickScreen(
            lick,
            "playing",
            "sung",
            "2 old gate",
            ("to_play", "to_curl", "to_bend", "to_play", "to_play", "to_play", "to_curl"),
            None,
            2,
            "3",
            "C4",
            "2 old gate",
        ),
        "lick marked": LickScreen(
            lick,
            "marked",
            "sung",
            "5 of 7, the last curl came down",
            ("plain", "curl_cut", "bent", "plain", "near", "plain", "curl_released"),
            6,
            None,
            "5/7",
            "Bb3",
            "2 old gate",
            "tempo 92 %  height -3  came +12 %",
        ),
        "lick faults": LickScreen(
            lick,
            "marked",
            "as played",
            "4 of 7, D4 was left out",
            ("plain", "missed", "plain", "left_out", "added", "plain", "curl_cut", "bent"),
            3,
            None,
            "4/7",
            "D4",
            "new",
            "tempo 104 %",
        ),
        "lick long": LickScreen(
            lick,
            "marked",
            "as played",
            "21 of 24, the first curl rang on",
            ("plain", "curl_cut", "bent", "near", "plain", "plain") * 4,
            3,
            None,
            "21/24",
            "Bb3",
            "12 long one (from A)",
            "tempo 100 %",
        ),
        "lick offer": LickScreen(
            lick,
            "offer",
            "curl",
            "a rest follows: cut it sharp",
            ("to_play", "to_play", "to_curl", "to_play", "to_play"),
            2,
            None,
            "",
            "F4",
            "new G3 Bb3 C4 D4 …",
            "string 2 fret 6",
        ),
        "lick kept": LickScreen(
            lick,
            "marked",
            "bend",
            "there: press to keep it",
            ("plain", "plain", "bent", "plain"),
            2,
            None,
            "KEEP?",
            "C4",
            "new G3 Bb3 C4 D4 …",
            "tempo 98 %  height +4",
        ),
        **_round(),
        "recall": RecallScreen(
            _status("recall"),
            (
                RecallRow("D4", 14, -6.2, 8.1),
                RecallRow("Bb4", 9, -27.5, 14.9),
                RecallRow("Bb3 curl", 11, 36.4, 7.0, is_height=True),
            ),
            8,
            34,
            0,
            2,
        ),
        "recall session": LookbackScreen(
            _status("recall"),
            "last session",
            1,
            34,
            62,
            "b7→1 −22",
            "Your bends ♭7→1 stop 22 cents flat: aim higher (median of 34 tries, 95 % interval −28 to −16).",
            2,
            5,
        ),
        "recall month": LookbackScreen(_status("recall"), "last month", 9, 412, 58, "", "", 3, 5),
        "recall code": CodeScreen(
            _status("recall"),
            "UNDERTOE. TODAY: 12 BENDS 67% TRUE. LAST SESSION: 34 BENDS 62% TRUE B7-1 -22. "
            "LAST MONTH: 412 BENDS 58% TRUE B3 RELEASED.",
            "TODAY 12 BENDS 67% TRUE",
            4,
            5,
        ),
        "recall homework": RecallScreen(_status("recall"), (), 8, 34, 1, 2, "1/3 by 2026-12-04"),
        "menu": MenuScreen(
            _status("menu"), ("key", "scale", "position", "tuning", "capo", "A4"), 1, "minor pentatonic", False
        ),
        "menu changing": MenuScreen(
            _status("menu"), ("key", "scale", "position", "tuning", "capo", "A4"), 0, "Bb", True
        ),
        "message": MessageScreen("No input", ("The audio interface is gone.", "Plug it in again.")),
    }
