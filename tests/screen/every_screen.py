"""Screen models at their longest: every name, figure and list as wide as it can come."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

from hypothesis import strategies as st

from pedal.modes.screen_model import (
    BlindScreen,
    CurlScreen,
    EchoScreen,
    LadderScreen,
    LadderSummaryScreen,
    LickScreen,
    MenuScreen,
    MessageScreen,
    RecallRow,
    RecallScreen,
    RoundEndScreen,
    RoundLickScreen,
    RoundRestScreen,
    RoundScreen,
    RoundStartScreen,
    ScreenModel,
    Side,
    Status,
    StringPicture,
    StripMark,
    TuneScreen,
    VerdictCard,
    WatchScreen,
)
from pedal.theory.scale import SCALES

JUDGED = ("TRUE", "NEAR", "FLAT", "SHARP", "RELEASED")
REFUSED = ("UNCLEAR", "SLIDE", "HAMMER", "HAMMER-ON", "PULL-OFF", "STEADY", "OTHER")
ENDINGS = ("", "cut", "released", "rang out")
NOTES = ("E2", "Bb3", "F#4", "C#5", "Gb5", "D6")
REASON = "the string was released to three cents before it was cut off, so the curl does not count"
KEYS = tuple(f"{tonic} {scale}" for tonic in ("G", "Bb", "F#", "C#") for scale in SCALES)
MENU_VALUES = (
    "G", "Bb", "minor pentatonic", "major pentatonic", "mixolydian", "position 5", "E2 A2 D3 G3 B3 E4",
    "Eb2 Ab2 Db3 Gb3 Bb3 Eb4", "capo 12", "440.0 Hz", "10 / 25 cents", "input 2 of 8, peak -12 dB", "root and fifth",
    "glance", "close", "USB audio interface with a long name, channel 1", "on", "off",
)  # fmt: skip
ITEMS = ("key", "scale", "tuning", "capo", "A4", "tolerance", "input", "drone", "volume", "display", "device")
MARKS = ("open", "true", "near", "missed", "skipped", "crossed")

figures = st.one_of(st.none(), st.integers(-399, 399))
cents = st.one_of(st.none(), st.floats(-60, 450))
spreads = st.one_of(st.none(), st.floats(0, 150))
notes = st.sampled_from(NOTES)
statuses = st.builds(
    Status,
    st.sampled_from(("tune", "watch", "curl", "ladder", "blind", "echo", "lick", "round", "recall", "menu")),
    st.sampled_from(KEYS),
    st.booleans(),
    st.integers(0, 5000),
    st.booleans(),
    st.booleans(),
    st.booleans(),
    st.sampled_from((None, 1, 4)),
    st.booleans(),
    st.sampled_from(("", "G", "Ebm", "F#m", "Bb7")),
    st.integers(0, 4),
    st.booleans(),
)
timings = st.sampled_from(("", "on the beat", "213 ms early"))
mores = st.sampled_from(((), ("b7 of Bb7", "vib 10.4 Hz ±121 both sides, uneven", "rise 0.24 s, uneven")))
reasons = st.sampled_from(("", REASON))
faces = st.one_of(
    st.builds(
        VerdictCard,
        word=st.sampled_from(JUDGED),
        figure=figures,
        ending=st.sampled_from(ENDINGS),
        line=reasons,
        is_height=st.booleans(),
        note=st.sampled_from(("", *NOTES)),
        timing=timings,
        side=st.sampled_from(get_args(Side)),
        more=mores,
    ),
    st.builds(VerdictCard, st.sampled_from(REFUSED), st.none(), st.just(""), reasons),
)
strings = st.builds(
    StringPicture,
    cents,
    st.sampled_from((None, 100.0, 200.0, 300.0, 500.0)),
    st.sampled_from((None, (15.0, 60.0))),
    cents,
    st.booleans(),
    st.floats(1, 25),
)
maybe_faces = st.one_of(st.none(), faces)
maybe_strings = st.one_of(st.none(), st.integers(1, 7))
frets = st.one_of(st.none(), st.integers(0, 24))
rungs = st.lists(st.sampled_from(MARKS), min_size=1, max_size=18).map(tuple)


halves = st.one_of(st.none(), st.floats(-150, 150))
percents = st.one_of(st.none(), st.floats(-99, 400))
counts = st.integers(0, 999)
maybe_notes = st.one_of(st.none(), notes)
tuned = st.one_of(st.none(), st.floats(-50, 50))
targets = st.sampled_from((*NOTES, "Bb3 curl", "F#4 curl"))
open_strings = st.lists(st.tuples(notes, tuned), max_size=7).map(tuple)
rows = st.lists(st.builds(RecallRow, targets, counts, halves, spreads), max_size=4).map(tuple)
worsts = st.sampled_from(("", "Db5 -128", "string 1 fret 15 to Db5"))
titles = st.sampled_from(("No input", "NO ROOM", "PANEL LOST", "LOG PAUSED", "Undertoe"))
remedies = st.sampled_from(("Plug the audio interface in again.", "position 5", "does not fit the neck"))
stages = st.sampled_from(("empty", "recording", "ready"))
switches_held = st.integers(0, 4)
same = st.one_of(st.none(), st.booleans())
likenesses = st.one_of(st.none(), st.integers(0, 100))
models = st.sampled_from(("", "Bb3 +312"))
supports = st.sampled_from(("ring +1", "ring +2", "", "ring +2, heavy", "ring +2, too heavy"))
strings_from_1 = st.integers(1, 7)
rising = st.integers(0, 18)


@st.composite
def ladders(draw: st.DrawFn) -> LadderScreen:
    marks = draw(rungs)
    return LadderScreen(
        status=draw(statuses),
        position=draw(st.integers(1, 5)),
        index=draw(st.integers(0, len(marks) - 1)),
        rungs=marks,
        string=draw(strings_from_1),
        fret=draw(st.integers(0, 24)),
        note=draw(notes),
        target=draw(notes),
        support=draw(supports),
        picture=draw(strings),
        verdict=draw(maybe_faces),
        climbed=draw(st.booleans()),
    )


@st.composite
def licks(draw: st.DrawFn) -> LickScreen:
    """A lick at any stage, of up to as many notes as a pass may have marks."""
    marks = draw(st.lists(st.sampled_from(get_args(StripMark)), max_size=36).map(tuple))
    at = st.none() if not marks else st.none() | st.integers(0, len(marks) - 1)
    stage = draw(st.sampled_from(("empty", "recording", "ready", "offer", "playing", "marked")))
    changes = ("play", "curl", "bend", "pre-bend")  # an offer asks for one of these, and for none of the questions
    return LickScreen(
        status=draw(statuses),
        stage=stage,
        asks=draw(st.sampled_from(changes if stage == "offer" else ("as played", "plain", "sung", *changes))),
        line=draw(st.sampled_from(LICK_LINES)),
        strip=marks,
        caret=draw(at),
        reached=draw(at),
        count=draw(st.sampled_from(("", "1", "24", "0/2", "24/24", "KEEP?", "DROP?"))),
        note=draw(st.just("") | notes),
        title=draw(st.sampled_from(("", "new G3 Bb3 C4 D4 …", "40 a name of as many letters as a name may have"))),
        details=draw(st.sampled_from(("", "tempo 200 %  height -100  length +300 %"))),
        switch=draw(switches_held),
    )


LICK_LINES = (
    "", "7 of 7", "4 of 24, the Bb3 pre-bend was bent before the pluck", "sound was lost: hold and play again",
    "In Eb it does not fit this neck.", "no model: 12 notes had no clear pitch: play single notes, one string at once",
)  # fmt: skip


homeworks = st.sampled_from(("", "1/3", "24/24 by 2026-12-04"))
parts = st.sampled_from(("plain", "curl", "half", "bend", "prebend", "between"))
tried_marks = st.lists(st.sampled_from(("open", "true", "near", "missed")), max_size=8).map(tuple)
fingers = st.sampled_from(("", "index", "middle +1", "ring +2, heavy"))
shorts = st.sampled_from(("Bb4 12/14", "Gb4 -122", "F#4~ 3/7", "C#5", "12 tries", "you came", "go on", "8 min"))
wholes = st.sampled_from((
    "bend Bb4 to Db5, 12/14 true", "pre-bend Gb4, 122 sharp", "the same again, or another position",
    "rest the hand 8 min, heavy bends 60 min", "123 tries, and every one counts",
))  # fmt: skip
closings = st.lists(
    st.tuples(st.sampled_from(("well", "tomorrow", "rest")), shorts, wholes), min_size=3, max_size=3
).map(tuple)
rounds: st.SearchStrategy[ScreenModel] = st.one_of(
    st.builds(RoundStartScreen, statuses, st.sampled_from((5, 10, 20)), st.integers(1, 7), st.integers(0, 200)),
    st.builds(
        RoundScreen, statuses, parts, strings_from_1, st.integers(0, 24), notes, notes, fingers, strings, maybe_faces,
        tried_marks, st.integers(0, 20), st.booleans(), st.booleans(), st.sampled_from(("", "0/3", "499/500")),
    ),
    st.builds(
        RoundLickScreen, statuses, licks().map(lambda one: replace(one, title="lick 40")),
        st.sampled_from(("", "old gate", "40 a name of as many letters as a name may have")),
        tried_marks, st.integers(0, 20), st.booleans(), st.booleans(), st.sampled_from(("", "0/3", "499/500")),
    ),
    st.builds(RoundRestScreen, statuses, st.integers(0, 120), st.integers(0, 20)),
    st.builds(RoundEndScreen, statuses, closings, st.integers(0, 2)),
)  # fmt: skip


screens: st.SearchStrategy[ScreenModel] = st.one_of(
    st.builds(TuneScreen, statuses, maybe_strings, maybe_notes, tuned, st.booleans(), open_strings),
    st.builds(WatchScreen, statuses, maybe_notes, maybe_notes, strings, maybe_faces),
    st.builds(CurlScreen, statuses, maybe_notes, strings, maybe_faces, counts, counts),
    ladders(),
    st.builds(LadderSummaryScreen, statuses, st.integers(1, 5), rungs, rising, rising, percents, spreads, worsts),
    st.builds(BlindScreen, statuses, notes, maybe_strings, frets, st.booleans(), maybe_faces, counts, halves, spreads),
    st.builds(
        EchoScreen,
        statuses,
        stages,
        models,
        percents,
        percents,
        percents,
        percents,
        same,
        likenesses,
        strings,
        switch=switches_held,
    ),
    licks(),
    rounds,
    st.builds(RecallScreen, statuses, rows, counts, st.integers(0, 9999), st.integers(0, 2), st.just(3), homeworks),
    st.builds(
        MenuScreen,
        statuses,
        st.just(ITEMS),
        st.integers(0, len(ITEMS) - 1),
        st.sampled_from(MENU_VALUES),
        st.booleans(),
    ),
    st.builds(MessageScreen, titles, st.lists(remedies, max_size=2).map(tuple)),
)
