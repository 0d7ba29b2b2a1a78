"""Between the pedal and a stick or the card: what is given, and what is taken."""
