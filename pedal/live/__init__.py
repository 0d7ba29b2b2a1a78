"""The one room with clocks, threads, files and the environment; devices are behind its ports."""
