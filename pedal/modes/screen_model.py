"""What a screen says, without a pixel. Names carry # and b; the picture draws ♯ and ♭."""

from __future__ import annotations

from typing import Literal

from pedal.values import frozen

TryMark = Literal["open", "true", "near", "missed"]
"""What became of a try at one thing; "open" where one is still wanted."""
RungMark = Literal["open", "true", "near", "missed", "skipped", "crossed"]
"""What became of a rung of Ladder; "crossed": it was crossed off, and is never asked for."""


@frozen
class StringPicture:
    """The string itself: where it is, where the post stands, the notch of the highest point.

    now_cents : height now above the rest note; None when nothing sounds.
    target_cents : where the post stands; None with no target (a curl shows its zone).
    zone_cents : (low, high) of the blue zone for a curl, else None.
    peak_cents : highest point of the note so far, None if none.
    blind : draw nothing of the height (Blind, before the pluck).
    true_cents : this near to the target the string touches the post.
    """

    now_cents: float | None = None
    target_cents: float | None = None
    zone_cents: tuple[float, float] | None = None
    peak_cents: float | None = None
    blind: bool = False
    true_cents: float = 10.0


Side = Literal["early", "on", "late", ""]
"""Of the beat, for a glance."""


@frozen
class VerdictCard:
    """The verdict for one glance.

    word : the big word ("TRUE", "FLAT", "RELEASED", "SLIDE"…).
    figure : signed cents, or None.
    ending : a short word ("cut", "released", "rang out", "").
    line : a few more words for the close density.
    is_height : the figure is the height of a curl in its zone, not an error.
    note : the note it was said of, for when it is shown beside another one.
    timing : where it arrived beside the beat, "" without a pulse; `side` in one word, "" where that is not known.
    more : further words for the close density: degree of the chord, vibrato, rises.
    """

    word: str
    figure: int | None
    ending: str = ""
    line: str = ""
    is_height: bool = False
    note: str = ""
    timing: str = ""
    side: Side = ""
    more: tuple[str, ...] = ()


@frozen
class Status:
    """The margins that every screen may show: small marks, not sentences.

    bad_switch : number of a switch that is stuck or noisy and therefore ignored.
    fault : a part of the pedal failed a moment ago and was started again.
    chord : the chord that the pedal sounds now ("Gm", "C7"), "" for none; `beat` of the bar, 0 without a pulse.
    no_output : a pulse is on, and no output plays it.
    """

    mode: str
    key: str
    clipped: bool = False
    lost_blocks: int = 0
    log_paused: bool = False
    drone: bool = False
    silent_input: bool = False
    bad_switch: int | None = None
    fault: bool = False
    chord: str = ""
    beat: int = 0
    no_output: bool = False


@frozen
class TuneScreen:
    """`cents` None until the pluck has settled; `settled` true once the average may be read to 0.1 cent."""

    status: Status
    string: int | None
    note: str | None
    cents: float | None
    settled: bool
    strings: tuple[tuple[str, float | None], ...] = ()


@frozen
class WatchScreen:
    """Any note of the key."""

    status: Status
    note: str | None
    target: str | None
    string: StringPicture
    verdict: VerdictCard | None


@frozen
class CurlScreen:
    """Curls: height in the zone, ending, streak."""

    status: Status
    note: str | None
    string: StringPicture
    verdict: VerdictCard | None
    streak: int
    best_streak: int


@frozen
class LadderScreen:
    """One rung. `rungs`: a mark a rung; `index` the present one; `climbed`: the last one, with its verdict."""

    status: Status
    position: int
    index: int
    rungs: tuple[RungMark, ...]
    string: int
    fret: int
    note: str
    target: str
    support: str
    picture: StringPicture
    verdict: VerdictCard | None
    climbed: bool = False


@frozen
class LadderSummaryScreen:
    """The position is done."""

    status: Status
    position: int
    rungs: tuple[RungMark, ...]
    true_count: int
    tried_count: int
    bias_cents: float | None
    spread_cents: float | None
    worst: str


@frozen
class BlindScreen:
    """Nothing before the pluck; then first-pitch error and the spread over repeats."""

    status: Status
    target: str
    string: int | None
    fret: int | None
    waiting: bool
    verdict: VerdictCard | None
    tries: int
    bias_cents: float | None
    spread_cents: float | None


@frozen
class EchoScreen:
    """`stage`: "empty" no model yet, "recording", "ready". Differences are player less model.

    unlike : what differs most, in a word or two; "" where hardly anything does.
    switch : number of the one that is held for a model; 0 where it is not known, or there is no other.
    """

    status: Status
    stage: Literal["empty", "recording", "ready"]
    model: str
    height_cents: float | None
    rise_percent: float | None
    hold_percent: float | None
    vibrato_percent: float | None
    ending_same: bool | None
    likeness: int | None
    string: StringPicture
    unlike: str = ""
    switch: int = 0


StripMark = Literal[
    "plain", "curl_cut", "curl_released", "bent", "near", "missed", "left_out", "added",
    "to_play", "to_curl", "to_bend", "to_prebend", "open",
]  # fmt: skip
"""What became of a note of a lick, or what is to become of it; "open": a note of a model that is being played."""


@frozen
class LickScreen:
    """A lick as a strip. `stage`: "empty" no model, "recording", "ready", "offer", "playing", "marked".

    asks : what is asked, or offered: "as played", "plain", "sung", "curl".
    line : one sentence. `title` : number, name or first notes.
    caret : place in the strip of the note worth the most work; `reached` of the one that comes next.
    count : how many were right, "5/7"; while it is played the place of the one that comes next, "5".
    note : the note at the caret, or the one that comes next.
    details : more figures for the close density.
    switch : as in Echo, where there is no model.
    """

    status: Status
    stage: Literal["empty", "recording", "ready", "offer", "playing", "marked"]
    asks: str
    line: str
    strip: tuple[StripMark, ...] = ()
    caret: int | None = None
    reached: int | None = None
    count: str = ""
    note: str = ""
    title: str = ""
    details: str = ""
    switch: int = 0


@frozen
class RoundStartScreen:
    """Before a Round. `heavy_left`: heavy bends that may still be asked for in this hour."""

    status: Status
    minutes: int
    position: int
    heavy_left: int


@frozen
class RoundScreen:
    """One thing to play. `part`: "plain", "curl", "half", "bend", "prebend", or "between" two heavy bends.

    marks : the true tries so far and still wanted ("true", "open"), then those that were not ("near", "missed").
    homework : how often it was true and shall be, "4/10"; "" for what nobody set.
    paused : nobody played for a while, and the Round's time stands still.
    """

    status: Status
    part: Literal["plain", "curl", "half", "bend", "prebend", "between", "lick"]
    string: int
    fret: int
    note: str
    target: str
    support: str
    picture: StringPicture
    verdict: VerdictCard | None
    marks: tuple[TryMark, ...]
    minutes_left: int
    heavy: bool = False
    paused: bool = False
    homework: str = ""


@frozen
class RoundLickScreen:
    """A lick to play: `strip` as in Lick; `title` its name; the rest as in `RoundScreen`. `heavy`: some bends."""

    status: Status
    strip: LickScreen
    title: str
    marks: tuple[TryMark, ...]
    minutes_left: int
    heavy: bool = False
    paused: bool = False
    homework: str = ""


@frozen
class RoundRestScreen:
    """The hand rests for so many seconds more."""

    status: Status
    seconds: int
    minutes_left: int


@frozen
class RoundEndScreen:
    """Three lines (title, short, whole); a glance shows the one at `page`."""

    status: Status
    lines: tuple[tuple[str, str, str], ...]
    page: int


@frozen
class RecallRow:
    """One target over the session; `is_height`: its middle is the height of curls, not the bias of bends."""

    target: str
    tries: int
    bias_cents: float | None
    spread_cents: float | None
    is_height: bool = False


@frozen
class RecallScreen:
    """Looking back; `page` from 0 of `pages`. A page without rows may tell of the homework: "1/3 by 2026-12-04"."""

    status: Status
    rows: tuple[RecallRow, ...]
    best_streak: int
    tries: int
    page: int
    pages: int
    homework: str = ""


@frozen
class LookbackScreen:
    """What the last session or month says. `true_percent` None without a try, `word` "" where nothing stands out."""

    status: Status
    title: str
    sessions: int
    tries: int
    true_percent: int | None
    word: str
    sentence: str
    page: int
    pages: int


@frozen
class CodeScreen:
    """All that Recall says as a QR code, `text` for 64 rows and `short` for 32."""

    status: Status
    text: str
    short: str
    page: int
    pages: int


@frozen
class MenuScreen:
    """One setting at a time: `items` names, `index` the present one, `value` its value.

    `editing` while it is being changed.
    """

    status: Status
    items: tuple[str, ...]
    index: int
    value: str
    editing: bool


@frozen
class MessageScreen:
    """A sentence for the player: a fault and its remedy, or a greeting."""

    title: str
    lines: tuple[str, ...]


ScreenModel = (
    TuneScreen
    | WatchScreen
    | CurlScreen
    | LadderScreen
    | LadderSummaryScreen
    | BlindScreen
    | EchoScreen
    | LickScreen
    | RoundStartScreen
    | RoundScreen
    | RoundLickScreen
    | RoundRestScreen
    | RoundEndScreen
    | RecallScreen
    | LookbackScreen
    | CodeScreen
    | MenuScreen
    | MessageScreen
)
