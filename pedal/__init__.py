"""Undertoe: how a sound becomes a verdict.

    block of samples --pitch--> readings --notes--> a note --verdicts (with an aim)--> a verdict --modes--> screen, log

theory       what the words mean: cents, spelling, scales, the neck, the force of a bend
pitch        block -> readings (time, hertz, confidence, level)
notes        readings -> notes (onset, rest, rise, hold, fall, end)
verdicts     note + aim -> verdict
modes        verdict or gesture -> next aim, screen model, log entry
picture      screen model -> 128 x 64 bitmap
progress     logged verdicts -> bias, spread, advice
performance  score -> samples: the plucked string and the drone
chain        joins pitch, notes and verdicts: the one path for live, file, demo and tests
app          everything that touches a clock, a thread, a file or the environment
"""
