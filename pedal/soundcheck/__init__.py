"""Recorded samples -> figures of a sound device, and sentences about them: noise, hum, level, what a cable brings."""
