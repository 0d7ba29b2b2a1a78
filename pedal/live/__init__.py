"""The running pedal: the one room with threads and clocks; devices are behind the ports."""
