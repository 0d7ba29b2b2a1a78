"""Key, position and guitar -> a practice with a beginning and an end: what to play, when to rest, when it is over."""
