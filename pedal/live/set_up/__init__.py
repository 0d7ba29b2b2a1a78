"""The set-up as it runs: wishes of `pedal/setup` carried out on devices, and what was found kept."""
