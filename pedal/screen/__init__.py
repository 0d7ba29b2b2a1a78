"""Screen model -> 128 x 64 bitmap."""
