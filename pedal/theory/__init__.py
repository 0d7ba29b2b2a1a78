"""What the words mean: cents, note names, scales and keys, the neck, the force of a bend."""
