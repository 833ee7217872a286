"""The state of a job, its fold, and what can be read off it."""
