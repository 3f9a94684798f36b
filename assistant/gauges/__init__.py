"""Gauges on the whole program while it works: delay and load through virtual sound devices, a day of sound on end."""
