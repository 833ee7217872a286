"""Wiring only: settings, the clock, the bay's loop, the demo, the command line."""
