"""Score -> samples: a plucked string, the drone, the demo scene."""
