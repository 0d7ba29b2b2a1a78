"""The running pedal, its threads and its clock; devices are behind the ports."""
