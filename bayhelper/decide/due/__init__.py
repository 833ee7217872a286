"""What falls due and when, and the alerts that come of it."""
