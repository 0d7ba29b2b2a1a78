"""Undertoe: how a sound becomes a verdict.

    block of samples --pitch--> readings --notes--> a note --verdicts (with an aim)--> a verdict --modes--> screen, log

Rooms without clock, thread, file or device, in the order in which they may know each other:

theory      what the words mean: cents, spelling, scales, the neck, the force of a bend
leak        takes the pedal's own drone, chords and clicks off what comes in
pitch       block -> readings (time, hertz, confidence, level)
notes       readings -> notes (onset, rest, rise, hold, fall, end)
verdicts    note + aim -> verdict
licks       verdicts + a lick -> which note was which, marks, offers
progress    logged verdicts -> bias, spread, advice
practice    a position, force and past tries -> the next thing to play
modes       verdict or gesture -> next aim, screen model, log entry
soundcheck  recorded samples -> figures of a sound device
setup       presses, pins and answers -> what the machine is
screen      screen model -> 128 x 64 bitmap
synth       score -> samples: the plucked string and the drone
chain       joins pitch, notes and verdicts: the one path for live, file, demo and tests

Rooms with the world in them: live, settings, log, takes, review, carry, doctor, cli.
"""
