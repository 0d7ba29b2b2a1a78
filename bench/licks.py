"""Licks by rule, performed with known edits, heard by the chain and marked: how many marks are right.

`python -m bench.licks [--voice string|font|notes] [--notes FOLDER] [--licks N] [--keep FILE] [--worst N] [--drone]`

Each take holds three passes of one lick, at 0.6, 1 and 1.6 times its tempo, 1.9 s apart. Voices: a modelled stiff
string (bench/strings.py), the clean guitar of Debian's timgm6mb-soundfont (fluidsynth), and recordings of single
plucked notes, played back along the curve (FOLDER/manifest.csv with `file`, `cls`, `midi`; class "singles" counts).
`--keep` writes the verdicts aside and reads them again, so that marks can be looked at without hearing anew. `--drone`:
the pedal's drone comes back in the sound, 30 dB under the loudest note, and is cleaned out as it is live.
"""

from __future__ import annotations

import argparse
import csv
import pickle
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from itertools import accumulate
from pathlib import Path

import numpy as np
import soundfile

from bench.curves import BLOCK, BLOCK_S, RATE, Curve
from bench.strings import Sound, modelled, note_hz, samplers
from pedal.chain import Chain
from pedal.leak.drone_leak import DroneLeak
from pedal.licks.forms import AskedNote, asked
from pedal.licks.heard import HeardNote, heard_note, model_of
from pedal.licks.lick import Lick, LickError, LickNote
from pedal.licks.marks import mark_pass
from pedal.licks.offers import applied, offers, sung_form
from pedal.licks.passes import Passes
from pedal.theory.effort import Rig
from pedal.theory.neck import PLAIN_NECK, positions
from pedal.theory.scale import parse_key
from pedal.verdicts.aim import Aim, Bands
from pedal.verdicts.verdict import Verdict

KEYS = ("G minor pentatonic", "A blues", "E minor", "D dorian", "C major", "A mixolydian", "F# minor pentatonic")
TEMPI = (0.6, 1.0, 1.6)
EDITS = ("none", "none", "released", "low", "short", "plain", "left_out", "added", "wrong", "creep")
APART_S, LEAD_S = 1.9, 0.6
PUSH = 480
"""Ten milliseconds a push: when a mark was there is known to that."""


@dataclass
class Performed:
    """A pass: curves for its notes, and the mark that each asked note must have ("added" in its place)."""

    notes: list[tuple[float, int, Curve, bool]]
    """Begin in seconds of the pass, fretted note, cents a block, whether it is choked."""
    marks: list[str]
    lasts_s: float


def licks_by_rule(count: int, seed: int) -> list[Lick]:
    """Walks through a position: half of them plain, half with some of what they invite."""
    rng = np.random.default_rng(seed)
    made: list[Lick] = []
    while len(made) < count:
        key = parse_key(KEYS[len(made) % len(KEYS)])
        places = positions(key, PLAIN_NECK)
        spots = places[int(rng.integers(len(places)))].spots
        at, notes = int(rng.integers(len(spots) // 3, len(spots) - 2)), []
        for _ in range(int(rng.integers(4, 11))):
            spot = spots[at]
            rest = float(rng.choice([0.0, 0.0, 0.0, 0.5]))
            notes.append(
                LickNote(spot.midi, float(rng.choice([0.5, 0.5, 1.0])), rest, string=spot.string, fret=spot.fret)
            )
            at = int(np.clip(at + rng.choice([-2, -1, -1, 1, 1, 2]), 0, len(spots) - 1))
        notes[-1] = replace(notes[-1], beats=1.5, rest_beats=0.0)
        lick = Lick(tuple(notes), key, float(rng.uniform(72, 108)))
        if len(made) % 2:
            found = offers(lick, neck=PLAIN_NECK, rig=Rig())
            lick = sung_form(lick, found)
            again = [o for o in offers(lick, neck=PLAIN_NECK, rig=Rig()) if o.place in ("begin", "end") and not o.heavy]
            if again:
                lick = applied(lick, again[int(rng.integers(len(again)))])
            if all(note.inflection == "plain" for note in lick.notes):
                continue
        made.append(lick)
    return made


def glide(here: float, there: float, seconds: float) -> Curve:
    count = max(1, round(seconds / BLOCK_S))
    share = (np.arange(count) + 0.5) / count
    return here + (there - here) * (3 * share**2 - 2 * share**3)


def level(cents: float, seconds: float) -> Curve:
    return np.full(max(1, round(seconds / BLOCK_S)), float(cents))


def curve_of(note: LickNote, lasts_s: float, edit: str, rng: np.random.Generator) -> Curve:
    """What the hand does in so many seconds."""
    height = note.height_cents
    if edit == "plain":
        return level(0.0, lasts_s)
    if edit == "creep":
        up = float(rng.uniform(25, 45))
        return np.concatenate([level(0, 0.25 * lasts_s), glide(0, up, 0.25 * lasts_s), level(up, 0.5 * lasts_s)])
    if note.inflection == "curl":
        parts = [level(0, 0.25 * lasts_s), glide(0, height, 0.25 * lasts_s)]
        if edit == "released" or note.ending == "release":
            return np.concatenate(
                [*parts, level(height, 0.2 * lasts_s), glide(height, 0, 0.15 * lasts_s), level(0, 0.15 * lasts_s)]
            )
        return np.concatenate([*parts, level(height, 0.5 * lasts_s)])
    if note.inflection == "bend":
        height += {"low": -18.0, "short": -38.0}.get(edit, 0.0)
        parts = [level(0, 0.3 * lasts_s), glide(0, height, 0.2 * lasts_s)]
        if note.ending == "release":
            return np.concatenate(
                [*parts, level(height, 0.2 * lasts_s), glide(height, 0, 0.12 * lasts_s), level(0, 0.18 * lasts_s)]
            )
        return np.concatenate([*parts, level(height, 0.5 * lasts_s)])
    if note.inflection == "prebend":
        height += {"low": -18.0, "short": -38.0}.get(edit, 0.0)
        if note.ending == "release":
            return np.concatenate(
                [level(height, 0.5 * lasts_s), glide(height, 0, 0.2 * lasts_s), level(0, 0.3 * lasts_s)]
            )
        return level(height, lasts_s)
    return level(0.0, lasts_s)


def perform(lick: Lick, tempo: float, edit: str, rng: np.random.Generator) -> Performed:
    """The lick with one edit, where it has a note for it."""
    fits = {
        "released": lambda n: n.inflection == "curl",
        "low": lambda n: n.inflection in ("bend", "prebend"),
        "short": lambda n: n.inflection in ("bend", "prebend"),
        "plain": lambda n: n.inflection in ("curl", "bend"),
        "creep": lambda n: n.inflection == "plain" and (n.midi - lick.key.tonic.semitone) % 12 in (3, 10)
        and lick.key.contains(n.midi),
        "left_out": lambda n: True, "added": lambda n: True, "wrong": lambda n: n.inflection == "plain",
    }  # fmt: skip
    able = [p for p, n in enumerate(lick.notes) if edit in fits and fits[edit](n)]
    if edit in ("left_out", "added"):  # at an end of equal notes nobody can know; and a pass needs its ends
        able = [p for p in able if 0 < p < len(lick.notes) - 1]
    if edit in ("released", "low", "short", "plain", "creep"):
        able = [p for p in able if lick.notes[p].beats * lick.beat_s / tempo >= 0.2]
    at = int(rng.choice(able)) if able else -1
    usual = {"plain": "plain", "curl": "curl_cut", "bend": "bent", "prebend": "bent"}
    notes, marks, shift = [], [], 0.0
    for place, (note, onset) in enumerate(zip(lick.notes, lick.onsets_s, strict=True)):
        begin, lasts = onset / tempo + shift, note.beats * lick.beat_s / tempo
        begin += float(rng.normal(0, 0.008)) if place else 0.0
        mark = usual[note.inflection]
        if note.inflection == "curl" and note.ending == "release":
            mark = "curl_released"
        mine = place == at
        if mine and edit == "left_out":
            marks.append("left_out")
            continue
        if mine and edit == "added":
            extra_s = 0.3 / tempo
            extra = int(lick.notes[place - 1].midi + rng.choice([-5, -3, 4, 6]))
            notes.append((begin, max(43, extra), level(0, extra_s), True))
            marks.append("added")
            shift += extra_s + 0.02
            begin += extra_s + 0.02
        midi = note.midi
        if mine and edit == "wrong":
            midi, mark = midi + int(rng.choice([-4, -1, 1, 6])), "missed"
            while midi in (note.midi, lick.notes[place - 1].midi, lick.notes[min(place + 1, len(lick.notes) - 1)].midi):
                midi += 1
        what = edit if mine else "none"
        mark = {
            "released": "curl_released",
            "low": "near",
            "short": "missed",
            "plain": "missed",
            "creep": "curl_cut",
        }.get(what, mark)
        notes.append((begin, midi, curve_of(note, lasts, what, rng), note.ending != "ring"))
        marks.append(mark)
    end = max(begin + len(cents) * BLOCK_S for begin, _, cents, _ in notes)
    return Performed(notes, marks, end)


class String:
    """The modelled string; it lies up to 5 cents off in each take."""

    def __init__(self, seed: int) -> None:
        self.rng = np.random.default_rng(seed)
        self.off = float(self.rng.uniform(-5, 5))

    def play(self, midi: int, cents: Curve) -> Sound:
        after = self.rng.uniform(0, 4) * np.exp(-np.arange(len(cents)) * BLOCK_S / 0.04)
        return modelled(note_hz(midi) * 2 ** ((cents + self.off + after) / 1200), open_hz=note_hz(midi), rng=self.rng)


class Font:
    """The clean guitar of a General MIDI sound font."""

    def __init__(self) -> None:
        fonts = samplers()
        self.sampler = next((one for one in fonts if one.name.startswith("TimGM")), fonts[0])

    def play(self, midi: int, cents: Curve) -> Sound:
        off = self.sampler.offset_cents(27, midi) or 0.0  # samples lie up to some cents off, each another way
        sound = self.sampler.play(27, midi, cents - round(off))[0]
        return sound / np.abs(sound).max()


class Recorded:
    """Recordings of single notes, resampled so that their pitch follows the curve; each put in tune first."""

    def __init__(self, folder: Path, seed: int) -> None:
        with (folder / "manifest.csv").open(encoding="utf-8") as file:
            rows = [row for row in csv.DictReader(file) if row["cls"] == "singles"]
        self.notes = [(int(row["midi"]), folder / row["file"]) for row in rows if float(row.get("dur") or 9) >= 2.5]
        self.rng, self.off = np.random.default_rng(seed), {}  # type: ignore[var-annotated]

    def play(self, midi: int, cents: Curve) -> Sound:
        import parselmouth

        near = sorted(self.notes, key=lambda one: abs(one[0] - midi))[:6]
        note, path = near[int(self.rng.integers(len(near)))]
        x, rate = soundfile.read(path, always_2d=True)
        x = x[:, 0]
        if path not in self.off:
            pitch = parselmouth.Sound(x[: int(1.2 * rate)], rate).to_pitch_ac(0.005, 60.0, pitch_ceiling=1600.0)
            found = pitch.selected_array["frequency"]
            away = 1200 * np.log2(found[found > 0] / note_hz(note))
            away = away[np.abs(away) < 80]
            self.off[path] = float(np.median(away)) if len(away) > 20 else 0.0
        begin = max(0, int(np.argmax(np.abs(x) > 0.02 * np.abs(x).max())) - int(0.002 * rate))
        n = len(cents) * BLOCK
        bent = np.interp(np.arange(n) / BLOCK, np.arange(len(cents)), cents) + 100 * (midi - note) - self.off[path]
        at = begin + np.cumsum(2 ** (bent / 1200)) * rate / RATE
        y = np.interp(np.minimum(at, len(x) - 1), np.arange(len(x)), x)
        return y / max(1e-9, float(np.abs(y).max()))


def begins_of(passes: list[Performed]) -> list[float]:
    """When each pass begins in its take, and at last when another would."""
    return list(accumulate((one.lasts_s + APART_S for one in passes), initial=LEAD_S))


def take_of(passes: list[Performed], voice: String | Font | Recorded, rng: np.random.Generator) -> Sound:
    """The sound."""
    *begins, over = begins_of(passes)
    x = np.zeros(round((over + 1.0) * RATE))
    for begin, one in zip(begins, passes, strict=True):
        for place, (on_s, midi, cents, choked) in enumerate(one.notes):
            y = voice.play(midi, cents) * rng.uniform(0.5, 1.0)
            start = round((begin + on_s) * RATE)
            if place + 1 < len(one.notes):  # the next pluck ends this note
                y = y[: max(BLOCK, round((begin + one.notes[place + 1][0]) * RATE) - start)]
            fade = min(len(y), round((0.012 if choked else 0.2) * RATE))
            y[len(y) - fade :] *= np.linspace(1, 0, fade) ** 2
            x[start : start + len(y)] += y
    x *= 0.5 / np.abs(x).max()
    return x + rng.normal(size=len(x)) * 10 ** (-70 / 20)


Told = list[tuple[float, Verdict]]


def hear(x: Sound, lick: Lick, *, drone: bool) -> Told:
    """Verdicts, each with the time at which it was there."""
    from pedal.synth.drone import Drone

    chain = Chain(RATE, Aim(lick.key, drone=False))
    leak = DroneLeak(RATE) if drone else None
    y = x.astype(np.float32)
    if leak is not None:
        hz = (note_hz(36 + lick.key.tonic.semitone % 12),)
        source = Drone(RATE, peak_db=-18.0)
        source.sound(hz, -18.0)
        lead = 4 * RATE
        y = np.concatenate([np.zeros(lead, np.float32), y])
        y = y + source.render(len(y)) * np.float32(10 ** (-18 / 20))
        leak.expect(hz)
    told: Told = []
    for start in range(0, len(y) - PUSH + 1, PUSH):
        block = y[start : start + PUSH]
        if leak is not None:
            block = leak.clean(block)
        for heard in chain.push(block):
            if isinstance(heard, Verdict):
                shift = 4.0 if leak is not None else 0.0
                told.append(((start + PUSH) / RATE - shift, _without_trace(heard, shift)))
    return told


def _without_trace(verdict: Verdict, shift_s: float) -> Verdict:
    return replace(verdict, trace=None, onset_s=verdict.onset_s - shift_s, end_s=verdict.end_s - shift_s)


def split(told: Told, wanted: tuple[AskedNote, ...]) -> list[tuple[HeardNote, ...]]:
    passes, done = Passes(wanted), []
    for _, verdict in told:
        note = heard_note(verdict)
        if note is not None and (over := passes.hear(note)):
            done.append(over)
    if over := passes.finish():
        done.append(over)
    return done


def takes(count: int, seed: int) -> Iterator[tuple[int, Lick, list[Performed], list[str]]]:
    for number, lick in enumerate(licks_by_rule(count, seed)):
        rng = np.random.default_rng([seed, number])
        edits = [str(edit) for edit in rng.choice(EDITS, len(TEMPI))]
        yield number, lick, [perform(lick, t, e, rng) for t, e in zip(TEMPI, edits, strict=True)], edits


def main() -> None:
    """Prints the figures of a voice."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", maxsplit=1)[0])
    parser.add_argument("--voice", choices=("string", "font", "notes"), default="string")
    parser.add_argument("--notes", type=Path)
    parser.add_argument("--licks", type=int, default=40)
    parser.add_argument("--seed", type=int, default=16)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--worst", type=int, default=0)
    parser.add_argument("--drone", action="store_true")
    wanted = parser.parse_args()
    kept: dict[int, Told] = {}
    if wanted.keep and wanted.keep.exists():
        kept = pickle.loads(wanted.keep.read_bytes())
    notes = right = passes = whole = plain = crept = models = found = 0
    late: list[float] = []
    confused: Counter[tuple[str, str]] = Counter()
    for number, lick, performed, edits in takes(wanted.licks, wanted.seed):
        rng = np.random.default_rng([wanted.seed, number, 7])
        if number not in kept:
            voice: String | Font | Recorded
            if wanted.voice == "string":
                voice = String(number)
            elif wanted.voice == "font":
                voice = Font()
            else:
                voice = Recorded(wanted.notes, number)
            kept[number] = hear(take_of(performed, voice, rng), lick, drone=wanted.drone)
            if wanted.keep:
                wanted.keep.write_bytes(pickle.dumps(kept))
        told = kept[number]
        ask = asked(lick, "as_played")
        heard = split(told, ask)
        for n, (one, begin) in enumerate(zip(performed, begins_of(performed), strict=False)):
            end = begin + one.lasts_s
            mine = [h for h in heard if begin - 0.5 < h[0].onset_s < end]
            passes += 1
            notes += len(one.marks)
            last = [t for t, v in told if begin - 0.3 < v.onset_s < end + 0.3 and v.end_s > end - 0.25]
            late += [max(last) - end] if last else []
            if not mine:
                confused["(pass)", "not heard"] += len(one.marks)
                continue
            marked = mark_pass(ask, mine[0], question="as_played", key=lick.key, bands=Bands())
            got = [mark.mark for mark in marked.marks]
            same = len(got) == len(one.marks) and len(mine) == 1
            whole += same
            pairs = zip(one.marks, got, strict=True) if same else ()
            right += (
                sum(a == b for a, b in pairs)
                if same
                else sum(
                    block.size for block in SequenceMatcher(None, one.marks, got, autojunk=False).get_matching_blocks()
                )
            )
            if got != one.marks:
                for a, b in zip(one.marks, got, strict=False):
                    if a != b:
                        confused[a, b] += 1
                if wanted.worst > 0:
                    wanted.worst -= 1
                    print(f"lick {number} pass {n} x{TEMPI[n]} {edits[n]}: {[x_.midi for x_ in lick.notes]}")
                    print("   want", one.marks, "\n   got ", got, len(mine), "passes")
                    for _, v in told:
                        if begin - 0.3 < v.onset_s < end + 0.3:
                            cents = "" if v.bend_cents is None else f"{v.bend_cents:.0f}"
                            print(f"      {v.onset_s - begin:6.3f} {v.end_s - v.onset_s:.3f} {v.rest_note} {v.kind}")
                            print(f"        {cents} {v.target_note} {v.ending} {v.verdict} {v.begun_by}: {v.reason}")
                    print("      true", [(round(b, 3), m) for b, m, _, _ in one.notes])
            if all(note.inflection == "plain" for note in lick.notes) and edits[n] != "creep":
                marks = [m for m in marked.marks if m.heard is not None]
                plain += len(marks)
                crept += sum(m.heard is not None and (m.heard.inflected or m.words.startswith("crept")) for m in marks)
            if edits[n] == "none":
                models += len(lick.notes)
                try:
                    model = model_of(mine[0], lick.key)
                    want = [(note.sounds, note.inflection) for note in lick.notes]
                    have = [(note.sounds, note.inflection) for note in model.notes]
                    want = [(s, "plain" if i == "prebend" and len(s) == 1 else i) for s, i in want]
                    blocks = SequenceMatcher(None, want, have, autojunk=False).get_matching_blocks()
                    found += sum(block.size for block in blocks)
                except LickError as fault:
                    confused["model", str(fault)[:40]] += 1
    times = np.array(late)
    print(f"{wanted.voice}{' with the drone' if wanted.drone else ''}: {passes} passes, {notes} notes")
    print(
        f"  right mark {100 * right / notes:.2f} % of notes; "
        f"right number of notes {100 * whole / passes:.2f} % of passes"
    )
    print(f"  model found {100 * found / max(1, models):.2f} % of {models} notes of passes without an edit")
    print(f"  plain passes: no inflection on {100 * (1 - crept / max(1, plain)):.2f} % of {plain} notes")
    if len(times):
        print(f"  last verdict after the last note, ms: median {1000 * np.median(times):.0f}, p95 "
              f"{1000 * np.percentile(times, 95):.0f}, most {1000 * times.max():.0f}")  # fmt: skip
    for (a, b), n in confused.most_common(12):
        print(f"    {a} -> {b}: {n}")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
